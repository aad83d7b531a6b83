"""How well a press condition is known, and why it may be unproven.

Reads what inks, paper and process say of themselves; computes no colour of a mix.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import BoolArray
from inkmix.base.words import listing, number
from inkmix.colour.colorimetry import delta_e00, xyz100_to_lab
from inkmix.press.channels import narrow_bands
from inkmix.press.constants import MODEL
from inkmix.press.inks import Ink, Paper
from inkmix.press.paper_change import is_same_paper
from inkmix.press.processes import Process
from inkmix.press.solids.opacity import Opacity
from inkmix.press.solids.primaries import Solid
from inkmix.press.solids.process_inks import SPOT, first_of_each
from inkmix.press.spectra import band_weights, recovered_spectrum
from inkmix.press.values import LEVELS, PROCESS_COLOURS, ProcessInk

_LEVEL_OF_INK = {
    "screen colour": "screen colour", "photograph": "photograph", "density": "density",
    "solid": "solids", "ramp": "ramps",
}  # fmt: skip

_WHOSE = {"screen colour": "screen hint", "photograph": "photographed"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """One value of a press condition and whose it is.

    Parameters
    ----------
    whose : str
        "printer", "user", "measured", "photographed", "process default", "guessed" or
        "screen hint".
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


def process_inks_of(
    inks: Sequence[Ink], solids: Sequence[Solid], *, in_usual_order: bool
) -> tuple[ProcessInk, ...]:
    """The inks that are process inks by their colour, in lay-down order.

    Parameters
    ----------
    in_usual_order : bool
        Whether several of them are printed in the usual order, so that what presses have in common
        in their overprints was used; it is used in usual tone curves besides.
    """
    kinds = first_of_each([solid.kind for solid in solids])
    return tuple(
        ProcessInk(
            name=ink.name,
            colour=PROCESS_COLOURS[kind],
            in_common=in_usual_order or _has_usual_curve(ink),
        )
        for ink, kind in zip(inks, kinds.tolist(), strict=True)
        if kind != SPOT
    )


def _has_usual_curve(ink: Ink) -> bool:
    told = ink.is_screened or len(ink.tone_pct) > 2 or ink.tone_value_increase_pct is not None
    return not told


def cautions_of(
    spots: Sequence[str], inks: Sequence[Ink], paper: Paper, *, is_tried: bool
) -> tuple[str, ...]:
    """What the evidence is thin for, though it may pass; sentences.

    Parameters
    ----------
    spots : sequence of str
        Spot inks.
    inks : sequence of Ink
        All of them.
    is_tried : bool
        Whether the model is known to hold for spot inks on such paper, or on this very press.
    """
    untried = _untried(spots, paper) if spots and not is_tried else ()
    return (*_photographed(inks), *_elsewhere(inks, paper), *untried)


def _photographed(inks: Sequence[Ink]) -> Iterator[str]:
    """Inks that a camera saw and no instrument read."""
    names = [ink.name for ink in inks if ink.known == "photograph"]
    if names:
        yield (
            f"{listing(names)} {'is' if len(names) == 1 else 'are'} known by a photograph only: "
            "the expected error is much larger, and nothing that rests on it passes. An "
            "instrument tells more."
        )


def _elsewhere(inks: Sequence[Ink], paper: Paper) -> Iterator[str]:
    """Inks that were measured on another paper, by the name of that."""
    carried = [ink for ink in inks if not is_same_paper(ink.measured_on, paper)]
    for guessed in (False, True):
        some = [ink for ink in carried if ink.measured_on.guessed is guessed]
        for on in dict.fromkeys(ink.measured_on.name for ink in some):
            names = [ink.name for ink in some if ink.measured_on.name == on]
            was, how = ("was", "it prints") if len(names) == 1 else ("were", "they print")
            where = "nobody says on which paper" if guessed else f"on {on}"
            yield (
                f"{listing(names)} {was} measured {where}, not on this one: how {how} here is "
                "reckoned, and the expected error is larger."
            )


def _untried(spots: Sequence[str], paper: Paper) -> tuple[str, ...]:
    here = f"{listing(spots)} on {_kind_of_paper(paper.paper_class)}"
    return (
        f"The model was tested with bright inks on coated paper only; for {here} "
        "the expected error is widened, by a guess. A trial print tells more.",
    )


def overruled(inks: Sequence[Ink], solids: Sequence[Solid]) -> Iterator[str]:
    """Opacities that somebody told and measured overprints contradict; sentences."""
    for ink, solid in zip(inks, solids, strict=True):
        found = solid.opacity
        if ink.opacity is None or found.why != "learnt":
            continue
        if abs(found.value - ink.opacity) > MODEL.evidence.overruled_sd * found.sd:
            yield (
                f"{ink.name}: opacity {number(ink.opacity, 2)} was given, but measured overprints "
                f"show {number(found.value, 2)}; the measurements are used. Is it the same ink?"
            )


def _kind_of_paper(paper_class: str) -> str:
    return paper_class if paper_class == "newsprint" else f"{paper_class} paper"


def guesses_of(inks: Sequence[Ink], process: Process, paper: Paper) -> tuple[str, ...]:
    """What nobody said and the condition takes for granted; clauses."""
    clauses = [f"the paper is a guess, {paper.name} stands in for it"] if paper.guessed else []
    clauses += [f"the process is a guess, {process.name}"] if process.guessed else []
    clauses += [f"the colour of {ink.name} is a guess" for ink in inks if ink.guessed]
    if sum(ink.place_guessed for ink in inks) > 1:
        clauses.append("the order of the inks is a guess")
    return tuple(clauses)


