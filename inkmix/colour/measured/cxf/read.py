"""CxF3 documents (ISO 17972) made into measured tables.

Of several measurement modes one is read; of kinds of readings those that every patch has. What a
document holds object by object is settled in patches.py.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from inkmix.base.errors import Fault, MeasurementError
from inkmix.base.quoting import clipped, harmless, listed, quoted
from inkmix.colour.measured.columns import MAX_PLATES, Meaning
from inkmix.colour.measured.cxf.elements import Element, read_elements
from inkmix.colour.measured.cxf.patches import (
    BLACK,
    Patch,
    Reading,
    Spectrum,
    patches_of,
    specifications_of,
)
from inkmix.colour.measured.cxf.spelling import HEADER, KEYWORD_TAG
from inkmix.colour.measured.grid import Grid
from inkmix.colour.measured.sections import MAX_ROWS, many_rows, name_faults
from inkmix.colour.measured.table import MeasurementTable
from inkmix.colour.measured.tabled import table_of_grid

_MODES = ("M1", "M0", "M2", "M3")
"""Which is read first: ISO 12647 and the press conditions of today are stated in M1."""

_AXES = {"xyz": "XYZ", "lab": "LAB"}


def parse_cxf(data: bytes, *, where: str) -> MeasurementTable:
    """The measured table that a CxF3 document holds.

    Parameters and errors are those of `parse_cgats`; places are told by line and object.
    """
    root = read_elements(data, where=where)
    if root.name != "CxF":
        raise MeasurementError(_no_cxf(root, where))
    specifications = specifications_of(root)
    patches = patches_of(root, where=where)
    if not patches:
        raise MeasurementError(_no_readings(where))
    if len(patches) > MAX_ROWS:
        raise MeasurementError(many_rows(where))
    patches, notes = _in_one_mode(patches, specifications)
    kinds, more = _common_kinds(patches, where)
    keywords = dict(_keywords(root, patches, kinds, specifications))
    return table_of_grid(_grid(patches, kinds, where), keywords, [*notes, *more])


# --- one mode ------------------------------------------------------------------------------------


def _mode(specification: Element | None) -> str:
    """M0 to M3, as the device's illumination, filter or polariser says it; else empty."""
    device = specification.first("MeasurementSpec", "Device") if specification else None
    if device is None:
        return ""
    told = device.said("DeviceIllumination")[:2]
    if told in _MODES:
        return told
    if device.said("DevicePolarization").casefold() in ("true", "1"):
        return "M3"
    return "M2" if device.said("DeviceFilter") == "Filter_UVExcluded" else ""


def _in_one_mode(
    patches: list[Patch], specifications: dict[str, Element]
) -> tuple[list[Patch], list[str]]:
    """Patches with the readings of one mode only, and a note if there are others."""
    modes = {key: _mode(told) for key, told in specifications.items()}
    held = {modes.get(read.specification, "") for patch in patches for read in patch.readings}
    found = [mode for mode in _MODES if mode in held]
    if len(found) < 2:
        return patches, []
    others = {key for key, mode in modes.items() if mode and mode != found[0]}
    kept = [
        replace(patch, readings=tuple(r for r in patch.readings if r.specification not in others))
        for patch in patches
    ]
    note = f"the file holds readings in {listed(sorted(found))}; those in {found[0]} are read"
    return [patch for patch in kept if patch.readings], [note]


# --- common readings -----------------------------------------------------------------------------


def _first(patch: Patch, kind: str, key: str | None = None) -> Reading | None:
    found = (r for r in patch.readings if r.kind == kind and (key is None or r.key == key))
    return next(found, None)


