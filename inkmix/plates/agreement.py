"""Whether plates belong together: size, turn, bleed, resolution. Headers only, no pixels.

One plate, of the size that most have, is the measure; every other one is held against it.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from inkmix.base.errors import Fault
from inkmix.base.words import size_of
from inkmix.plates.files.limits import UNKNOWN_PPI
from inkmix.plates.mismatch import ExpectedSize, size_reason
from inkmix.plates.plate import PlateHeader

_PPI_TOLERANCE = 2e-3
"""Relative: what rounding in files makes of the same resolution."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """What a set has in common.

    Parameters
    ----------
    width_px, height_px : int
        Size at the lowest resolution.
    ppi : float
        The lowest resolution; 0 where faults leave it open.
    factors : tuple of int
        How many times finer each plate is.
    faults : tuple of Fault
        Everything that keeps the set from being used.
    notes : tuple of str
        What was accepted and has to be said.
    """

    width_px: int = 0
    height_px: int = 0
    ppi: float = 0.0
    factors: tuple[int, ...] = ()
    faults: tuple[Fault, ...] = ()
    notes: tuple[str, ...] = ()


def agree(
    headers: Sequence[PlateHeader], *, ppi: float | None, expect: ExpectedSize | None
) -> Agreement:
    """What the plates have in common, or every fault that keeps them apart."""
    if not headers:
        return Agreement()
    faults = [] if ppi else list(_ppi_faults(headers))
    measure = _measure(headers, told_ppi=ppi, expect=expect)
    ratios = [_ratio(header, measure, told_ppi=ppi) for header in headers]
    for header, ratio in zip(headers, ratios, strict=True):
        if ratio is None:
            faults.append(_odd_one(header, measure, headers, told_ppi=ppi, expect=expect))
    if faults:
        return Agreement(faults=tuple(faults))
    found = _common(headers, [ratio or Fraction(1) for ratio in ratios], measure, told_ppi=ppi)
    if expect and (fault := expect.fault(found.width_px, found.height_px, ppi=found.ppi)):
        return Agreement(faults=(fault,))
    return found


def _ppi_faults(headers: Sequence[PlateHeader]) -> Iterator[Fault]:
    for header in headers:
        if header.ppi is None:
            found = "does not say its resolution"
        elif _true_ppi(header) is None:
            found = "says 72 ppi, which programs write when they do not know"
        else:
            continue
        expected = "sizes in mm need the true resolution"
        do = "set ppi in the book, or with --ppi for plates without one"
        yield Fault(where=header.where, found=found, expected=expected, do=do)


def _measure(
    headers: Sequence[PlateHeader], *, told_ppi: float | None, expect: ExpectedSize | None
) -> PlateHeader:
    """The plate that the others are held against: of the commonest size; fitting ones first."""
    sizes = Counter(_size(header) for header in headers)
    kinds = Counter(_kind(header, told_ppi) for header in headers)

    def rank(header: PlateHeader) -> tuple[int, int, bool]:
        ppi = told_ppi or header.ppi
        fits = bool(expect and ppi and not expect.fault(header.width_px, header.height_px, ppi=ppi))
        return sizes[_size(header)], kinds[_kind(header, told_ppi)], fits

    return max(headers, key=rank)


def _kind(header: PlateHeader, told_ppi: float | None) -> tuple[int, int, float]:
    """Size and resolution; a told resolution stands above what files say."""
    return *_size(header), 0.0 if told_ppi else _true_ppi(header) or 0.0


def _true_ppi(header: PlateHeader) -> float | None:
    """The resolution that a file says, unless it only looks like one."""
    if header.ppi is None or abs(header.ppi - UNKNOWN_PPI) < 0.5:
        return None
    return header.ppi


def _size(header: PlateHeader) -> tuple[int, int]:
    return header.width_px, header.height_px


def _ratio(header: PlateHeader, measure: PlateHeader, *, told_ppi: float | None) -> Fraction | None:
    """How much finer a plate is than the measure (3, 1/3); None where they do not agree."""
    ratio = _whole_ratio(header.width_px, measure.width_px)
    if ratio is None or not _is_scaled(header.height_px, measure.height_px, ratio):
        return None
    own, other = _true_ppi(header), _true_ppi(measure)
    if told_ppi or own is None or other is None:
        return ratio
    wanted = other * float(ratio)
    return ratio if abs(own - wanted) <= _PPI_TOLERANCE * wanted else None


def _whole_ratio(size: int, other: int) -> Fraction | None:
    factor = max(round(size / other), round(other / size), 1)
    ratio = Fraction(factor) if size >= other else Fraction(1, factor)
    return ratio if _is_scaled(size, other, ratio) else None


def _is_scaled(size: int, other: int, ratio: Fraction) -> bool:
    """Equal in mm to less than one pixel of the coarser plate."""
    if ratio >= 1:
        return abs(size - other * ratio) < ratio
    return abs(other - size / ratio) < 1 / ratio


def _odd_one(
    header: PlateHeader,
    measure: PlateHeader,
    headers: Sequence[PlateHeader],
    *,
    told_ppi: float | None,
    expect: ExpectedSize | None,
) -> Fault:
    alike = sum(_kind(other, told_ppi) == _kind(measure, told_ppi) for other in headers)
    rest = len(headers) - 1
    if _size(header) == _size(measure):
        said = _others(alike, rest, measure, verbs=("says", "say"))
        return Fault(
            where=header.where,
            found=f"says {header.ppi:g} ppi",
            expected=f"{said} {measure.ppi:g} ppi at the same size in pixels",
            do="export all plates at the same resolution, or set ppi in the book",
        )
    others = _others(alike, rest, measure, verbs=("is", "are"))
    ppi = None if told_ppi else header.ppi
    reason, do = size_reason(header, measure, ppi=told_ppi or measure.ppi, expect=expect)
    return Fault(
        where=header.where,
        found=f"{_size_text(header, ppi)}{reason}",
        expected=f"{others} {_size_text(measure, ppi and measure.ppi)}",
        do=do,
    )


def _others(alike: int, rest: int, measure: PlateHeader, *, verbs: tuple[str, str]) -> str:
    one, many = verbs
    if alike == 1:
        return f"{measure.where} {one}"
    return f"the other {alike} plates {many}" if alike == rest else f"{alike} others {many}"


def _size_text(header: PlateHeader, ppi: float | None) -> str:
    size = size_of(header.width_px, header.height_px, "px")
    return f"{size} at {ppi:g} ppi" if ppi else size


def _common(
    headers: Sequence[PlateHeader],
    ratios: Sequence[Fraction],
    measure: PlateHeader,
    *,
    told_ppi: float | None,
) -> Agreement:
    lowest = min(ratios)
    base = headers[ratios.index(lowest)]
    factors = tuple(int(ratio / lowest) for ratio in ratios)
    ppi = told_ppi or base.ppi or 0.0
    return Agreement(
        width_px=base.width_px,
        height_px=base.height_px,
        ppi=ppi,
        factors=factors,
        notes=tuple(_notes(headers, factors, ppi=ppi, told_ppi=told_ppi)),
    )


def _notes(
    headers: Sequence[PlateHeader],
    factors: Sequence[int],
    *,
    ppi: float,
    told_ppi: float | None,
) -> Iterator[str]:
    for header, factor in zip(headers, factors, strict=True):
        yield from (f"{header.where}: {note}" for note in header.notes)
        if factor > 1:
            yield f"{header.where}: {factor} times finer than the set, used at {ppi:g} ppi"
        if told_ppi and header.ppi and abs(header.ppi - ppi * factor) > _PPI_TOLERANCE * ppi:
            yield f"{header.where}: says {header.ppi:g} ppi; {ppi * factor:g} is used as told"
    yield from _set_notes(headers)


def _set_notes(headers: Sequence[PlateHeader]) -> Iterator[str]:
    profiles = {header.profile for header in headers}
    if len(profiles) > 1:
        named = ", ".join(f"{header.ink}: {header.profile or 'none'}" for header in headers)
        yield f"embedded profiles differ ({named}); none is applied, the numbers are tone values"
    elif None not in profiles:
        yield f"embedded profile {headers[0].profile} is not applied, the numbers are tone values"
    if len({header.bits == 16 for header in headers}) > 1:
        yield "plates of 8 and 16 bits are mixed; all are worked on at 16"
