"""The text of the demo's book file: what a publisher would have written for this strip."""

from inkmix.demo.canvas import BLEED_MM, PANEL_MM, PANELS
from inkmix.demo.tones import INK_LIMIT_PCT, INKS, NIGHTS, TONES, Mix, NightArea, Tone

HEAD = """\
# The Night Ferry: a folded strip of eight panels, printed in five inks.
# Town, ferry and inks are invented; the pictures were drawn by a program.

format = 1
title = "The Night Ferry"

[paper]
swatch = "night-ferry/uncoated"

# Inks in the order in which they are laid down.
"""
PRESS = f"""\
[press]
process = "sheet-fed offset"
ink_limit_pct = {INK_LIMIT_PCT:g}  # most total ink the sheet carries
confirmed_by_printer = ["ink_limit_pct"]

[plates]
pattern = "plates/{{spread}}/{{ink}}.tif"

[strip]
panels = {PANELS}
panel_mm = [{PANEL_MM[0]:g}, {PANEL_MM[1]:g}]
bleed_mm = {BLEED_MM:g}

[total_ink]
min_area_mm2 = 1  # smaller places are counted as specks

# Where the picture has to be really dark. White of the mask belongs to the area.
"""
TONES_HEAD = """\
# Mixes that the artist names, and the colour wanted for each, seen against the paper.
"""


def book_text(mixes: dict[str, Mix]) -> str:
    """book.toml with the given mixes for the named tones."""
    inks = "".join(f'[[inks]]\nname = "{ink}"\nswatch = "night-ferry/{ink}"\n\n' for ink in INKS)
    nights = "\n".join(_night(night) for night in NIGHTS)
    tones = "\n".join(_tone(tone, mixes[tone.name]) for tone in TONES)
    return f"{HEAD}{inks}{PRESS}{nights}\n{TONES_HEAD}{tones}"


def _night(night: NightArea) -> str:
    return (
        f'[[night]]\nname = "{night.name}"\nmask = "{night.mask}"\n'
        f"lightest_L = {night.lightest_L:g}\n"
        f"share_pct = {night.share_pct:g}  # of the area that has to be at least as dark\n"
    )


def _tone(tone: Tone, mix: Mix) -> str:
    parts = ", ".join(f"{ink} = {tone_pct:g}" for ink, tone_pct in mix.items())
    return (
        f'[[tones]]\nname = "{tone.name}"\nmix = {{ {parts} }}\n'
        f'intended = "{tone.intended}"\ntolerance_de00 = {tone.tolerance_de00:g}\n'
    )
