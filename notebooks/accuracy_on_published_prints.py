# ---
# jupyter:
#   jupytext:
#     text_representation:
#       extension: .py
#       format_name: percent
#   kernelspec:
#     display_name: Python 3
#     language: python
#     name: python3
# ---

# %% [markdown]
# # How near does it come to real prints?
#
# Presses were measured, and what was measured was published: charts of a thousand patches and more,
# each a mix of inks and the colour that came out. Here the model is told a little of such a chart
# and foretells the rest. **How far off is it, where, and what is each further patch worth?**
#
# It is a plain Python file. Run it as it is (`python notebooks/accuracy_on_published_prints.py`);
# or open it cell by cell in any editor that knows `# %%`; or as a notebook in Jupyter with jupytext
# installed (right click, *Open with notebook*). Set `INKMIX_PICTURES` to a folder to have every
# picture saved there, and `INKMIX_CHARTS` to a folder of further charts (CGATS text) to have those
# scored, too.
#
# dE00 1 is just seen side by side, 2 to 3 at once. Published charts are averages of many sheets;
# a single sheet adds 0.5 to 1.

# %%
import os
from pathlib import Path

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from PIL import Image

PICTURES = os.environ.get("INKMIX_PICTURES")
GROUND, INK, PALE, RED = "#fbf9f4", "#2b2e3a", "#9aa0a8", "#c8452f"


def picture(drawn, name):
    """A figure as a picture, which a notebook shows; saved where asked."""
    canvas = FigureCanvasAgg(drawn)
    canvas.draw()
    image = Image.fromarray(np.asarray(canvas.buffer_rgba())[..., :3].copy())
    if PICTURES:
        Path(PICTURES).mkdir(parents=True, exist_ok=True)
        image.save(Path(PICTURES) / f"{name}.png")
    return image


# %% [markdown]
# ## The charts
#
# Three come with inkmix, process inks on coated and uncoated paper and on newsprint; their sources
# stand in `tests/reference`. A chart that does not say its class of paper is taken as coated.

# %%
from inkmix.press.constants import PAPER_CLASSES
from inkmix.press.swatches.files import read_measurements

HERE = Path(__file__).parents[1] if "__file__" in globals() else Path.cwd().parent
PAPERS = {"fogra29l": "uncoated", "tr002": "newsprint"}
TOLD = os.environ.get("INKMIX_CHARTS")


def paper_of(path, table):
    """The class of paper: as the file says it in a word, else as we know it, else coated."""
    said = table.keywords.get("PAPER_CLASS", "")
    return said if said in PAPER_CLASSES else PAPERS.get(path.stem, "coated")


folders = [HERE / "tests" / "reference", *([Path(TOLD)] if TOLD else [])]
texts = [path for folder in folders for path in sorted(folder.glob("*.txt"))]
paths = [path for path in texts if b"BEGIN_DATA" in path.read_bytes()]
charts = {path.stem: (read_measurements(path), path) for path in paths}
for name, (table, path) in charts.items():
    patches, inks = len(table), len(table.plates)
    print(f"{name:32} {patches:5} patches of {inks} inks, {paper_of(path, table)} paper")

# %% [markdown]
# ## What is told, and how far off the rest is
#
# The paper and the solids alone; the ramps of single inks besides; all solid overprints besides;
# or, in place of these, twenty or forty mixes, chosen by their tone values before anybody looks at
# their colours.

# %%
from inkmix.press.scoring.score import score_table

KNOWN = {
    "solids": ("solids", 0),
    "ramps": ("ramps", 0),
    "all overprints": ("overprints", 0),
    "ramps and 20 mixes": ("ramps", 20),
    "ramps and 40 mixes": ("ramps", 40),
}
scores = {
    (name, told): score_table(table, known=known, paper_class=paper_of(path, table), extra=extra)
    for name, (table, path) in charts.items()
    for told, (known, extra) in KNOWN.items()
}
print(f"{'mean dE00':32}" + "".join(f"{told:>20}" for told in KNOWN) + f"{'a screen':>20}")
for name in charts:
    means = [scores[name, told]["de00"]["mean"] for told in KNOWN]
    screen = scores[name, "solids"]["screen_multiply"]["de00"]["mean"]
    print(f"{name:32}" + "".join(f"{mean:20.2f}" for mean in [*means, screen]))

