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
# # Choosing a palette
#
# You live with your inks for a year. This notebook asks one question of an invented strip, *The
# Night Ferry*: **if one ink could be exchanged, which one would make the book better?**
#
# It is a plain Python file. Run it as it is (`python notebooks/choosing_a_palette.py`); or open it
# cell by cell in any editor that knows `# %%`; or as a notebook in Jupyter with jupytext installed
# (right click, *Open with notebook*). Set `INKMIX_PICTURES` to a folder to have every picture saved
# there.
#
# The inks are invented: computed, never printed. A screen is not a proof.

# %%
import os
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from PIL import Image

PICTURES = os.environ.get("INKMIX_PICTURES")


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
# ## The book as it is
#
# First the plates: five grey pictures, one an ink. They are drawn small here, which is enough to
# choose by.

# %%
from inkmix.demo.write import write_demo
from inkmix.jobs.books import read_book
from inkmix.jobs.palettes.at_hand import plates_at_hand
from inkmix.jobs.palettes.wishes import candidates_of, ground_of, wish_of

folder = TemporaryDirectory()
write_demo(Path(folder.name), ppi=40)
book = read_book(Path(folder.name) / "book.toml")
plates, _ = plates_at_hand(book, None)
ground = ground_of(book)
print(f"{book.title}: {', '.join(ink.name for ink in ground.own)} on {ground.paper.name}")
print(f"At most {ground.limit.value:g} % of ink.")

# %% [markdown]
# What can these five do? The overprint sheet shows it: solids and their overprints on the left,
# every pair in tints on the right. Hatched fields carry more ink than the sheet can take.

# %%
from inkmix.book.meant.condition import resolve_condition, resolve_limits
from inkmix.jobs.overprints.sheet import overprint_sheet
from inkmix.pages.overprints.draw import drawn

condition = resolve_condition(book)
limits = resolve_limits(book, condition.paper)
sheet = overprint_sheet(condition, limits=limits, title=book.title)
picture(drawn(sheet, page="A4").srgb8(ppi=110), "overprint-sheet")

# %% [markdown]
# ## What is wanted
#
# The book names its tones and the colour meant for each. They do not weigh the same: a tone that
# fills half of the picture matters more than the glow of a lamp. So each counts by the area that it
# fills on the plates.

# %%
from inkmix.jobs.palettes.told import tones_of_book
from inkmix.pages.palettes.view import srgb8_of

tones = tones_of_book(ground, plates.sampled)


def fields(rows, *, name, columns, size=(9, 4)):
    """Rows of colours (each a list of labs) with their names at the left."""
    figure = Figure(figsize=size, layout="constrained", facecolor="#fbf9f4")
    axes = figure.subplots()
    colours = np.array([[srgb8_of(lab) for lab in labs] for _, labs in rows], np.uint8)
    axes.imshow(colours, aspect="auto", interpolation="nearest")
    axes.set_yticks(range(len(rows)), [label for label, _ in rows])
    axes.set_xticks(range(len(columns)), columns)
    axes.xaxis.tick_top()
    axes.tick_params(length=0)
    for side in axes.spines.values():
        side.set_visible(False)
    for line in range(1, len(rows)):
        axes.axhline(line - 0.5, color="#fbf9f4", linewidth=6)
    return picture(figure, name)


total = sum(tone.weight for tone in tones.tones)
fields(
    [(f"{tone.name}  {100 * tone.weight / total:.0f} %", [tone.lab]) for tone in tones.tones],
    name="tones-wanted",
    columns=["wanted"],
    size=(5, 4),
)

# %% [markdown]
# ## All the ways to exchange the red
#
# Soot, Fjord, Brass and Fog stay. Every other ink of the set takes the place of Rowan in turn; each
# palette is measured: how near it comes to the tones, how dark it gets, how bright its inks are,
# how many mixes are clearly different, how sure the prediction is.

# %%
from inkmix.jobs.palettes.gather import chosen

