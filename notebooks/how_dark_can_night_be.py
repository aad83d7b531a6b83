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
# # How dark can night be?
#
# On the screen, night is black. On paper it comes back grey. This notebook shows why, and how dark
# a night *The Night Ferry*, an invented strip in invented inks, can really have.
#
# It is a plain Python file. Run it as it is (`python notebooks/how_dark_can_night_be.py`); or open
# it cell by cell in any editor that knows `# %%`; or as a notebook in Jupyter with jupytext
# installed (right click, *Open with notebook*). Set `INKMIX_PICTURES` to a folder to have every
# picture saved there.
#
# Lightness is L\*: 0 is black, 100 a perfect white. Ten steps are a clear step of grey.

# %%
import os
from pathlib import Path

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from PIL import Image

PICTURES = os.environ.get("INKMIX_PICTURES")
GROUND = "#fbf9f4"


def picture(drawn, name):
    """A figure or an array of pixels as a picture, which a notebook shows; saved where asked."""
    if isinstance(drawn, Figure):
        canvas = FigureCanvasAgg(drawn)
        canvas.draw()
        drawn = np.asarray(canvas.buffer_rgba())[..., :3]
    image = Image.fromarray(np.ascontiguousarray(drawn))
    if PICTURES:
        Path(PICTURES).mkdir(parents=True, exist_ok=True)
        image.save(Path(PICTURES) / f"{name}.png")
    return image


# %% [markdown]
# ## Five inks on uncoated paper
#
# The inks in the order in which they are printed, and the darkest thing each can do alone.

# %%
from inkmix.press.condition import press_condition
from inkmix.press.processes import find_process
from inkmix.press.swatches.by_name import load_ink, load_paper

NAMES = ("Soot", "Fjord", "Rowan", "Brass", "Fog")
OFFSET = find_process("sheet-fed offset")


def inks_on(paper_name):
    """The five inks on one of the papers."""
    paper = load_paper(paper_name)
    inks = [load_ink(f"night-ferry/{name}", paper=paper) for name in NAMES]
    return press_condition(paper, inks, process=OFFSET)


condition = inks_on("night-ferry/uncoated")
for name, lab in zip(NAMES, condition.lab(100 * np.eye(5)), strict=True):
    print(f"{name:6} alone, solid: L* {lab[0]:4.1f}")

# %% [markdown]
# ## The screen lies, most of all in the dark
#
# A drawing program multiplies layers: each ink takes its share of the light, without end. Wet ink
# on paper does not: a second ink sticks less to the first, and light is scattered from the surface
# however much ink lies there. Left what the screen shows, right what will print.

# %%
from inkmix.colour.colorimetry import xyz100_to_lab, xyz100_to_srgb8
from inkmix.jobs.printing.screen import screen_model

MIXES = {
    "Soot": {"Soot": 100},
    "Soot + Fjord": {"Soot": 100, "Fjord": 100},
    "Soot + Fjord + Rowan": {"Soot": 100, "Fjord": 100, "Rowan": 60},
    "Fjord + Rowan": {"Fjord": 100, "Rowan": 100},
}
tones = np.array([[mix.get(name, 0) for name in NAMES] for mix in MIXES.values()], float)
screen, printed = screen_model(condition).xyz100(tones), condition.xyz100(tones)
for name, left, right in zip(MIXES, xyz100_to_lab(screen), xyz100_to_lab(printed), strict=True):
    print(f"{name:21} on screen L* {left[0]:4.1f}   printed L* {right[0]:4.1f}")

figure = Figure(figsize=(7, 4), layout="constrained", facecolor=GROUND)
axes = figure.subplots()
colours = np.stack([xyz100_to_srgb8(xyz)[0] for xyz in (screen, printed)], axis=1)
axes.imshow(colours, aspect="auto", interpolation="nearest")
axes.set_yticks(range(len(MIXES)), list(MIXES))
axes.set_xticks([0, 1], ["as a screen shows it", "as it should print"])
axes.xaxis.tick_top()
axes.tick_params(length=0)
picture(figure, "screen-and-print")

# %% [markdown]
# ## Two inks do nearly all of it
#
# The darkest mix of one ink, of two, and so on, each the best that a limit of 260 % allows. The
# third ink brings little, the fourth nothing: it only makes the sheet wetter.

# %%
from inkmix.base.words import mix as recipe
from inkmix.jobs.overprints.deepest import deepest_darks

LIMIT = 260.0
for dark in deepest_darks(condition, ink_limit_pct=LIMIT):
    print(
        f"{dark.name:11} L* {dark.mix.lab[0]:4.1f}   {dark.mix.total_pct:3.0f} % ink   "
        f"{recipe(dark.mix.tone_pct)}"
    )

# %% [markdown]
# ## What the ink limit costs, and what the paper decides
#
# The darkest mix under every limit, on three papers. Above some 200 % the lines run nearly level: a
# higher limit hardly buys a darker night. A coated paper does.