def _common_kinds(patches: Sequence[Patch], where: str) -> tuple[list[tuple[str, str]], list[str]]:
    """Kinds of readings that all patches have, as (kind, filter), and a note on the others.

    Raises
    ------
    MeasurementError
        There is none.
    """
    found = dict.fromkeys(
        (read.kind, read.key if read.kind == "density" else "")
        for patch in patches
        for read in patch.readings
    )
    lacking = {
        kind: next((p for p in patches if _first(p, kind[0], kind[1] or None) is None), None)
        for kind in found
    }
    common = [kind for kind, patch in lacking.items() if patch is None]
    partly = [
        f"{kind} {key}".strip() for (kind, key), patch in lacking.items() if patch is not None
    ]
    if common:
        notes = [f"not every patch has them, so they are not used: {listed(partly)}"]
        return common, notes if partly else []
    patch = next(patch for patch in lacking.values() if patch is not None)
    raise MeasurementError(
        Fault(
            where=_place(where, patch),
            found=f"no {clipped(partly[0])}",
            expected="every patch needs the same kind of reading, and others have it",
        )
    )


# --- the grid ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Objects:
    """Rows that were objects."""

    where: str
    fields: tuple[str, ...]
    patches: Sequence[Patch]

    def __len__(self) -> int:
        return len(self.patches)

    def texts(self, column: int) -> tuple[str, ...]:
        """Names or places."""
        key = "place" if self.fields[column] == "SAMPLE_LOC" else "name"
        return tuple(getattr(patch, key) for patch in self.patches)

    def places(self, row: int, columns: Sequence[int]) -> list[str]:
        """Line, object and what of it."""
        place = _place(self.where, self.patches[row])
        return [f"{place} ({clipped(self.fields[at])})" for at in columns]


def _place(where: str, patch: Patch) -> str:
    return f"{where}, line {patch.line}, object {quoted(patch.name)}"


def _grid(patches: Sequence[Patch], kinds: Iterable[tuple[str, str]], where: str) -> Grid:
    """All columns: labels, tone values, readings."""
    columns: list[tuple[str, Meaning]] = [("SAMPLE_NAME", Meaning("label", "name"))]
    blocks = [np.full((len(patches), 1), np.nan)]
    if any(patch.place for patch in patches):
        columns.append(("SAMPLE_LOC", Meaning("label", "place")))
        blocks.append(blocks[0])
    inks = _inks(patches, where)
    columns += [(ink, Meaning("tone", ink)) for ink in inks]
    tones = [[patch.tones.get(ink, 0.0) for ink in inks] for patch in patches]
    blocks.append(np.array(tones, dtype=float).reshape(len(patches), len(inks)))
    for kind, key in kinds:
        read = [_first(patch, kind, key or None) for patch in patches]
        values = [one.values for one in read if one is not None]
        columns += _columns(kind, key, patches, values, where)
        rows = [v.values if isinstance(v, Spectrum) else v for v in values]
        blocks.append(np.array(rows, dtype=float))
    names = tuple(name for name, _ in columns)
    return Grid(
        where=where,
        fields=names,
        meanings=dict(enumerate(meaning for _, meaning in columns)),
        values=np.concatenate(blocks, axis=1),
        rows=_Objects(where, names, patches),
    )


def _columns(
    kind: str,
    key: str,
    patches: Sequence[Patch],
    values: Sequence[tuple[float, ...] | Spectrum],
    where: str,
) -> list[tuple[str, Meaning]]:
    """Names and meanings of the columns of one kind of reading."""
    if kind == "density":
        return [(f"density {key}", Meaning(kind, key))]
    if kind in _AXES:
        return [(f"{_AXES[kind]}_{axis}", Meaning(kind, axis)) for axis in _AXES[kind]]
    spectra = [value for value in values if isinstance(value, Spectrum)]
    first, step, held = spectra[0]
    for patch, one in zip(patches, spectra, strict=True):
        if (one.first_nm, one.step_nm, len(one.values)) != (first, step, len(held)):
            found = f"{len(one.values)} values from {one.first_nm:g} nm by {one.step_nm:g}"
            expected = f"other spectra have {len(held)} from {first:g} nm by {step:g}"
            raise MeasurementError(
                Fault(where=_place(where, patch), found=found, expected=expected)
            )
    nms = [f"{first + step * at:g}" for at in range(len(held))]
    return [(f"{nm} nm", Meaning("spectral", nm)) for nm in nms]


