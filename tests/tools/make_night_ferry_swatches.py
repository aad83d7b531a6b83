"""Invent the swatches of The Night Ferry: 24 inks on three papers, and overprints of five.

Run it to write swatches/night-ferry/ anew; the same bytes come out each time. No ink, paper or
print here was ever measured: the spectra are computed by print_physics.py.
"""

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from night_ferry_inks import DEMO, INKS, STOCKS
from print_physics import halftone

from inkmix.colour.colorimetry import reflectance_to_xyz100
from inkmix.colour.measured.table import MeasurementTable
from inkmix.colour.measured.written_cgats import cgats_text

FOLDER = Path(__file__).parents[2] / "swatches" / "night-ferry"

INVENTED = (
    "INVENTED DATA. No ink, paper or print was measured: the spectra are computed (films after",
    "Kubelka on a paper after Clapper and Yule) by tests/tools/make_night_ferry_swatches.py.",
)


OPAQUE = ("Shell", "Foam", "Gull")
FLUORESCENT = ("Flare",)
TRANSPARENT_UP_TO = 0.05  # scattering of a film of unit thickness: the little that any pigment has

# Tone values of the demo's inks in useful mixtures, %: nights, dusks, greys, skins.
MIXTURES = (
    (100, 70, 0, 0, 0),
    (70, 70, 0, 0, 0),
    (70, 100, 40, 0, 0),
    (40, 70, 70, 0, 0),
    (40, 40, 40, 40, 0),
    (0, 70, 70, 0, 0),
    (0, 70, 0, 70, 0),
    (0, 0, 70, 70, 0),
    (0, 40, 40, 40, 40),
    (20, 40, 0, 0, 70),
    (0, 70, 40, 0, 100),
    (60, 100, 70, 40, 0),
)


def reading(names, tones_pct, *, stock):
    """What an instrument would show, to four decimals."""
    recipes = [INKS[name] for name in names]
    return np.round(halftone(recipes, [t / 100 for t in tones_pct], stock=stock), 4)


def chart(stock):
    """Paper, an 11-step ramp of each ink, and the opaque inks' solids over the black."""
    rows = [("paper", {})]
    rows += [(f"{ink} {t}", {ink: t}) for ink in INKS for t in range(10, 101, 10)]
    rows += [(f"{ink} over Soot", {"Soot": 100, ink: 100}) for ink in OPAQUE]
    return table(rows, tuple(INKS), stock=stock)


def overprints(stock):
    """All 32 solids of the demo's inks, and some mixtures."""
    solids = [tuple(100 * (k >> i & 1) for i in range(5)) for k in range(32)]
    rows = [
        (" ".join(f"{n} {t}" for n, t in zip(DEMO, mix, strict=True) if t) or "paper", mix)
        for mix in (*solids, *MIXTURES)
    ]
    named = [(name, dict(zip(DEMO, mix, strict=True))) for name, mix in rows]
    return table(named, DEMO, stock=stock)


def table(rows, plates, *, stock):
    """Rows of (name, tone value by ink) as a measured table."""
    tones = np.array([[mix.get(ink, 0) for ink in plates] for _, mix in rows], dtype=float)
    spectra = [
        reading([i for i in plates if mix.get(i)], [mix[i] for i in plates if mix.get(i)],
                stock=stock)
        for _, mix in rows
    ]  # fmt: skip
    return MeasurementTable(
        sample_names=tuple(name for name, _ in rows),
        plates=plates,
        tone_pct=tones,
        reflectance=np.array(spectra),
    )


def opacity(name, *, stock):
    """Share of its own light that a solid adds over the black, by Y; 0 for a transparent ink.

    What it adds is the difference to a film that neither scatters nor glows. Transparent inks
    scatter a little too, and of a dark one that would be a large share of next to nothing.
    """
    absorption, scattering, glow = INKS[name]
    if scattering <= TRANSPARENT_UP_TO and not np.any(glow):
        return 0.0
    clear = (absorption, 0.0, 0.0)
    over, under_clear, alone = (
        reflectance_to_xyz100(halftone(films, [1.0] * len(films), stock=stock))[1]
        for films in ((INKS["Soot"], INKS[name]), (INKS["Soot"], clear), (INKS[name],))
    )
    return round(float((over - under_clear) / (alone - under_clear)), 2)


def headed(measured, *, descriptor, **keywords):
    """The table with its header, as text."""
    fields = {name: getattr(measured, name) for name in ("sample_names", "plates", "tone_pct")}
    words = {"INVENTED": "yes", **keywords}
    return cgats_text(
        MeasurementTable(
            **fields,
            reflectance=measured.reflectance,
            originator="inkmix, The Night Ferry (invented)",
            descriptor=descriptor,
            keywords=words,
        ),
        comments=INVENTED,
    )


def files():
    """Name and text of every file."""
    for name, stock in STOCKS.items():
        opacities = "; ".join(f"{ink} {opacity(ink, stock=stock):g}" for ink in INKS)
        yield (
            f"{name}.txt",
            headed(
                chart(stock),
                descriptor=f"The Night Ferry, 24 candidate inks on {name} paper",
                PAPER_CLASS=name,
                BLACK="Soot",
                OPACITY=opacities,
                FLUORESCENT="; ".join(FLUORESCENT),
            ),
        )
    yield (
        "uncoated-overprints.txt",
        headed(
            overprints(STOCKS["uncoated"]),
            descriptor="The Night Ferry, overprints of its five inks on uncoated paper",
            PAPER_CLASS="uncoated",
            OVERPRINTS_ON="night-ferry/uncoated",
            LAY_DOWN_ORDER="; ".join(DEMO),
        ),
    )


if __name__ == "__main__":
    FOLDER.mkdir(parents=True, exist_ok=True)
    for file_name, content in files():
        (FOLDER / file_name).write_text(content, encoding="utf-8", newline="\n")
