"""The geometry that a book asks of a spread: its size, its panels."""

from inkmix.book.values import Book, StripSpec
from inkmix.plates.mismatch import ExpectedSize
from inkmix.sheet.geometry import Sheet, panels_in_a_row


def expected_size(book: Book, spread: str) -> ExpectedSize | None:
    """The size that the book's strip asks of a spread; None where it asks nothing."""
    strip = _strip(book, spread)
    if strip is None:
        return None
    width_mm, height_mm = strip.trim_mm
    return ExpectedSize(trim_width_mm=width_mm, trim_height_mm=height_mm, bleed_mm=strip.bleed_mm)


def resolve_sheet(book: Book, spread: str, *, width_px: int, height_px: int, ppi: float) -> Sheet:
    """Geometry of a spread whose plates have this size."""
    strip = _strip(book, spread)
    if strip is None:
        return Sheet(width_px=width_px, height_px=height_px, ppi=ppi)
    panels = panels_in_a_row(
        strip.panels, width_mm=strip.panel_width_mm, height_mm=strip.panel_height_mm
    )
    return Sheet(
        width_px=width_px, height_px=height_px, ppi=ppi, bleed_mm=strip.bleed_mm, panels=panels
    )


def _strip(book: Book, spread: str) -> StripSpec | None:
    """The strip that the spread is a side of."""
    strip = book.strip
    return strip if strip is not None and (not strip.sides or spread in strip.sides) else None
