"""The inks and papers of The Night Ferry, invented: absorption and scattering of films, and stocks.

Only tables, for whoever prints with them: print_physics.py says what light does in such a print.
"""

import numpy as np
from print_physics import NM, Stock


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
