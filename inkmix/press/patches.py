"""Measured mixtures of two or more inks: what charts, proofs and eyes say beyond single inks."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray, read_only
from inkmix.base.errors import Fault, ModelError
from inkmix.base.quoting import quoted
from inkmix.press.constants import MODEL
from inkmix.press.solids.overprint import inks_in_rows

MAX_PATCHES = 5_000
"""The largest published charts have 4,500; the memory to learn from them grows by the square."""

MAX_XYZ = 250.0  # of the brightest day-glow solids

AVERAGED, SINGLE_SHEET, ONE_READING = "averaged", "single sheet", "one reading"
UNEVEN_SHEETS = "uneven sheets"
WET, BY_EYE, PHOTOGRAPH = "wet", "by eye", "photograph"
"""How mixtures were read: as a chart over many sheets, of one, or of such as are not alike; or one
by one with an instrument, on ink that is still to dry, by comparison, by a camera."""

CHART = (AVERAGED, SINGLE_SHEET, UNEVEN_SHEETS)
"""Readings by which solids count exactly: whoever reads a chart reads the single solids with it."""
BY_INSTRUMENT = (*CHART, ONE_READING)
SURE = (*BY_INSTRUMENT, PHOTOGRAPH)
"""Readings that make a prediction surer; the others only move it. What was photographed is no surer
than it was before, whatever these tell (`Ink.told`)."""

_SHAPE = "a tone value of 0 to 100 % for each ink"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Patches:
    """Patches printed with the inks of a press condition, on its paper.

    Parameters
    ----------
    tone_pct : (P, I) array
        Tone values 0-100 % in lay-down order.
    xyz100 : (P, 3) array
        Absolute colours.
    noise : str or sequence (P,) of str
        How each was read: one of MODEL.kriging.noise_sd.
    before : bool or (P,) array of bool
        Which were read on the inks as they were told before a camera saw them. They say how sure
        these were, and nothing of what is printed now.
    """

    tone_pct: FloatArray
    xyz100: FloatArray
    noise: str | Sequence[str] = AVERAGED
    before: bool | BoolArray = False

    def __post_init__(self) -> None:
        for name in ("tone_pct", "xyz100"):
            object.__setattr__(self, name, read_only(getattr(self, name)))
        before = np.broadcast_to(np.asarray(self.before, np.bool_), self.tone_pct.shape[:1])
        object.__setattr__(self, "before", before)
        if not isinstance(self.noise, str):
            object.__setattr__(self, "noise", tuple(self.noise))
        faults = _faults(self)
        if faults:
            raise ModelError(faults)

    @property
    def noises(self) -> tuple[str, ...]:
        """How each (P,) was read."""
        if isinstance(self.noise, str):
            return (self.noise,) * len(self.tone_pct)
        return tuple(self.noise)

    def read_by(self, *noises: str) -> "Patches | None":
        """Those that were read in one of some ways; None where none was."""
        return self._some(np.array([one in noises for one in self.noises], dtype=np.bool_))

    @property
    def of_now(self) -> "Patches | None":
        """Those that were read on the inks as they are; None where none was."""
        return self._some(~np.asarray(self.before))

    @property
    def of_before(self) -> "Patches | None":
        """Those that say how sure inks were before a camera saw them; None where none was read."""
        was = self._some(np.asarray([noise != PHOTOGRAPH for noise in self.noises], np.bool_))
        return None if was is None else replace(was, before=False)

    def _some(self, some: BoolArray) -> "Patches | None":
        if some.all():
            return self
        return self.only(some) if some.any() else None

    def only(self, some: BoolArray) -> "Patches":
        """Some (P,) of them."""
        noise = tuple(np.array(self.noises, dtype=object)[some])
        return replace(
            self,
            tone_pct=self.tone_pct[some],
            xyz100=self.xyz100[some],
            noise=noise,
            before=np.asarray(self.before)[some],
        )

    def with_more(self, others: "Patches") -> "Patches":
        """These and others."""
        return Patches(
            tone_pct=np.concatenate([self.tone_pct, others.tone_pct]),
            xyz100=np.concatenate([self.xyz100, others.xyz100]),
            noise=(*self.noises, *others.noises),
            before=np.concatenate([np.asarray(self.before), np.asarray(others.before)]),
        )


def _faults(patches: Patches) -> list[Fault]:
    """What is wrong with measured patches."""
    where, faults = "measured patches", []
    tones = patches.tone_pct
    count = len(tones) if tones.ndim == 2 else 0
    if tones.ndim != 2 or not ((tones >= 0) & (tones <= 100)).all():
        faults.append(Fault(where=where, found="other tone values", expected=_SHAPE))
    if count > MAX_PATCHES:
        found, do = f"{count:,} mixtures", "leave out those of least use"
        faults.append(
            Fault(where=where, found=found, expected=f"{MAX_PATCHES:,} are the most", do=do)
        )
    faults += _colour_faults(patches.xyz100, count, where)
    noises = set(patches.noises) | ({patches.noise} if isinstance(patches.noise, str) else set())
    for noise in sorted(noises - MODEL.kriging.noise_sd.keys()):
        choices = ", ".join(MODEL.kriging.noise_sd)
        faults.append(Fault(where=where, found=f"noise {quoted(noise)}", expected=choices))
    if len(patches.noises) != count:
        found = f"{len(patches.noises)} ways of reading"
        faults.append(Fault(where=where, found=found, expected=f"one each of {count} mixtures"))
    return faults


def _colour_faults(xyz100: FloatArray, count: int, where: str) -> list[Fault]:
    """What is wrong with the colours of so many patches; the first that is wrong is named."""
    if xyz100.shape != (count, 3):
        found = f"XYZ of shape {xyz100.shape}"
        return [Fault(where=where, found=found, expected=f"shape {(count, 3)}")]
    wrong = np.flatnonzero(~((xyz100 >= 0) & (xyz100 <= MAX_XYZ)).all(axis=1))
    if not len(wrong):
        return []
    found = f"mixture {wrong[0] + 1} has XYZ " + ", ".join(f"{v:g}" for v in xyz100[wrong[0]])
    expected = f"X, Y and Z lie from 0 to {MAX_XYZ:g}"
    return [Fault(where=where, found=found, expected=expected, do="check the reading")]


def merge_repeats(patches: Patches) -> tuple[Patches, FloatArray]:
    """Mixtures of two or more inks, each once (mean of repeats), and how often each was read.

    What was read in another way stays by itself.
    """
    mixed = patches.only((patches.tone_pct > 0).sum(axis=1) >= 2)
    names = sorted(set(mixed.noises))
    way = np.array([names.index(one) for one in mixed.noises], dtype=np.float64)
    rows, index, counts = np.unique(
        np.column_stack([mixed.tone_pct, way]), axis=0, return_inverse=True, return_counts=True
    )
    share = np.zeros((len(rows), len(way)))
    share[index.reshape(-1), np.arange(share.shape[1])] = 1
    share /= counts[:, None]
    merged = Patches(
        tone_pct=rows[:, :-1],
        xyz100=share @ mixed.xyz100,
        noise=tuple(names[int(one)] for one in rows[:, -1]),
    )
    return merged, counts.astype(np.float64)


def solid_row(tone_pct: FloatArray) -> tuple[BoolArray, FloatArray]:
    """Which patches (P,) are solid overprints, and their row among the primaries."""
    full = tone_pct == 100
    solid = np.all(full | (tone_pct == 0), axis=1)
    return np.asarray(solid, dtype=np.bool_), full @ (2.0 ** np.arange(full.shape[1]))


def tints_read(patches: Patches | None, inks: BoolArray) -> int:
    """How many mixes of some inks (I,) with others, but for solids, an instrument read, each once.

    A solid tells of one overprint, a tint of several and of spreading.
    """
    read = None if patches is None else patches.read_by(*BY_INSTRUMENT)
    if read is None:
        return 0
    tones = read.tone_pct
    counted = (tones[:, inks] > 0).any(axis=1) & ((tones > 0).sum(axis=1) >= 2)
    return len(np.unique(tones[counted & ~solid_row(tones)[0]], axis=0))


def inks_with_all_overprints(patches: Patches | None, inks: int) -> BoolArray:
    """Inks (I,) all of whose solid overprints are among the patches."""
    rows = inks_in_rows(inks)
    told = rows.sum(axis=1) < 2
    chart = None if patches is None else patches.read_by(*CHART)
    if chart is not None:
        solid, row = solid_row(chart.tone_pct)
        told[row[solid].astype(int)] = True
    return np.array([bool(told[rows[:, i] == 1].all()) for i in range(inks)])
