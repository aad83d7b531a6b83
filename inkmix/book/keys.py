"""Every key of book.toml: what it means, its range, its unit.

One table that the reader, its messages, the JSON Schema and the comments of a started book share.
Data only: no reading and no checking.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from inkmix.press.constants import PAPER_CLASSES
from inkmix.press.inks import TONE_VALUE_INCREASE_PCT
from inkmix.press.processes import PROCESSES
from inkmix.press.solids.opacity import OPACITY_WORDS

PROCESS_NAMES = tuple(PROCESSES)
MIN_PANEL_MM = 5.0  # nothing that is folded is smaller; a metre or an inch was meant
MAX_PANEL_MM = 5000.0
MAX_SPREADS = 5_000  # named in one list; a strip of 200 panels has two sides
MAX_CHANNELS = 64  # of one file
MAX_INKS = 8  # primaries double with each ink; 2^8 is what the colour table holds


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key: what it means, and for numbers the range (both ends allowed) and the unit.

    `words` may stand in place of a number.
    """

    about: str
    low: float | None = None
    high: float | None = None
    unit: str = ""
    words: tuple[str, ...] = ()

    @property
    def range_words(self) -> str:
        """The range as a person reads it."""
        if self.high is None:
            return f"at least {self.low:g} {self.unit}".strip()
        return f"from {self.low:g} to {self.high:g} {self.unit}".strip()


def _number(about: str, unit: str, *, low: float, high: float | None = None) -> Key:
    return Key(about=about, low=low, high=high, unit=unit)


