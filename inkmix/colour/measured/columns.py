"""What the name of a column means: tone value, XYZ, Lab, density, reflectance at a wavelength.

Names follow CGATS.17 / ISO 28178 where it has any; the other spellings are those met in real
files. Only names are looked at here, never the numbers under them.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

MAX_PLATES = 64  # a chart of candidate inks holds dozens, though no press prints them together


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a column holds.

    `kind` is "tone", "xyz", "lab", "density", "spectral" or "label"; `key` says which.
    """

    kind: str
    key: str


_FIXED = {
    **{f"XYZ_{axis}": Meaning("xyz", axis) for axis in "XYZ"},
    **{f"LAB_{axis}": Meaning("lab", axis) for axis in "LAB"},
    **{f"LAB_{axis}*": Meaning("lab", axis) for axis in "LAB"},
    **{f"CMYK_{ink}": Meaning("tone", ink) for ink in "CMYK"},
    **{f"CMY_{ink}": Meaning("tone", ink) for ink in "CMY"},
    "K_K": Meaning("tone", "K"),
    "GRAY_K": Meaning("tone", "K"),
    "D_RED": Meaning("density", "red"),
    "D_GREEN": Meaning("density", "green"),
    "D_BLUE": Meaning("density", "blue"),
    "D_VIS": Meaning("density", "visual"),
    "D_VISUAL": Meaning("density", "visual"),
    "SAMPLE_NAME": Meaning("label", "name"),
    "SAMPLE_ID": Meaning("label", "id"),
    "SAMPLEID": Meaning("label", "id"),
    "SAMPLE_LOC": Meaning("label", "place"),
}

_SPECTRAL = re.compile(
    r"(?:SPECTRAL|SPECTRUM|SPEC|REFL|R|S)?_?(?P<unit>NM|PCT|DEC)?_?(?P<nm>\d{3,4})(?:\.0+)?(?:_?NM)?",
    re.IGNORECASE,
)
_NUMBERED = re.compile(r"(?P<inks>[1-9A-F])CLR_(?P<ink>[1-9A-F]|1[0-5])", re.IGNORECASE)
_NAMED = re.compile(r"(?:INK|SPOT)[_ ](?P<name>.+)", re.IGNORECASE)
_FIRST_NM, _LAST_NM = 300, 1100


def column_meaning(name: str) -> Meaning | None:
    """What the name says, or None for a name that no list here holds.

    >>> column_meaning("SPECTRAL_NM_420"), column_meaning("5CLR_2")
    (Meaning(kind='spectral', key='420'), Meaning(kind='tone', key='2'))
    """
    fixed = _FIXED.get(name.upper())
    if fixed:
        return fixed
    if numbered := _NUMBERED.fullmatch(name):
        ink = numbered["ink"]
        return Meaning("tone", ink if ink.isdigit() else str(int(ink, 16)))
    if named := _NAMED.fullmatch(name):
        return Meaning("tone", named["name"].strip())
    return _spectral_meaning(name)


def _spectral_meaning(name: str) -> Meaning | None:
    """The wavelength that the name holds, if it holds one and nothing else."""
    match = _SPECTRAL.fullmatch(name)
    if match is None or not _FIRST_NM <= int(match["nm"]) <= _LAST_NM:
        return None
    return Meaning("spectral", str(int(match["nm"])))


def spectral_unit(names: Iterable[str]) -> str:
    """ "PCT" or "DEC" if the spectral columns name their unit, else empty."""
    units = {match["unit"] for name in names if (match := _SPECTRAL.fullmatch(name))}
    told = {unit.upper() for unit in units if unit} & {"PCT", "DEC"}
    return told.pop() if len(told) == 1 else ""


def missing_axes(meanings: Mapping[int, Meaning], kind: str, axes: str) -> str:
    """Axes of a colour that are lacking although some of it is there ("Z" for XYZ_X, XYZ_Y)."""
    held = {meaning.key for meaning in meanings.values() if meaning.kind == kind}
    return "".join(axis for axis in axes if axis not in held) if held else ""
