"""Room for a form: patches as large as fit, and where they do not, fewer of the less needed."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from inkmix.base.errors import Fault, UsageError
from inkmix.base.words import number, size_of
from inkmix.jobs.testform.order import Group, in_groups
from inkmix.jobs.testform.plates import FormSheet
from inkmix.press.forms.choose import Choice
from inkmix.press.forms.values import DARK, NAMED, OVERPRINT, TINT
from inkmix.sheet.forms.layout import (
    LEAST_PATCH_MM,
    MARGIN_MM,
    USUAL_PATCH_MM,
    FormLayout,
    Run,
    Wanted,
    laid_out,
    largest_patch_mm,
    least_height_mm,
)

NEEDED_LAST = (TINT, NAMED, OVERPRINT, DARK)
"""Kinds of which patches are left out where there is no room, those of the first first."""
_NARROW_MM = 160.0  # a narrower sheet has fewer fields for a camera
_FIELDS, _FEW_FIELDS = 6, 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """How often key patches are printed, whether all is shuffled, and for how many plates."""

    repeats: int
    is_shuffled: bool
    plates: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Arranged:
    """A form with its places; `targets` are lines and gaps that found room."""

    choice: Choice
    groups: tuple[Group, ...]
    layout: FormLayout
    targets: int


def arranged(choice: Choice, sheet: FormSheet, wish: Wish) -> Arranged:
    """The form on its sheet.

    Raises
    ------
    UsageError
        Where not even paper, ramps and the most telling solids fit in patches of 5 mm.
    """
    margin = sheet.bleed_mm + MARGIN_MM
    size = {"width_mm": sheet.width_mm, "height_mm": sheet.height_mm, "margin_mm": margin}
    full = _wanted(sheet, wish, targets=2 * wish.plates - 1)
    bare = _wanted(sheet, wish, targets=0)
    least = _with_fewer(choice, leave=len(choice.of_kind(*NEEDED_LAST)))
    tries = [(_with_fewer(choice, leave=leave), full, USUAL_PATCH_MM) for leave in _leaves(choice)]
    tries += [(least, full, LEAST_PATCH_MM), (least, bare, LEAST_PATCH_MM)]
    for fewer, wanted, least_mm in tries:
        groups = in_groups(fewer, repeats=wish.repeats)
        runs = _runs(groups, wish)
        patch_mm = largest_patch_mm(runs, wanted, **size, least_mm=least_mm)
        if patch_mm is not None:
            layout = laid_out(runs, wanted, **size, patch_mm=patch_mm)
            return Arranged(choice=fewer, groups=groups, layout=layout, targets=wanted.targets)
    raise UsageError(_no_room(least, sheet, bare, wish))


def arranged_strip(choice: Choice, sheet: FormSheet, wish: Wish) -> Arranged:
    """The form as a strip of usual patches, as wide as the sheet and as high as it has to be.

    Raises
    ------
    UsageError
        Where that is higher than the sheet, or the sheet too narrow.
    """
    margin, wanted = MARGIN_MM, _wanted(sheet, wish, targets=0)
    groups = in_groups(choice, repeats=wish.repeats)
    runs = _runs(groups, wish)
    size = {"width_mm": sheet.width_mm, "margin_mm": margin, "patch_mm": USUAL_PATCH_MM}
    height = least_height_mm(runs, wanted, **size)
    if height is None or height > sheet.height_mm:
        raise UsageError(_no_room(choice, replace(sheet, bleed_mm=0.0), wanted, wish))
    layout = laid_out(runs, wanted, **size, height_mm=height)
    return Arranged(choice=choice, groups=groups, layout=layout, targets=0)


def _wanted(sheet: FormSheet, wish: Wish, *, targets: int) -> Wanted:
    fields = _FIELDS if sheet.width_mm - 2 * sheet.bleed_mm >= _NARROW_MM else _FEW_FIELDS
    return Wanted(targets=targets, fields=fields, registers=wish.plates - 1)


def _runs(groups: Sequence[Group], wish: Wish) -> list[Run]:
    """A run a group; one without a name where all is shuffled."""
    if not wish.is_shuffled:
        return [group.run for group in groups]
    return [Run(heading="", count=sum(len(group.patches) for group in groups), heading_mm=0.0)]


def _leaves(choice: Choice) -> range:
    """How many patches to leave out, in turn."""
    return range(len(choice.of_kind(*NEEDED_LAST)) + 1)


def _with_fewer(choice: Choice, *, leave: int) -> Choice:
    """The same without the least needed patches: of each kind the last go first."""
    gone: set[int] = set()
    for kind in NEEDED_LAST:
        own = [id(patch) for patch in choice.of_kind(kind)]
        gone |= set(own[max(len(own) - (leave - len(gone)), 0) :])
    return replace(choice, patches=tuple(one for one in choice.patches if id(one) not in gone))


def _no_room(choice: Choice, sheet: FormSheet, wanted: Wanted, wish: Wish) -> Fault:
    """What is said of a sheet that is too small, with the height that would do."""
    runs = _runs(in_groups(choice, repeats=wish.repeats), wish)
    margin, found = sheet.bleed_mm + MARGIN_MM, size_of(sheet.width_mm, sheet.height_mm, "mm")
    needed = least_height_mm(
        runs, wanted, width_mm=sheet.width_mm, margin_mm=margin, patch_mm=LEAST_PATCH_MM
    )
    if needed is None:
        do = "name a sheet of at least 100 mm across: --sheet 297x210"
    else:
        do = f"name a sheet of this width and at least {number(needed + 0.5, 0)} mm high"
    expected = "paper, ramps and the most telling solids of its inks need more room, in patches of "
    return Fault(
        where="--sheet", found=f"is {found}", expected=f"{expected}5 mm, which instruments read",
        do=do,
    )  # fmt: skip
