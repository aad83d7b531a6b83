"""What a press-condition file holds: paper, ramps and mixes as one press printed them.

It holds readings, not what a model makes of them: a better model learns more from the same file.
"""

import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from inkmix.base.arrays import FloatArray, IntArray
from inkmix.base.errors import Fault, MeasurementError
from inkmix.base.json_document import plain
from inkmix.base.json_values import MisfitError, value_of
from inkmix.base.names import same_name
from inkmix.press.constants import MODEL, PAPER_CLASSES
from inkmix.press.inks import Ink, Paper, ink_from_ramp
from inkmix.press.patches import (
    MAX_PATCHES,
    MAX_XYZ,
    PHOTOGRAPH,
    SINGLE_SHEET,
    UNEVEN_SHEETS,
    Patches,
)
from inkmix.press.values import MAX_INKS

FORMAT = 1
INSTRUMENT, CAMERA = "instrument", "photograph"
MAX_BYTES = 4_000_000  # 5,000 mixes of eight inks take less than 1 MB
MARK = b"# Written by `inkmix calibrate`"
"""By which such a file is known; it stands in its first bytes."""

_DIGITS = 5
_MOST_REFLECTED = 2.5  # of the brightest day-glow solids, as MAX_XYZ
_MOST_TIMES = 100_000
_MOST_SCATTER_DE00 = 100.0

