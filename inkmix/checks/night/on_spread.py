"""The night areas of a book on one spread: their masks, opened, and their checks."""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

from inkmix.base.ordered_threads import thread_count
from inkmix.base.words import number, percent, size_of
from inkmix.book.meant.collected_faults import all_of
from inkmix.book.meant.inputs import spread_file
from inkmix.book.values import NightArea
from inkmix.checks.check import Ground
from inkmix.checks.night.check import NightCheck
from inkmix.plates.masks.inverted import DarkArea, InvertedMaskCheck
from inkmix.plates.masks.mask import Mask, PictureMask, rectangle_mask, rule_mask
from inkmix.plates.masks.picture import open_mask
from inkmix.sheet.geometry import Sheet


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NightOnSpread:
    """A night area with its mask and its check."""

    area: NightArea
    mask: Mask
    check: NightCheck

    @property
    def is_there(self) -> bool:
        """Whether its mask marks anything on this spread."""
        return not isinstance(self.mask, PictureMask) or self.mask.share > 0


def open_nights(ground: Ground) -> tuple[NightOnSpread, ...]:
    """The night areas that this spread must hold.

    A mask that is drawn for each spread marks nothing where the spread has no night.

    Raises
    ------
    PictureError
        With the faults of all masks.
    """
    areas = [area for area in ground.book.nights if not area.spreads or ground.name in area.spreads]
    with ThreadPoolExecutor(thread_count()) as pool:
        opening = [pool.submit(_mask, ground, area) for area in areas]
        masks = all_of(mask.result for mask in opening)
    return tuple(
        NightOnSpread(area=area, mask=mask, check=_check(ground, area))
        for area, mask in zip(areas, masks, strict=True)
    )


def guessed_masks(nights: Sequence[NightOnSpread], ground: Ground) -> InvertedMaskCheck:
    """What looks with suspicion at masks whose polarity nobody stated."""
    limit = ground.limits.ink_limit_pct
    return InvertedMaskCheck(
        areas={
            night.area.name: DarkArea(
                mask=night.mask,
                lightest_level=night.check.lightest_level,
                share_pct=night.area.share_pct,
            )
            for night in nights
            if night.area.mask_shows is None and isinstance(night.mask, PictureMask)
        },
        height_px=ground.plates.height_px,
        full=ground.plates.full,
        ink_limit_pct=None if limit is None else limit.value,
    )


def notes_of(nights: Sequence[NightOnSpread], sheet: Sheet) -> tuple[str, ...]:
    """What was accepted about masks and rectangles and has to be said."""
    cut = (_cut(night.area, sheet) for night in nights)
    return (*(note for note in cut if note), *_mask_notes(nights))


def _cut(area: NightArea, sheet: Sheet) -> str:
    """A word where a rectangle leaves the sheet, bleed included."""
    if area.rect_mm is None:
        return ""
    x, y, width, height = area.rect_mm
    beyond = max(
        -x, -y, x + width - sheet.trim_width_mm, y + height - sheet.trim_height_mm
    ) - sheet.bleed_mm  # fmt: skip
    if beyond <= 0.5 / sheet.px_per_mm:
        return ""
    return (
        f"night {area.name}: its rectangle reaches {number(beyond)} mm beyond the sheet and is cut"
    )


def _mask_notes(nights: Sequence[NightOnSpread]) -> tuple[str, ...]:
    return tuple(
        f"{night.mask.where}: {note}"
        for night in nights
        if isinstance(night.mask, PictureMask)
        for note in (*night.mask.notes, *_empty_notes(night))
    )


def _empty_notes(night: NightOnSpread) -> tuple[str, ...]:
    if night.is_there:
        return ()
    shown = night.area.mask_shows or "white"
    return (f"there is no {shown} in it, so this spread has no night {night.area.name}",)


def _mask(ground: Ground, area: NightArea) -> Mask:
    if area.mask is not None:
        path = spread_file(ground.book, area.mask, ground.name, key=f"night {area.name}: mask")
        return open_mask(
            path,
            ground.sheet,
            polarity=area.mask_shows or "white",
            room=ground.room,
            may_be_empty="{spread}" in area.mask,
        )
    if area.rect_mm is not None:
        return rectangle_mask(ground.sheet, area.rect_mm)
    parts = [(part.plate, part.at_least_pct, 100.0) for part in area.rule]
    return rule_mask(parts, ground.plates.inks)


def _check(ground: Ground, area: NightArea) -> NightCheck:
    return NightCheck(
        sheet=ground.sheet,
        condition=ground.condition,
        name=area.name,
        mask_words=_words(area, ground.name),
        lightest_L=area.lightest_L,
        share_pct=area.share_pct,
        min_area_mm2=ground.book.min_area_mm2,
    )


def _words(area: NightArea, spread: str) -> str:
    if area.mask is not None:
        return f"the {area.mask_shows or 'white'} of {area.mask.replace('{spread}', spread)}"
    if area.rect_mm is not None:
        x, y, width, height = area.rect_mm
        where = f"{number(x, 3)} mm from the left and {number(y, 3)} mm from the top"
        return f"{size_of(width, height, 'mm')}, {where}"
    return "where " + " and ".join(
        f"{part.plate} holds at least {percent(part.at_least_pct)}" for part in area.rule
    )
