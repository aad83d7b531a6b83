"""The book that is measured with: five inks, an ink limit, a night with a mask, two named tones.

Text only. Inks and paper are those of The Night Ferry, which are invented.
"""

INKS = ("Soot", "Fjord", "Rowan", "Brass", "Fog")
SPREAD = "sheet"
MASK = "mask.tif"
REFERENCE = "reference.tif"

_PANELS, _BLEED_MM = 8, 3
_MM_PER_INCH = 25.4

_INK = """
[[inks]]
name = "{name}"
swatch = "night-ferry/{name}"
"""
_BOOK = """\
format = 1
title = "A sheet to measure with"

[paper]
swatch = "night-ferry/uncoated"
{inks}
[press]
process = "sheet-fed offset"
ink_limit_pct = 280

[plates]
pattern = "plates/{{spread}}/{{ink}}.tif"

[strip]
panels = {panels}
panel_mm = [{panel_width_mm:.4f}, {panel_height_mm:.4f}]
bleed_mm = {bleed_mm}
"""
_NIGHT_AND_TONES = f"""
[[night]]
name = "sky"
mask = "{MASK}"
mask_shows = "white"
lightest_L = 29

[[tones]]
name = "deep night"
mix = {{ Soot = 90, Fjord = 68, Rowan = 10 }}
intended = "#3a3d4c"
tolerance_de00 = 6

[[tones]]
name = "lamp glow"
mix = {{ Rowan = 26, Brass = 86 }}
intended = "#ff9d45"
tolerance_de00 = 6
"""


def press_text(*, width_px: int, height_px: int, ppi: float) -> str:
    """The part of the book that names no file: what is printed, on what, how large."""
    width_mm, height_mm = (side / ppi * _MM_PER_INCH for side in (width_px, height_px))
    return _BOOK.format(
        inks="".join(_INK.format(name=name) for name in INKS),
        panels=_PANELS,
        panel_width_mm=(width_mm - 2 * _BLEED_MM) / _PANELS,
        panel_height_mm=height_mm - 2 * _BLEED_MM,
        bleed_mm=_BLEED_MM,
    )


def book_text(*, width_px: int, height_px: int, ppi: float) -> str:
    """The book of a sheet whose plates have this size, without a reference picture."""
    return press_text(width_px=width_px, height_px=height_px, ppi=ppi) + _NIGHT_AND_TONES


def with_reference(text: str) -> str:
    """The same book with a reference picture."""
    return f'{text}\n[reference]\npicture = "{REFERENCE}"\n'


def with_wide_limits(text: str) -> str:
    """The same book with limits that no plate misses, so that no remedy is tried."""
    wide = text.replace("ink_limit_pct = 280", "ink_limit_pct = 400")
    return wide.replace("lightest_L = 29", "lightest_L = 99")