Row = tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """Where the readings come from.

    Parameters
    ----------
    measurements : str
        Name of the file they were in, and `sha256` of its bytes.
    says : str
        What it calls itself.
    book : str
        Title of the book whose form was printed.
    conditions : tuple of str
        How it was measured, as far as the file says; and what it does not say.
    read_by : str
        "instrument" or "photograph": by the latter nothing is measured.
    """

    measurements: str
    sha256: str
    says: str = ""
    book: str = ""
    conditions: tuple[str, ...] = ()
    read_by: str = INSTRUMENT


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperRecord:
    """The bare paper: X, Y, Z under D50, 0-100, and its spectrum, 380 to 730 nm by 10, if read."""

    paper_class: str
    xyz: Row
    reflectance: Row | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class InkRecord:
    """One ink alone: its tints, and the colour of each.

    Parameters
    ----------
    tone_pct : tuple of float
        Rising; the last is the solid.
    xyz : tuple of (X, Y, Z)
    reflectance : tuple or None
        A spectrum a tint, on the grid of the paper's.
    """

    name: str
    tone_pct: Row
    xyz: tuple[Row, ...]
    reflectance: tuple[Row, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MixRecords:
    """Mixes of two or more inks, a row each.

    Parameters
    ----------
    rows : tuple
        The tone value of each ink in the order of the inks, X, Y, Z, and how often it was read.
    scatter_de00 : float
        How far readings of one mix or tint lay from their mean on average; 0 where none was read
        twice.
    """

    rows: tuple[Row, ...] = ()
    scatter_de00: float = 0.0

    @property
    def noise(self) -> str:
        """How they count as read."""
        uneven = self.scatter_de00 > MODEL.kriging.uneven_from_de00
        return UNEVEN_SHEETS if uneven else SINGLE_SHEET


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A reading that was not used."""

    patch: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PressFile:
    """What is known of a press; `inks` in lay-down order, first printed first."""

    format: int = FORMAT
    origin: Origin
    paper: PaperRecord
    inks: tuple[InkRecord, ...]
    mixes: MixRecords = MixRecords()
    left_out: tuple[LeftOut, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """Of the inks, in lay-down order."""
        return tuple(ink.name for ink in self.inks)

    @property
    def source(self) -> str:
        """What readings of it are called where their origin is told."""
        how = "photographed" if self.is_photograph else "measured"
        return f"{how} on this press ({self.origin.measurements})"

    @property
    def is_photograph(self) -> bool:
        """Whether a camera read it: its paper is the book's then, and nothing is surer by it."""
        return self.origin.read_by == CAMERA

    def printed_paper(self, name: str, *, paper_class: str = "") -> Paper:
        """The paper; `paper_class` where a book knows it better."""
        record = self.paper
        return Paper(
            name=name,
            paper_class=paper_class or record.paper_class,
            xyz100=np.array(record.xyz),
            reflectance=None if record.reflectance is None else np.array(record.reflectance),
            source=self.source,
        )

    def printed_ink(self, name: str, paper: Paper) -> Ink | None:
        """An ink on that paper; None where the file does not hold it."""
        record = next((one for one in self.inks if same_name(one.name, name)), None)
        if record is None:
            return None
        spectra = record.reflectance
        ink = ink_from_ramp(
            name,
            tone_pct=record.tone_pct,
            xyz100=np.array(record.xyz),
            reflectance=None if spectra is None else np.array(spectra),
            paper=paper,
            source=self.source,
        )
        return replace(ink, known="photograph") if self.is_photograph else ink

    def patches(self, names: Sequence[str]) -> Patches | None:
        """Its mixes of some inks and no others, a column a name; "" where the file has no such ink.

        A mix that was read several times stands there as often.
        """
        columns = [self._column(name) for name in names]
        rows = self._mixes()
        held = [at for at in columns if at is not None]
        others = np.delete(rows[:, : len(self.inks)], held, axis=1)
        rows = rows[(others == 0).all(axis=1)]
        rows = rows[(rows[:, held] > 0).sum(axis=1) >= 2]
        if not len(rows):
            return None
        rows = _repeated(rows)
        tones = np.zeros((len(rows), len(names)))
        for column, at in enumerate(columns):
            if at is not None:
                tones[:, column] = rows[:, at]
        noise = PHOTOGRAPH if self.is_photograph else self.mixes.noise
        return Patches(tone_pct=tones, xyz100=rows[:, -4:-1], noise=noise)

    def _mixes(self) -> FloatArray:
        return np.array(self.mixes.rows, np.float64).reshape(-1, len(self.inks) + 4)

    def _column(self, name: str) -> int | None:
        return next((k for k, one in enumerate(self.names) if same_name(one, name)), None)


def _repeated(rows: FloatArray) -> FloatArray:
    """Each mix as often as it was read, or all once where that would be too many."""
    times = np.maximum(rows[:, -1], 1).astype(np.int64)
    return rows.repeat(times, axis=0) if times.sum() <= MAX_PATCHES else rows


def parse_press_file(data: bytes, *, where: str) -> PressFile:
    """The press that a file of bytes tells of.

    Raises
    ------
    MeasurementError
        It is no press-condition file, or a damaged one.
    """
    if len(data) > MAX_BYTES:
        raise _unfit(where, "more than 4 MB", "name the file that `inkmix calibrate` wrote")
    try:
        said = tomllib.loads(data.decode())
        if isinstance(said, dict) and said.get("format", FORMAT) != FORMAT:
            found = f"format {said['format']}"
            raise _unfit(where, found, "use the inkmix that wrote it, or calibrate again")
        value: PressFile = value_of(PressFile, said, "")
    except MisfitError as error:
        raise _unfit(where, f"{error.where.removeprefix('.')} {error.found}") from None
    except (ValueError, RecursionError) as error:  # TOMLDecodeError, UnicodeDecodeError among them
        raise _unfit(where, f"is no TOML text ({error})") from None
    faults = list(_faults(value, where))
    if faults:
        raise MeasurementError(faults)
    return value


def _unfit(where: str, found: str, do: str = "") -> MeasurementError:
    return MeasurementError(
        Fault(
            where=where,
            found=found,
            expected="a press-condition file",
            do=do or "name the file that `inkmix calibrate` wrote, or write it again",
        )
    )


def _faults(value: PressFile, where: str) -> Iterator[Fault]:
    """What no type tells: how many numbers there are, and how large they may be."""

    def fault(what: str, found: str, expected: str) -> Fault:
        do = "write the file again with `inkmix calibrate`"
        return Fault(where=f"{where}: {what}", found=found, expected=expected, do=do)

    if value.origin.read_by not in (INSTRUMENT, CAMERA):
        yield fault("read_by", value.origin.read_by, f"{INSTRUMENT} or {CAMERA}")
    if value.paper.paper_class not in PAPER_CLASSES:
        yield fault("paper_class", value.paper.paper_class, ", ".join(PAPER_CLASSES))
    if not 1 <= len(value.inks) <= MAX_INKS:
        yield fault("inks", f"{len(value.inks)}", f"1 to {MAX_INKS}")
        return
    if len({one.name.casefold() for one in value.inks}) < len(value.inks):
        yield fault("inks", "two of one name", "each ink once")
    white = value.paper.reflectance
    colours: list[tuple[str, Sequence[Row], Sequence[Row] | None]] = [
        ("paper", (value.paper.xyz,), None if white is None else (white,))
    ]
    colours += [(f"ink {one.name}", one.xyz, one.reflectance) for one in value.inks]
    for what, xyz, spectra in colours:
        if any(len(one) != 3 for one in xyz):
            yield fault(what, "colours of other than 3 numbers", "X, Y, Z")
        if any(len(one) != 36 for one in spectra or ()):
            yield fault(what, "a spectrum of other than 36 numbers", "380 to 730 nm by 10")
    for one in value.inks:
        if len(one.tone_pct) != len(one.xyz) or one.tone_pct[-1:] != (100.0,):
            yield fault(f"ink {one.name}", "tints and colours that do not match", "up to the solid")
        if one.reflectance is not None and len(one.reflectance) != len(one.xyz):
            yield fault(f"ink {one.name}", "tints without a spectrum", "one each, or none at all")
    width = len(value.inks) + 4
    wrong = next((k for k, row in enumerate(value.mixes.rows, 1) if len(row) != width), None)
    if wrong is not None:
        yield fault(f"mixes, row {wrong}", "another number of values", f"{width}")
    if len(value.mixes.rows) > MAX_PATCHES:
        yield fault("mixes", f"{len(value.mixes.rows):,}", f"{MAX_PATCHES:,} at most")
    elif wrong is None:
        yield from (fault(*said) for said in _out_of_range(value))


def _out_of_range(value: PressFile) -> Iterator[tuple[str, str, str]]:
    """Numbers that no press prints and nobody reads: where, what, and what may be."""
    white = value.paper
    parts: list[tuple[str, Sequence[Row], Sequence[Row], Sequence[Row]]] = [
        ("paper", (), (white.xyz,), () if white.reflectance is None else (white.reflectance,))
    ]
    parts += [
        (f"ink {one.name}", (one.tone_pct,), one.xyz, one.reflectance or ()) for one in value.inks
    ]
    rows = value.mixes.rows
    parts.append(("mixes", [row[:-4] for row in rows], [row[-4:-1] for row in rows], ()))
    for what, tones, xyz, spectra in parts:
        for numbers, most, expected in (
            (tones, 100.0, "tone values of 0 to 100"),
            (xyz, MAX_XYZ, f"X, Y, Z of 0 to {MAX_XYZ:g}"),
            (spectra, _MOST_REFLECTED, f"reflectance of 0 to {_MOST_REFLECTED:g}"),
        ):
            off = next((v for row in numbers for v in row if not 0 <= v <= most), None)
            if off is not None:
                yield what, f"{off:g}", expected
    if value.mixes.scatter_de00 > _MOST_SCATTER_DE00:
        found = f"scatter_de00 = {value.mixes.scatter_de00:g}"
        yield "mixes", found, f"0 to {_MOST_SCATTER_DE00:g}"
    times = next((row[-1] for row in rows if not 1 <= row[-1] <= _MOST_TIMES), None)
    if times is not None:
        yield "mixes", f"read {times:g} times", "once or more"


def with_mixes(value: PressFile, some: IntArray) -> PressFile:
    """The same with only some of its mixes, by their places (K,)."""
    rows = value.mixes.rows
    return replace(value, mixes=replace(value.mixes, rows=tuple(rows[int(k)] for k in some)))


def press_file_text(value: PressFile) -> str:
    """As TOML text that `parse_press_file` reads, with what people want to know of it."""
    said: dict[str, Any] = plain(value, digits=_DIGITS)
    return "\n".join(_lines(said)) + "\n"


def _lines(said: dict[str, Any]) -> Iterator[str]:
    yield f"{MARK.decode()}; named in a book by condition = ... under [press]."
    yield "# Colours are X, Y, Z, absolute, D50, 2 degree, 0-100; inks stand in lay-down order."
    yield f"format = {said['format']}"
    yield from _table("[origin]", said["origin"])
    yield from _table("[paper]", said["paper"])
    for ink in said["inks"]:
        yield from _table("[[inks]]", ink)
    yield ""
    yield "# A row: the tone value of each ink, X, Y, Z, and how often it was read."
    yield from _table("[mixes]", said["mixes"])
    for one in said["left_out"]:
        yield from _table("[[left_out]]", one)


def _table(head: str, said: dict[str, Any]) -> Iterator[str]:
    yield ""
    yield head
    for name, value in said.items():
        if value is not None:
            yield f"{name} = {_toml(value)}"


def _toml(value: Any) -> str:
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, list):
        if value and isinstance(value[0], list | str):
            return "[\n" + "".join(f"  {_toml(one)},\n" for one in value) + "]"
        return "[" + ", ".join(_toml(one) for one in value) + "]"
    return repr(value)


def _text(value: str) -> str:
    """A basic string of TOML 1.0."""
    escaped = value.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c.isprintable() else f"\\U{ord(c):08x}" for c in escaped) + '"'
