"""A small invented press for the tests of mixes and checks: five inks known by their solids.

The Lab values are made up (silver): they only have to be plausible on uncoated paper.
"""

from known_inks import paper_from_lab

from inkmix.press.condition import PressCondition, press_condition
from inkmix.press.inks import Ink, Paper, ink_from_lab, ink_from_srgb
from inkmix.press.processes import find_process

SOLIDS = {
    "Soot": (32, 1, 3),
    "Fjord": (40, -2, -38),
    "Rowan": (55, 55, 38),
    "Brass": (82, 4, 62),
    "Fog": (80, -4, -7),
}


def paper() -> Paper:
    return paper_from_lab("invented uncoated", (94, 0, -1), paper_class="uncoated", source="test")


def inks(*names: str) -> list[Ink]:
    return [
        ink_from_lab(name, SOLIDS[name], paper=paper(), source="test") for name in names or SOLIDS
    ]


def press(*names: str) -> PressCondition:
    """The five inks, or some of them, in sheet-fed offset."""
    return press_condition(paper(), inks(*names), process=find_process("sheet-fed offset"))


def press_with_hint() -> PressCondition:
    """Soot measured, Rowan known only by a screen colour."""
    hint = ink_from_srgb("Rowan", "#c8402c", paper=paper())
    return press_condition(paper(), [*inks("Soot"), hint], process=find_process("sheet-fed offset"))