candidates = candidates_of(ground)
wish = wish_of(
    ground,
    candidates,
    tones,
    k=1,
    fixed=("Soot", "Fjord", "Brass", "Fog"),
    excluded=(),
    weights={},
)
facts = chosen(ground, candidates, tones, wish)
choice = facts.choice
print(f"{choice.searched} palettes; the best of them:")
for palette in choice.ranked[:6]:
    (new,) = set(palette.inks) - set(wish.fixed)
    figures = palette.figures
    print(
        f"{new:9} tones {figures['tones_de00']:4.1f}   darkest L* "
        f"{figures['darkest_L']:4.1f}   mixes {figures['different_mixes']:3.0f}"
    )

# %% [markdown]
# No palette wins in everything. Each dot is an ink in Rowan's place: to the left it comes near the
# tones, higher up it mixes into more colours that are clearly different. What lies at the upper
# left is good at both.

# %%
from inkmix.colour.colorimetry import xyz100_to_srgb8

figure = Figure(figsize=(8, 4.5), layout="constrained", facecolor="#fbf9f4")
axes = figure.subplots()
axes.set_facecolor("#ecebe6")
inks = {ink.name: ink for ink in wish.candidates}
SIDES = (((8, 4), "left"), ((-8, 4), "right"), ((8, -12), "left"))  # of dots that lie close
labelled = []
for palette in choice.ranked:
    (new,) = set(palette.inks) - set(wish.fixed)
    x, y = palette.figures["tones_de00"], palette.figures["different_mixes"]
    colour, _ = xyz100_to_srgb8(inks[new].xyz100[-1])
    axes.scatter(x, y, s=140, color=colour / 255, edgecolor="#1d1b18", linewidth=0.6, zorder=3)
    close = sum(abs(x - other) < 0.1 and abs(y - up) < 3.5 for other, up in labelled)
    offset, side = SIDES[close % len(SIDES)]
    labelled.append((x, y))
    axes.annotate(new, (x, y), xytext=offset, textcoords="offset points", ha=side, fontsize=8)
axes.margins(x=0.09)
axes.set_xlabel("how far from the tones, dE00")
axes.set_ylabel("clearly different mixes")
picture(figure, "tones-against-mixes")

# %% [markdown]
# ## Why: reasons in words
#
# The same facts as sentences, as the page of `inkmix palette` says them, for four of the palettes
# that it shows: those that no other one beats in everything. They bear the numbers of that page.

# %%
from inkmix.pages.palettes.view import shown

palettes = shown(facts)
some = [palettes[place] for place in (0, 1, 4, 6)]
for one in some:
    print(f"{one.mark}. {', '.join(one.inks)}")
    for reason in one.reasons:
        print(f"   {reason}")

# %% [markdown]
# And the tones themselves: wanted, and what each of these palettes gives.

# %%
from inkmix.pages.palettes.view import tone_rows

fields(
    [
        (row.name, [tone.lab, *(mix.lab for mix, _ in row.given)])
        for tone, row in zip(tones.tones, tone_rows(facts, some), strict=True)
    ],
    name="tones-given",
    columns=["wanted", *(f"palette {one.mark}" for one in some)],
)

# %% [markdown]
# ## The plates in these inks
#
# Figures are one thing, the picture another. The plates stay as they were drawn; only the inks
# change. Every ink was tried on every plate, and the way shown comes nearest to the print as it is.

# %%
from inkmix.jobs.palettes.gather import with_plates

facts = with_plates(
    facts,
    ground=ground,
    candidates=candidates,
    spread=plates.spread.name,
    sampled=plates.sampled,
    book_words="night-ferry",
)
strips = [facts.plates.now, *(facts.plates.of[one.inks].srgb8 for one in some)]
gap = np.full((10, strips[0].shape[1], 3), 251, np.uint8)
picture(np.vstack([part for strip in strips for part in (strip, gap)][:-1]), "plates-in-palettes")

# %% [markdown]
# From the top: now, then the four palettes. To see one of them at full size:

# %%
for one in some:
    print(facts.plates.of[one.inks].command or "(These are the inks that the book has now.)")
folder.cleanup()

# %% [markdown]
# What remains is yours: choose one, ask the printer whether the ink can be had, and let a strip of
# its mixes be pulled on the real paper before the year begins.
