"""How well a press condition is known, and why it may be unproven.

Reads what inks, paper and process say of themselves; computes no colour of a mix.
"""

from dataclasses import dataclass

from inkmix.arrays import BoolArray
from inkmix.press.carry import is_same_paper
from inkmix.press.inks import Ink, Paper
from inkmix.press.process_inks import is_opaque
from inkmix.press.processes import Process

#: Levels of knowledge, weakest first.
LEVELS = ("screen colour", "density", "solids", "ramps", "overprints")
_LEVEL_OF_INK = {
    "screen colour": "screen colour", "density": "density", "solid": "solids", "ramp": "ramps",
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """One value of a press condition and whose it is.

    Parameters
    ----------
    whose : str
        "printer", "user", "measured", "process default" or "screen hint".
    """

    what: str
    value: float | str
    unit: str
    whose: str


def level_of_ink(ink: Ink) -> str:
    """What is known of an ink, as a level; a dotted plate needs no ramp."""
    if ink.is_screened and ink.known == "solid":
        return "ramps"
    return _LEVEL_OF_INK[ink.known]


def weakest_level(inks: tuple[Ink, ...], *, overprints_told: bool) -> str:
    """The weakest level among the inks; "overprints" where all of them were measured too."""
    level = min((level_of_ink(ink) for ink in inks), key=LEVELS.index)
    return "overprints" if level == "ramps" and overprints_told else level


def names_of_hints(inks: tuple[Ink, ...]) -> tuple[str, ...]:
    """Inks known by nothing but a screen colour."""
    return tuple(ink.name for ink in inks if ink.known == "screen colour")


def reasons_unproven(
    inks: tuple[Ink, ...], process: Process, measured: BoolArray, *, paper: Paper
) -> tuple[str, ...]:
    """Why nobody knows how well the model does here; empty where it was tried.

    Parameters
    ----------
    measured : (I,) array of bool
        Inks all of whose solid overprints are measured.
    """
    reasons = []
    if not process.proven:
        reasons.append(f"{process.name}: the model was tried on offset prints only")
    if paper.guessed:
        reasons.append(f"the paper is guessed, {paper.name} stands in for it")
    for ink, is_measured in zip(inks, measured, strict=True):
        reasons += [f"{ink.name} is {character}" for character in sorted(ink.character)]
        if ink.guessed:
            reasons.append(f"{ink.name} is guessed by its file name")
        if is_opaque(ink) and not is_measured:
            reasons.append(f"{ink.name} is opaque and its overprints are not measured")
    return tuple(reasons)


def origins_of_inks(inks: tuple[Ink, ...], paper: Paper) -> tuple[Origin, ...]:
    """Where each ink's colour, tone curve and opacity come from."""
    return tuple(origin for ink in inks for origin in _origins_of_ink(ink, paper))


def _origins_of_ink(ink: Ink, paper: Paper) -> list[Origin]:
    hint = ink.known == "screen colour"
    whose = "screen hint" if hint else "measured"
    origins = [
        Origin(what=f"{ink.name}, solid", value=ink.source or ink.known, unit="", whose=whose)
    ]
    if not is_same_paper(ink.measured_on, paper):
        origins.append(_carried(ink, paper))
    if ink.is_screened:
        origins.append(_said(f"{ink.name}, tone curve", "plate is made of dots", "", "user"))
    elif ink.known == "ramp":
        steps = f"ramp of {len(ink.tone_pct) - 1} steps"
        origins.append(_said(f"{ink.name}, tone curve", steps, "", "measured"))
    elif ink.tone_value_increase_pct is not None:
        gain = ink.tone_value_increase_pct
        origins.append(_said(f"{ink.name}, tone value increase at 50 %", gain, "%", "user"))
    else:
        usual = f"usual curve of {paper.paper_class} paper"
        origins.append(_said(f"{ink.name}, tone curve", usual, "", "process default"))
    if ink.over_black_xyz100 is not None:
        origins.append(_said(f"{ink.name}, opacity", "solid over black", "", "measured"))
    elif ink.opacity:
        origins.append(_said(f"{ink.name}, opacity", ink.opacity, "", "user"))
    return origins


def _carried(ink: Ink, paper: Paper) -> Origin:
    old, new = ink.measured_on, paper
    how = "relative to its paper"
    if old.paper_class != new.paper_class:
        how += f", dense solids fitted to the reach of {new.paper_class} paper"
    value = f"measured on {old.name}, carried over {how}"
    return _said(f"{ink.name}, paper", value, "", "process default")


def _said(what: str, value: float | str, unit: str, whose: str) -> Origin:
    return Origin(what=what, value=value, unit=unit, whose=whose)
