"""The standard observer and the densitometers' filters, as numbers with their source.

Only tables belong here, on the house grid of wavelengths; what is computed from them is in
inkmix.colour.colorimetry. This file knows nothing of inks or paper.
"""

from types import MappingProxyType

import numpy as np

from inkmix.base.arrays import FloatArray, read_only

#: House grid for spectra: 380 to 730 nm by 10, 36 wavelengths.
WAVELENGTHS_NM: FloatArray = read_only(np.arange(380.0, 731.0, 10.0))

#: White of all colorimetry here: CIE 15, D50, 2 degree observer, Y = 100.
WHITE_XYZ100: FloatArray = read_only(np.array([96.422, 100.0, 82.521]))

# Tristimulus weighting factors for D50 and the CIE 1931 2 degree observer at 10 nm, by the method
# of ASTM E2022 (Lagrange interpolation of the 1 nm CIE tables), computed by colour-science 0.4.7;
# the factors of 360-370 nm and 740-780 nm are added to the ends, as ASTM E308 asks of shorter
# measurements. tests/test_colorimetry.py computes them again.
OBSERVER_WEIGHTS: FloatArray = read_only(
    np.array(
        [
            (0.00389, 0.00011, 0.01829),  # 380
            (0.01212, 0.00035, 0.05720),  # 390
            (0.05986, 0.00165, 0.28348),  # 400
            (0.23323, 0.00622, 1.11030),  # 410
            (0.77469, 0.02283, 3.72177),  # 420
            (1.61855, 0.06636, 7.90130),  # 430
            (2.45127, 0.16226, 12.30086),  # 440
            (2.77183, 0.31273, 14.61842),  # 450
            (2.49835, 0.51403, 14.33816),  # 460
            (1.71789, 0.79843, 11.30361),  # 470
            (0.86009, 1.23837, 7.30165),  # 480
            (0.28315, 1.84103, 4.13188),  # 490
            (0.03993, 2.94731, 2.46572),  # 500
            (0.08831, 4.63249, 1.44655),  # 510
            (0.59366, 6.59098, 0.73698),  # 520
            (1.58889, 8.30161, 0.40057),  # 530
            (2.80020, 9.19935, 0.19649),  # 540
            (4.20416, 9.64505, 0.08469),  # 550
            (5.65728, 9.47176, 0.03679),  # 560
            (7.13497, 8.90541, 0.01967),  # 570
            (8.53308, 8.10512, 0.01492),  # 580
            (9.26922, 6.83880, 0.01043),  # 590
            (9.83331, 5.83673, 0.00734),  # 600
            (9.46432, 4.75113, 0.00354),  # 610
            (8.00626, 3.57184, 0.00159),  # 620
            (5.93210, 2.44575, 0.00050),  # 630
            (4.16836, 1.62819, 0.00016),  # 640
            (2.61129, 0.98506, 0.00002),  # 650
            (1.54140, 0.56998, 0.00000),  # 660
            (0.85367, 0.31243, 0.00000),  # 670
            (0.43324, 0.15745, 0.00000),  # 680
            (0.19437, 0.07028, 0.00000),  # 690
            (0.09693, 0.03500, 0.00000),  # 700
            (0.04998, 0.01805, 0.00000),  # 710
            (0.02215, 0.00800, 0.00000),  # 720
            (0.02179, 0.00787, 0.00000),  # 730
        ]
    )
)


def _on_house_grid(first_nm: int, products: tuple[float, ...]) -> FloatArray:
    """Spectral products on the house grid; what lies below 380 nm is added to 380 nm."""
    weights = np.zeros(len(WAVELENGTHS_NM))
    for step, product in enumerate(products):
        weights[max(0, (first_nm - 380) // 10 + step)] += product
    return read_only(weights)


# Spectral products of ISO 5-3:2009 at 10 nm, peak 100. Status E differs from status T in blue only.
_RED = _on_house_grid(
    570, (0.06, 0.45, 29.99, 100, 84.92, 54.95, 25, 10, 5, 1.5, 0.5, 0.3, 0.15, 0.05, 0.01)
)
_GREEN = _on_house_grid(
    480,
    (
        1.00,
        5.00,
        27.99,
        68.08,
        92.04,
        100,
        87.90,
        66.07,
        41.98,
        21.98,
        8.99,
        2.50,
        0.70,
        0.09,
        0.01,
    ),
)
_BLUE_T = _on_house_grid(
    350,
    (0.01, 0.02, 0.10, 0.30, 1.50, 6.00, 16.98, 39.99, 59.98, 82.04, 93.97, 100, 97.05, 84.92,
     65.01, 39.99, 17.99, 5, 0.2, 0.04),
)  # fmt: skip
_BLUE_E = _on_house_grid(
    370,
    (0.01, 0.27, 2.7, 13, 29.99, 59.98, 82.04, 100, 90.99, 76.03, 46.99, 17.99, 6, 0.8, 0.05, 0.01),
)
_VISUAL = _on_house_grid(
    400,
    (0.01, 0.02, 0.08, 0.28, 0.65, 1.23, 2.22, 3.82, 6.58, 10.99, 18.88, 32.58, 50.35, 66.83, 80.35,
     90.57, 97.50, 100, 97.50, 90.36, 79.80, 67.14, 53.83, 39.17, 27.10, 17.30, 10.30, 5.61, 3.09,
     1.54, 0.80, 0.42, 0.22, 0.11),
)  # fmt: skip

#: Filters by status of ISO 5-3, each on the house grid.
DENSITY_FILTERS = MappingProxyType(
    {
        "visual": MappingProxyType({"visual": _VISUAL}),
        "T": MappingProxyType({"red": _RED, "green": _GREEN, "blue": _BLUE_T}),
        "E": MappingProxyType({"red": _RED, "green": _GREEN, "blue": _BLUE_E}),
    }
)
