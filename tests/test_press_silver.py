"""Silver figures of the whole model: a number that changes a colour by a hundredth is noticed.

Own values, no proof of anything: predictions for published inks, and one spot ink on every class of
paper, as they were when last anybody changed the model on purpose. Whoever does so again puts the
new figures here, and says in the change list by how much results moved.
"""

from functools import cache

import numpy as np
import pytest
from known_inks import paper_from_lab
from published_sets import SETS, chart

from inkmix.press.condition import Patches, press_condition
from inkmix.press.inks import ink_from_lab
from inkmix.press.processes import find_process
from inkmix.press.scoring.known_part import tell
from inkmix.press.solids.process_inks import process_solids_lab

GREEN = (50, -50, 20)
# K, C, M, Y, green.
TONES = [
    (0, 40, 40, 0, 0), (0, 70, 40, 20, 0), (40, 40, 40, 40, 0), (60, 0, 0, 30, 50),
    (100, 0, 100, 0, 0), (0, 100, 100, 100, 0), (100, 0, 0, 0, 100), (0, 100, 0, 0, 100),
]  # fmt: skip
# L*, a*, b*, expected error as dE00 and of L*.
PREDICTED = {
    "coated": [
        (62.21, 10.08, -23.11, 5.73, 4.72),
        (51.22, -8.61, -23.68, 5.38, 4.36),
        (43.22, 2.71, 2.71, 9.98, 5.35),
        (39.48, -11.97, 12.94, 8.95, 7.16),
        (10.83, 11.00, -0.56, 4.01, 2.92),
        (22.29, -1.77, -1.54, 6.49, 3.16),
        (11.07, -6.27, 2.23, 11.26, 7.22),
        (34.96, -52.40, -5.00, 5.27, 6.34),
    ],
    "light-coated": [
        (62.28, 10.02, -23.10, 5.72, 4.70),
        (51.36, -8.70, -23.74, 5.33, 4.33),
        (43.42, 2.66, 2.57, 9.92, 5.31),
        (39.66, -11.82, 12.72, 8.95, 7.12),
        (11.53, 9.88, -0.48, 4.34, 2.99),
        (22.88, -2.19, -2.20, 6.44, 3.16),
        (11.72, -5.58, 1.93, 11.59, 7.22),
        (35.37, -51.84, -4.94, 5.30, 6.36),
    ],
    "supercalendered": [
        (62.45, 9.86, -23.05, 5.69, 4.65),
        (51.72, -8.91, -23.83, 5.21, 4.25),
        (43.97, 2.53, 2.25, 9.73, 5.18),
        (40.12, -11.38, 12.06, 9.35, 7.33),
        (13.44, 6.70, -0.15, 5.49, 3.15),
        (24.38, -3.17, -3.71, 6.21, 3.17),
        (13.45, -3.63, 1.11, 13.74, 8.30),
        (36.47, -50.20, -4.50, 6.33, 7.59),
    ],
    "uncoated": [
        (62.92, 8.60, -21.29, 6.59, 5.16),
        (53.73, -6.46, -19.02, 5.95, 4.36),
        (46.30, 2.18, 2.04, 9.54, 5.02),
        (42.96, -9.30, 9.32, 9.75, 7.30),
        (30.04, 5.49, 2.92, 7.52, 4.11),
        (35.23, -1.93, -2.53, 7.96, 4.05),
        (28.24, -4.33, 1.88, 18.69, 11.53),
        (41.98, -38.68, 2.36, 8.98, 10.58),
    ],
    "newsprint": [
        (55.03, 6.99, -14.80, 5.40, 3.54),
        (49.56, -4.85, -12.15, 4.95, 3.07),
        (42.69, 1.85, 3.10, 7.19, 3.66),
        (39.89, -10.55, 10.76, 7.79, 6.01),
        (33.41, 10.73, 3.54, 5.74, 3.84),
        (39.50, -1.03, -1.82, 6.96, 3.43),
        (31.42, -8.51, 5.36, 15.35, 10.03),
        (44.23, -40.74, 5.44, 7.02, 8.45),
    ],
}
# The same on coated paper where three mixtures were read a tenth off in X and Y, a twentieth in Z.
TOLD = [(0, 100, 100, 0, 0), (0, 60, 60, 0, 0), (40, 0, 0, 40, 40)]
READ_AS = (0.9, 1.1, 0.95)
CORRECTED = [
    (63.38, -0.83, -19.82, 14.70, 9.55),
    (53.48, -24.99, -17.60, 8.53, 8.20),
    (45.02, -13.63, 7.62, 14.09, 10.59),
    (41.76, -30.21, 18.45, 11.01, 12.99),
    (11.16, 8.10, 0.37, 9.48, 5.99),
    (23.14, -8.20, 1.58, 9.61, 5.81),
    (12.33, -15.18, 5.36, 16.91, 14.45),
    (36.03, -57.77, -2.11, 10.14, 12.90),
]
# Expected errors of three mixtures of published sets, by what is told of them: as dE00 and of L*.
MIXED = [(0, 70, 40, 20), (40, 40, 40, 40), (100, 0, 100, 0)]
ERRORS = {
    ("fogra39l", "ramps"): [(2.18, 1.80), (4.64, 2.25), (3.86, 2.75)],
    ("fogra39l", "overprints"): [(2.49, 2.20), (5.29, 2.82), (0.68, 0.62)],
    ("fogra29l", "ramps"): [(2.28, 2.15), (3.86, 2.41), (5.51, 3.82)],
    ("fogra29l", "overprints"): [(2.11, 1.75), (3.84, 2.07), (0.68, 0.49)],
    ("tr002", "ramps"): [(2.46, 1.92), (3.57, 2.23), (4.21, 3.58)],
    ("tr002", "overprints"): [(2.03, 1.38), (2.95, 1.60), (0.40, 0.40)],
}
HALF_A_DIGIT = 0.0055  # and rounding of another machine


@cache
def condition(paper_class, *, is_corrected=False):
    lab, *solids = process_solids_lab(paper_class)
    paper = paper_from_lab(paper_class, lab, paper_class=paper_class)
    inks = [
        ink_from_lab(name, solid, paper=paper)
        for name, solid in zip("KCMYG", [*solids, GREEN], strict=True)
    ]
    patches = None
    if is_corrected:
        tones = np.array(TOLD, dtype=np.float64)
        patches = Patches(tone_pct=tones, xyz100=condition(paper_class).xyz100(tones) * READ_AS)
    return press_condition(paper, inks, process=find_process("sheet-fed offset"), patches=patches)


def figures(press):
    error = press.expected_error(TONES)
    return np.column_stack([press.lab(TONES), error.de00, error.L])


@pytest.mark.parametrize("paper_class", PREDICTED)
def test_colours_and_errors_are_those_of_the_last_change(paper_class):
    found = figures(condition(paper_class))
    np.testing.assert_allclose(found, PREDICTED[paper_class], rtol=0, atol=HALF_A_DIGIT)


def test_measured_mixtures_correct_as_at_the_last_change():
    found = figures(condition("coated", is_corrected=True))
    np.testing.assert_allclose(found, CORRECTED, rtol=0, atol=HALF_A_DIGIT)


@pytest.mark.parametrize(("name", "known"), ERRORS)
def test_errors_of_better_known_inks_are_those_of_the_last_change(name, known):
    press, _ = tell(chart(name), known=known, paper_class=SETS[name])
    error = press.expected_error(MIXED)
    found = np.column_stack([error.de00, error.L])
    np.testing.assert_allclose(found, ERRORS[name, known], rtol=0, atol=HALF_A_DIGIT)