def reasons_unproven(
    inks: tuple[Ink, ...],
    process: Process,
    measured: BoolArray,
    *,
    paper: Paper,
    solids: Sequence[Solid],
    misfit: float,
) -> tuple[str, ...]:
    """Why nobody knows how well the model does here; empty where it was tried.

    Parameters
    ----------
    measured : (I,) array of bool
        Inks all of whose solid overprints are measured.
    solids : sequence of Solid
        The inks as they print on this paper.
    misfit : float
        Of measured mixtures, as inkmix.press.kriging has it.
    """
    reasons = []
    if misfit > MODEL.evidence.misfit_unproven:
        reasons.append(
            f"the measured mixtures do not fit these inks, {misfit:.0f} times farther off than is "
            "likely: columns, the order of inks or the paper may be mixed up"
        )
    if not process.proven:
        reasons.append(f"{process.name}: the model was tested on offset prints only")
    for ink, solid, is_measured in zip(inks, solids, measured, strict=True):
        reasons += _reasons_of_ink(ink, solid, paper, is_measured=bool(is_measured))
    return tuple(reasons)


def _reasons_of_ink(ink: Ink, solid: Solid, paper: Paper, *, is_measured: bool) -> Iterator[str]:
    yield from (f"{ink.name} is {character}" for character in sorted(ink.character))
    if ink.character:
        return  # light that it gives off, or a mirror: what looks opaque is said already
    is_told = ink.opacity is not None or ink.over_black_xyz100 is not None
    if not is_told and solid.y_density < -np.log10(MODEL.evidence.brighter_than_paper):
        yield f"{ink.name} is brighter than the paper, as only a fluorescent or an opaque ink is"
    elif solid.opacity.is_opaque:
        if not is_measured:
            taken = f"taken as opaque by {solid.opacity.by}" if solid.opacity.by else "opaque"
            yield f"{ink.name} is {taken} and its overprints are not measured"
    elif ink.known != "photograph" and missed_de00(solid, paper) > MODEL.evidence.unreached_de00:
        yield f"{ink.name} has a colour that no plain ink shows: it may be fluorescent"


def missed_de00(solid: Solid, paper: Paper) -> float:
    """How far the nearest smooth spectrum is from the colour of a solid; 0 for a measured one.

    It is recovered again, since pairs that were told may have moved the one in use.
    """
    if solid.is_measured:
        return 0.0
    weights, channels = band_weights(paper), narrow_bands(paper.xyz100)
    like = None if solid.kind == SPOT else solid.kind
    shown = np.maximum(weights @ recovered_spectrum(solid.bands, weights, like=like), 0)
    lab = (xyz100_to_lab(channels.relative_to_xyz100(bands)) for bands in (shown, solid.bands))
    return float(delta_e00(*lab))


def origins_of_inks(
    inks: Sequence[Ink], solids: Sequence[Solid], paper: Paper
) -> tuple[Origin, ...]:
    """Where each ink's colour, tone curve and opacity come from."""
    return tuple(
        origin
        for ink, solid in zip(inks, solids, strict=True)
        for origin in _origins_of_ink(ink, solid.opacity, paper)
    )


def _origins_of_ink(ink: Ink, opacity: Opacity, paper: Paper) -> list[Origin]:
    whose = _WHOSE.get(ink.known, "measured")
    origins = [
        Origin(what=f"{ink.name}, solid", value=ink.source or ink.known, unit="", whose=whose)
    ]
    if not is_same_paper(ink.measured_on, paper):
        origins.append(_carried(ink, paper))
    if ink.is_screened:
        origins.append(_said(f"{ink.name}, tone curve", "plate is made of dots", "", "user"))
    elif len(ink.tone_pct) > 2:
        steps = f"ramp of {len(ink.tone_pct) - 1} steps"
        origins.append(_said(f"{ink.name}, tone curve", steps, "", whose))
    elif ink.tone_value_increase_pct is not None:
        gain = ink.tone_value_increase_pct
        origins.append(_said(f"{ink.name}, tone value increase at 50 %", gain, "%", "user"))
    else:
        usual = f"usual curve of {paper.paper_class} paper"
        origins.append(_said(f"{ink.name}, tone curve", usual, "", "process default"))
    return [*origins, *_origin_of_opacity(ink.name, opacity)]


def _origin_of_opacity(name: str, opacity: Opacity) -> Iterator[Origin]:
    """Whose word the opacity of an ink is; nothing where it is the usual one."""
    what, value = f"{name}, opacity", round(opacity.value, 3)
    if opacity.why == "measured":
        yield _said(what, "solid over black", "", "measured")
    elif opacity.why == "learnt":
        yield _said(what, "measured overprints", "", "measured")
    elif opacity.why == "guessed":
        yield _said(what, value, "", "guessed")
    elif opacity.why == "told":
        yield _said(what, value, "", "user")


def _carried(ink: Ink, paper: Paper) -> Origin:
    old, new = ink.measured_on, paper
    how = "relative to its paper"
    if old.paper_class != new.paper_class:
        how += f", dense solids fitted to the reach of {new.paper_class} paper"
    value = f"measured on {old.name}, carried over {how}"
    return _said(f"{ink.name}, paper", value, "", "process default")


def _said(what: str, value: float | str, unit: str, whose: str) -> Origin:
    return Origin(what=what, value=value, unit=unit, whose=whose)