def _inks(patches: Sequence[Patch], where: str) -> list[str]:
    """Names of inks in the order of the document, the black under spot inks last.

    Raises
    ------
    MeasurementError
        Some patches tell no tone values while others do, or the names are none.
    """
    names = list(dict.fromkeys(ink for patch in patches for ink in patch.tones))
    silent = next((patch for patch in patches if not patch.has_tones), None)
    faults = name_faults(names, where)
    if names and silent is not None:
        expected = "other objects say what was printed in them"
        faults.append(Fault(where=_place(where, silent), found="no tone values", expected=expected))
    if len(names) > MAX_PLATES:
        found = f"tone values of {len(names)} inks"
        faults.append(Fault(where=where, found=found, expected=f"{MAX_PLATES} is the most"))
    if any(not name.strip() for name in names):
        faults.append(Fault(where=where, found="a spot ink without a name"))
    if faults:
        raise MeasurementError(faults)
    return names


# --- the header ----------------------------------------------------------------------------------


def _keywords(
    root: Element,
    patches: Sequence[Patch],
    kinds: Sequence[tuple[str, str]],
    specifications: dict[str, Element],
) -> Iterator[tuple[str, str]]:
    """What the document says of itself and of how it was measured, by the keywords of CGATS."""
    for tag in root.all("FileInformation", "Tag"):
        keyword, value = (tag.attributes.get(key, "") for key in ("Name", "Value"))
        if value and re.fullmatch(KEYWORD_TAG, keyword):
            yield keyword, harmless(value)
    for keyword, name in HEADER.items():
        if said := root.said("FileInformation", name):
            yield keyword, harmless(said)
    if any(patch.over_black for patch in patches):
        yield "BLACK", BLACK
        spots = dict.fromkeys(ink for patch in patches for ink in patch.tones if ink != BLACK)
        yield "LAY_DOWN_ORDER", "; ".join((BLACK, *spots))  # the black lay there before
    yield "SPECTRAL_NORM", "1"  # the schema has reflectance of 0 to 1
    used = {
        kind: dict.fromkeys(r.specification for p in patches for r in p.readings if r.kind == kind)
        for kind, _ in kinds
    }
    told = [specifications[key] for keys in used.values() for key in keys if key in specifications]
    computed = [
        specifications[key]
        for kind in ("xyz", "lab")
        for key in used.get(kind, ())
        if key in specifications
    ]
    words = {
        "MEASUREMENT_MODE": map(_mode, told),
        "SAMPLE_BACKING": (one.said("MeasurementSpec", "Backing") for one in told),
        "INSTRUMENTATION": (one.said("MeasurementSpec", "Device", "Model") for one in told),
        "ILLUMINANT": (one.said("TristimulusSpec", "Illuminant") for one in computed),
        "OBSERVER": (one.said("TristimulusSpec", "Observer").partition("_")[0] for one in computed),
        "DENSITY_STATUS": (status for status in used.get("density", ()) if len(status) == 1),
    }
    for keyword, values in words.items():
        if held := [harmless(value) for value in dict.fromkeys(values) if value]:
            yield keyword, "; ".join(held)


def _no_cxf(root: Element, where: str) -> Fault:
    return Fault(
        where=where,
        found=f"XML that begins with {quoted(root.name)}",
        expected="CxF3 (ISO 17972) begins with CxF",
        do="export the measurements as CxF3, CGATS text or CSV",
    )


def _no_readings(where: str) -> Fault:
    return Fault(
        where=where,
        found="no object with a reflectance spectrum, XYZ, Lab or densities",
        expected="the objects of a CxF3 document hold the readings",
        do="export the chart together with its readings",
    )