# %% [markdown]
# Every row falls from left to right: whatever is told helps, and twenty well chosen mixes help more
# than all solids printed over each other. The last column is what a screen shows that multiplies
# layers: another colour altogether.

# %%
figure = Figure(figsize=(9, 0.6 + 0.5 * len(charts)), facecolor=GROUND, layout="constrained")
axes = figure.subplots()
axes.set_facecolor(GROUND)
rows = np.arange(len(charts))[::-1]
shades = np.linspace(0.85, 0.15, len(KNOWN))
for (told, _), shade in zip(KNOWN.items(), shades, strict=True):
    means = [scores[name, told]["de00"]["mean"] for name in charts]
    axes.scatter(means, rows, s=60, color=str(shade), edgecolor=INK, label=told, zorder=2)
axes.axvline(1, color=RED, lw=1, zorder=1)
axes.text(1.02, rows.max() + 0.45, "just seen", color=RED, size=8)
axes.set_yticks(rows, list(charts))
axes.set_ylim(-0.7, rows.max() + 0.8)
axes.set_xlim(left=0)
axes.set_xlabel("mean dE00 of the mixes that were not told")
axes.legend(frameon=False, fontsize=8, loc="center left", bbox_to_anchor=(1, 0.5))
picture(figure, "what-each-telling-is-worth")

# %% [markdown]
# ## Where it is off
#
# A night lives in the darkest fifth, where an error of L\* decides a verdict. Every prediction
# states how far off it may be, 95 times in 100; here is how often that held.

# %%
print(f"{'told ramps':32}{'off in L* there':>16}{'inside':>10}{'inside, dark L*':>17}")
for name in charts:
    score = scores[name, "ramps"]
    dark, inside = score["dark"], score["inside"]
    print(f"{name:32}{dark['mean_abs_dL']:16.2f}{inside['de00']:10.1%}{inside['dark_L']:17.1%}")

# %% [markdown]
# And what is it worst at? The mixes that were farthest off, read and foretold side by side.

# %%
from matplotlib.patches import Rectangle

from inkmix.colour.colorimetry import lab_to_xyz100, xyz100_to_srgb8


def shown(lab):
    """A colour as a screen has it, 0-1."""
    srgb8, _ = xyz100_to_srgb8(lab_to_xyz100(np.array(lab)))
    return tuple(np.asarray(srgb8) / 255)


name = next(iter(charts))
worst = scores[name, "ramps"]["worst"][:8]
figure = Figure(figsize=(9, 2.2), facecolor=GROUND, layout="constrained")
axes = figure.subplots()
axes.axis("off")
for at, one in enumerate(worst):
    for left, lab in ((0.0, one["lab_measured"]), (0.45, one["lab_predicted"])):
        axes.add_patch(Rectangle((at + left, 0), 0.45, 1, facecolor=shown(lab)))
    mix = "\n".join(f"{ink} {tone:g}" for ink, tone in one["tone_pct"].items())
    axes.text(at, -0.08, f"dE00 {one['de00']:.1f}\n{mix}", va="top", size=7, color=INK)
axes.set_xlim(0, len(worst))
axes.set_ylim(-0.9, 1.05)
picture(figure, "the-worst-mixes")
print(f"{name}, told ramps: the worst mix is dE00 {worst[0]['de00']:.1f} off.")

# %% [markdown]
# ## What to take home
#
# Measure a ramp of each ink, then twenty mixes: `inkmix testform --small 20` prints them at the
# edge of a sheet, and `inkmix calibrate` learns from them. A prediction on a screen is still no
# proof, and the printer's word counts.

# %%
told = [np.mean([scores[name, told]["de00"]["mean"] for name in charts]) for told in KNOWN]
print("Mean over all charts: ", end="")
print(", ".join(f"{k} {mean:.2f}" for k, mean in zip(KNOWN, told, strict=True)))