_LAB = "L*, a*, b*, absolute, D50, 2 degree observer"
_XYZ = "X, Y, Z, 0-100, absolute, D50, 2 degree observer"
_TOP = {
    "format": Key(about="version of this file's format"),
    "title": Key(about="title of the work"),
    "paper": Key(about="the stock: a swatch, or a colour with its class"),
    "inks": Key(about="one [[inks]] table for each ink, in lay-down order"),
    "press": Key(about="what prints it, and the limits the printer gave"),
    "plates": Key(about="where the plates lie"),
    "strip": Key(about="the folded strip: equal panels side by side"),
    "total_ink": Key(about="how total ink is looked at"),
    "night": Key(about="one [[night]] table for each area that must be dark"),
    "tones": Key(about="one [[tones]] table for each mix that is meant to look a certain way"),
    "reference": Key(about="a picture of what the whole should look like"),
    "override": Key(about="one [[override]] table for spreads that something else holds for"),
    "waive": Key(about="one [[waive]] table for each finding that somebody accepts"),
}
REPLACED = ("paper", "inks", "strip", "night", "tones", "reference")
"""Tables that an override gives anew."""
MERGED = ("press", "total_ink")
"""Tables of which an override gives single keys."""
_OVERRIDE = {
    "spreads": Key(about="names of the spreads that this holds for"),
    **{name: Key(about=f"instead of the book's: {_TOP[name].about}") for name in REPLACED},
    **{name: Key(about=f"keys that differ: {_TOP[name].about}") for name in MERGED},
}
_WAIVE = {
    "spread": Key(about="name of the spread; else every spread"),
    "check": Key(about="total ink, night or named tones"),
    "name": Key(about="name of the finding; else every finding of the check"),
    "rests_on": Key(about="state of what the finding rests on, as `inkmix batch` prints it"),
    "reason": Key(about="why the finding is accepted"),
    "by": Key(about="who accepts it"),
}
_PAPER = {
    "swatch": Key(about="name of a shipped paper; `inkmix inks` lists them"),
    "lab": Key(about=f"measured: {_LAB}"),
    "xyz": Key(about=f"measured: {_XYZ}"),
    "srgb": Key(about='screen colour "#rrggbb"; only a hint'),
    "measurements": Key(about="CGATS file that holds the bare paper, by spectrum, XYZ or Lab"),
    "guessed": Key(about="true: nobody said so yet, and no verdict that rests on it passes"),
    "class": Key(about="one of " + ", ".join(PAPER_CLASSES)),
    "tinted": Key(about="true where the stock itself is coloured"),
    "gsm": _number("weight of the stock", "g/m2", low=10, high=1000),
    "caliper_mm": _number("thickness of one leaf", "mm", low=0.01, high=3),
    "grain": Key(about="direction of the fibres: long or short"),
}
_INKS = {
    "name": Key(about="name of the ink, as in the plates' file names"),
    "swatch": Key(about="name of a shipped ink; `inkmix inks` lists them"),
    "lab": Key(about=f"measured solid: {_LAB}"),
    "xyz": Key(about=f"measured solid: {_XYZ}"),
    "guessed": Key(about="true: nobody said so yet, and no verdict that rests on it passes"),
    "density": Key(about="measured solid: densities through three filters"),
    "srgb": Key(about='screen colour of the solid "#rrggbb"; only a hint'),
    "measurements": Key(about="CGATS file of the solid or of a ramp of tints"),
    "column": Key(about="name of the ink's column in the measurement file"),
    "tone_value_increase_pct": _number(
        "how much a 50 % tint gains on paper",
        "%",
        low=TONE_VALUE_INCREASE_PCT[0],
        high=TONE_VALUE_INCREASE_PCT[1],
    ),
    "opacity": Key(
        about="share of its own colour that the solid adds to whatever lies under it: "
        f"{', '.join(OPACITY_WORDS)}, or a number; whites reach 0.9",
        low=0,
        high=1,
        words=tuple(OPACITY_WORDS),
    ),
    "character": Key(about="fluorescent, metallic"),
    "polarity": Key(about="what the plate's dark means"),
    "channel": Key(about="name, or number from 1, in a file of several inks"),
    "plate": Key(about="a double hit: prints the plate of this ink once more"),
    "angle_deg": _number("angle of the screen", "degrees", low=0, high=180),
    "ruling_lpi": _number("ruling of the screen", "lines per inch", low=10, high=600),
    "pass": _number("which run through the press", "", low=1, high=MAX_INKS),
}
DENSITY_EXAMPLE = '{ red = 0.25, green = 1.2, blue = 0.9, status = "E", relative = true }'
_DENSITY = {
    "red": _number("through the red filter", "", low=0, high=4),
    "green": _number("through the green filter", "", low=0, high=4),
    "blue": _number("through the blue filter", "", low=0, high=4),
    "status": Key(about="E or T"),
    "relative": Key(about="true where paper reads 0, false for absolute readings"),
}
_PRESS = {
    "process": Key(about="one of " + ", ".join(PROCESS_NAMES)),
    "ink_limit_pct": _number(
        "most total ink the sheet can carry: sum of all tone values", "%", low=50, high=800
    ),
    "edge_growth_mm": _number("how far a solid's edge grows on press", "mm", low=0, high=1),
    "overprints": Key(about="CGATS file of measured mixes of these inks"),
    "confirmed_by_printer": Key(about="names of the keys whose values the printer confirmed"),
}
_PLATES = {
    "pattern": Key(about="path of the plates, with {spread} and {ink}"),
    "ppi": _number("resolution, where the files do not say", "ppi", low=20, high=5080),
    "absent": Key(about="what a missing plate means: empty or refuse"),
    "channels": Key(about='inks in channel order for files of several inks; "" for one not used'),
    "page": _number("which page of each file", "", low=1, high=10000),
}
_STRIP = {
    "panels": _number("how many panels in a row", "", low=1, high=200),
    "panel_mm": Key(about="width and height of one panel, trimmed"),
    "bleed_mm": _number("bleed on every edge of the plates", "mm", low=0, high=50),
    "sides": Key(about="names of the spreads that are sides of the strip"),
}
_NIGHT = {
    "name": Key(about="name of the area"),
    "mask": Key(about="picture that shows the area; may hold {spread}"),
    "mask_shows": Key(about="which end of the mask is night: white or black"),
    "rect_mm": Key(about="x, y, width, height from the trim's top left corner"),
    "rule": Key(about="tone values that plates must hold, all of them"),
    "lightest_L": _number("lightest L* allowed there", "L*", low=1, high=100),
    "share_pct": _number("share of the area that must reach it", "%", low=1, high=100),
    "spreads": Key(about="only on these spreads"),
}
_RULE = {
    "plate": Key(about="name of an ink"),
    "at_least_pct": _number("least tone value", "%", low=0, high=100),
}
_TONES = {
    "name": Key(about="name of the tone"),
    "mix": Key(about="tone value of each ink, %"),
    "intended": Key(about='"#rrggbb", relative to paper white'),
    "lab": Key(about=f"what it should measure: {_LAB}"),
    "tolerance_de00": _number("how far off it may be", "dE00", low=0.1, high=50),
}
TABLES: Mapping[str, Mapping[str, Key]] = {
    "": _TOP,
    "paper": _PAPER,
    "inks": _INKS,
    "inks.density": _DENSITY,
    "press": _PRESS,
    "plates": _PLATES,
    "strip": _STRIP,
    "total_ink": {
        "min_area_mm2": _number(
            "areas over the limit below this size count as specks", "mm2", low=0, high=10000
        )
    },
    "night": _NIGHT,
    "night.rule": _RULE,
    "tones": _TONES,
    "reference": {"picture": Key(about="path of the picture; may hold {spread}")},
    "override": _OVERRIDE,
    "waive": _WAIVE,
}


def find_key(table: str, name: str) -> Key | None:
    """The key of a table ("inks", "inks.density", "" for the top), or None."""
    return TABLES.get(table, {}).get(name)
