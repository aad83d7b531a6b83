"""Invent the swatches of The Night Ferry: 24 inks on three papers, and overprints of five.

Run it to write swatches/night-ferry/ anew; the same bytes come out each time. No ink, paper or
print here was ever measured: the spectra are computed by print_physics.py.
"""

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))


from print_physics import NM, Stock, halftone

from inkmix.colour.colorimetry import reflectance_to_xyz100
from inkmix.colour.measured.table import MeasurementTable
from inkmix.colour.measured.written_cgats import cgats_text

FOLDER = Path(__file__).parents[2] / "swatches" / "night-ferry"

INVENTED = (
    "INVENTED DATA. No ink, paper or print was measured: the spectra are computed (films after",
    "Kubelka on a paper after Clapper and Yule) by tests/tools/make_night_ferry_swatches.py.",
)


def below(edge_nm, width_nm, height):
    """Absorption of all light shorter than an edge."""
    return height / (1 + np.exp((NM - edge_nm) / width_nm))


def around(centre_nm, width_nm, height):
    """Absorption in one band."""
    return height * np.exp(-(((NM - centre_nm) / width_nm) ** 2) / 2)


def grey(height):
    """Absorption that is the same everywhere."""
    return np.full(36, float(height))


# name: (absorption, scattering, emitted light), for a film of unit thickness
INKS = {
    "Soot": (grey(1.74) + below(440, 30, 0.25), 0.02, 0.0),
    "Fjord": (around(645, 80, 1.75) + around(555, 42, 0.95) + grey(0.22), 0.01, 0.0),
    "Rowan": (below(568, 11, 1.9) + grey(0.02), 0.02, 0.0),
    "Brass": (below(508, 13, 1.55) + around(545, 28, 0.07) + grey(0.02), 0.02, 0.0),
    "Fog": (around(615, 65, 0.2) + grey(0.05), 0.01, 0.0),
    "Oilskin": (below(486, 10, 1.6), 0.02, 0.0),
    "Lantern": (below(535, 11, 1.7) + grey(0.01), 0.02, 0.0),
    "Buoy": (around(525, 44, 2.0) + below(500, 24, 1.0) + grey(0.01), 0.02, 0.0),
    "Anemone": (around(548, 31, 1.9) + below(430, 20, 0.25) + grey(0.01), 0.01, 0.0),
    "Thrift": (around(538, 34, 0.42) + below(430, 25, 0.06), 0.01, 0.0),
    "Dusk": (around(572, 44, 1.15) + grey(0.03), 0.01, 0.0),
    "Mussel": (around(575, 58, 1.3) + below(430, 30, 0.3) + grey(0.38), 0.01, 0.0),
    "Tide": (around(640, 58, 1.7) + below(410, 20, 0.1) + grey(0.01), 0.01, 0.0),
    "Shoal": (around(650, 60, 0.7) + below(430, 25, 0.16), 0.01, 0.0),
    "Bottle": (around(655, 66, 1.7) + below(470, 18, 1.3) + grey(0.16), 0.01, 0.0),
    "Samphire": (below(482, 13, 1.25) + around(660, 50, 0.42), 0.01, 0.0),
    "Kelp": (below(520, 28, 1.25) + around(665, 75, 0.6) + grey(0.16), 0.02, 0.0),
    "Rust": (below(592, 22, 1.2) + grey(0.2), 0.04, 0.0),
    "Driftwood": (below(570, 60, 0.34) + grey(0.12), 0.03, 0.0),
    "Squall": (around(615, 75, 0.38) + grey(0.42), 0.02, 0.0),
    "Shell": (around(520, 55, 0.19) + below(430, 30, 0.08), 1.1, 0.0),
    "Foam": (around(670, 75, 0.3) + below(420, 25, 0.08), 1.6, 0.0),
    "Gull": (grey(0.2), 1.5, 0.0),
    "Flare": (below(572, 9, 1.7), 0.03, around(612, 19, 0.55)),
}
OPAQUE = ("Shell", "Foam", "Gull")
FLUORESCENT = ("Flare",)
TRANSPARENT_UP_TO = 0.05  # scattering of a film of unit thickness: the little that any pigment has
DEMO = ("Soot", "Fjord", "Rowan", "Brass", "Fog")  # in lay-down order

STOCKS = {
    "coated": Stock(
        "coated",
        0.885 - below(400, 9, 0.30) + around(440, 16, 0.05) - around(560, 60, 0.004),
        gloss=0.14,
        hold=1.0,
        gain=0.03,
        spread=0.45,
    ),
    "uncoated": Stock(
        "uncoated",
        0.85 - below(455, 32, 0.075) - below(395, 9, 0.14) - below(560, 60, 0.02),
        gloss=0.68,
        hold=0.80,
        gain=0.065,
        spread=0.55,
    ),
    "newsprint": Stock(
        "newsprint",
        0.68 - below(520, 60, 0.2) - below(400, 15, 0.05),
        gloss=0.70,
        hold=0.52,
        gain=0.11,
        spread=0.6,
    ),
}

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