# %%
from inkmix.mixes.darkest import darkest_mixes
from inkmix.mixes.values import Aims

LIMITS = (60, 80, 100, 120, 140, 160, 180, 200, 220, 240, 260, 280, 300)
PAPERS = {"coated": "#27475c", "uncoated": "#1d1b18", "newsprint": "#8a7f6d"}
figure = Figure(figsize=(8, 4.5), layout="constrained", facecolor=GROUND)
axes = figure.subplots()
for paper, colour in PAPERS.items():
    on_paper = inks_on(f"night-ferry/{paper}")
    darkest = [
        darkest_mixes(on_paper, Aims(ink_limit_pct=limit), most=1)[0].lab[0] for limit in LIMITS
    ]
    axes.plot(LIMITS, darkest, color=colour, linewidth=2)
    up = 2 if paper == "newsprint" else -8  # its line runs close above that of uncoated paper
    axes.annotate(paper, (LIMITS[-1], darkest[-1]), xytext=(6, up), textcoords="offset points")
    print(f"{paper:9} L* {darkest[2]:4.1f} under 100 %, {darkest[7]:4.1f} under 200 %, "
          f"{darkest[-1]:4.1f} under 300 %")  # fmt: skip
axes.axvline(LIMIT, color="#bdb5a4", linewidth=1)
axes.set_xlim(50, 340)
axes.set_xlabel("ink limit, % of total ink")
axes.set_ylabel("darkest mix, L*")
picture(figure, "darkest-by-limit")

# %% [markdown]
# ## Which dark: neutral, warm, cold
#
# A night need not be black. Asked for a cast, the search gives up a little darkness for it; the
# figures say how much. On the uncoated paper of the book there is not much to choose: the darkest
# mix is neutral by itself, and a warm or a cold one shows little of its hue. On newsprint the warm
# one is brown.
#
# Each L\* stands with its ±, how far the print may be off. It is wide, for nobody has measured such
# bright inks on papers like these yet: let the printer pull the mix before you count on it.

# %%
aims = Aims(ink_limit_pct=LIMIT, least_pct=OFFSET.min_tone_pct)
CASTS = {"whatever is darkest": None, "neutral": "neutral", "warm": 60.0, "cold": 260.0}
fields = {}
for paper in ("uncoated", "newsprint"):
    on_paper, mixes = inks_on(f"night-ferry/{paper}"), []
    for name, cast in CASTS.items():
        mixes += darkest_mixes(on_paper, aims, cast=cast, most=1)
        L, a, b = mixes[-1].lab
        print(f"{paper:9} {name:19} L* {L:4.1f} ± {mixes[-1].error_L:.1f}   a* {a:4.1f}   "
              f"b* {b:4.1f}   {recipe(mixes[-1].tone_pct)}")  # fmt: skip
    printed = on_paper.xyz100(np.array([list(mix.tone_pct.values()) for mix in mixes]))
    fields[paper] = xyz100_to_srgb8(printed)[0]

figure = Figure(figsize=(8, 3.4), layout="constrained", facecolor=GROUND)
axes = figure.subplots()
axes.imshow(np.stack(list(fields.values())), aspect="auto", interpolation="nearest")
axes.set_xticks(range(len(CASTS)), list(CASTS))
axes.set_yticks(range(len(fields)), list(fields))
axes.tick_params(length=0)
picture(figure, "casts")

# %% [markdown]
# ## Once more with the black
#
# Some printers run the black twice. Is that worth one more pass through the press? On this paper
# hardly: Fjord over Soot has done nearly all that a second Soot could do.

# %%
once, twice = (darkest_mixes(condition, aims, most=1, double_hits=hit)[0] for hit in (False, True))
print(f"Soot once:  L* {once.lab[0]:.1f}   {recipe(once.tone_pct)}")
print(f"Soot twice: L* {twice.lab[0]:.1f}   {recipe(twice.tone_pct)}")

# %% [markdown]
# ## What to draw
#
# Night cannot be made by piling up ink, so it has to be made by what stands beside it. The eye
# judges darkness against the lightest thing near: a moon of bare paper makes L\* 24 look like
# night. Left the same dark alone, right with a moon.

# %%
night = xyz100_to_srgb8(condition.xyz100(np.array(list(once.tone_pct.values()))))[0]
paper = xyz100_to_srgb8(condition.paper.xyz100)[0]
rows, cols = np.mgrid[0:260, 0:900]
sky = np.broadcast_to(night, (260, 900, 3)).copy()
sky[(rows - 95) ** 2 + (cols - 690) ** 2 < 48**2] = paper
sky[:, 446:454] = 251
picture(sky, "moon")

# %% [markdown]
# `inkmix mix --darkest` answers the same questions for your own book, and `inkmix check` measures
# every night area of your plates against the L\* that you ask for.
