"""Objects of a CxF3 document as patches: what was printed there, and every reading of it.

Element and attribute names are those of the CxF3 core schema (ISO 17972-1) and, for spot inks, of
CxF/X-4 (ISO 17972-4; from memory, and from files that programs write).
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from inkmix.base.errors import Fault, MeasurementError
from inkmix.base.quoting import clipped, harmless, quoted
from inkmix.colour.measured.columns import column_meaning
from inkmix.colour.measured.cxf.elements import Element

MAX_WAVELENGTHS = 1_000
BLACK = "K"  # the plate under a spot ink that was measured over black

_PROCESS = {"Cyan": "C", "Magenta": "M", "Yellow": "Y", "Black": "K"}
_FILTERS = {  # a filter goes by its own colour or by that of the ink it is for
    "Red": "red",
    "Green": "green",
    "Blue": "blue",
    "Visual": "visual",
    "Cyan": "red",
    "Magenta": "green",
    "Yellow": "blue",
    "Black": "visual",
}


class Spectrum(NamedTuple):
    """Reflectance, 0-1, from a first wavelength on."""

    first_nm: float
    step_nm: float
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One reading: its kind ("spectral", "xyz", "lab", "density"), and how it was taken."""

    kind: str
    key: str  # which filter; of spectra their name
    values: tuple[float, ...] | Spectrum
    specification: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch:
    """One object."""

    name: str
    line: int
    id: str = ""
    place: str = ""
    tones: Mapping[str, float] = field(default_factory=dict)
    has_tones: bool = False
    over_black: bool = False
    readings: tuple[Reading, ...] = ()


def patches_of(root: Element, *, where: str) -> list[Patch]:
    """The patches with readings; those of spot inks, if the document characterises any.

    Raises
    ------
    MeasurementError
        A number is none, a spectrum does not say its wavelengths, a reference leads nowhere.
    """
    specifications = specifications_of(root)
    objects = root.all("Resources", "ObjectCollection", "Object")
    patches = [_patch(one, specifications, where) for one in objects]
    spots = list(root.within("SpotInkCharacterisation"))
    if spots:
        by_id = {patch.id: patch for patch in patches}
        return [patch for spot in spots for patch in _tints(spot, by_id, where)]
    return list(_told_elsewhere(patches, where))


def specifications_of(root: Element) -> dict[str, Element]:
    """How colours were taken, by the name that readings refer to."""
    path = ("Resources", "ColorSpecificationCollection", "ColorSpecification")
    return {one.attributes.get("Id", ""): one for one in root.all(*path)}


def _patch(one: Element, specifications: Mapping[str, Element], where: str) -> Patch:
    tones = dict(_tones(one, where))
    name = one.attributes.get("Name", "") or one.attributes.get("Id", "")
    values = one.first("ColorValues")
    return Patch(
        name=harmless(name),
        line=one.line,
        id=one.attributes.get("Id", ""),
        place=_place(one),
        tones=tones,
        has_tones=bool(tones),
        readings=() if values is None else tuple(_readings(values, specifications, where)),
    )


def _tones(one: Element, where: str) -> Iterator[tuple[str, float]]:
    """Tone values of an object, %: of process inks, of spot inks by name, or in tags."""
    for kind in ("ColorCMYK", "ColorCMYKPlusN", "ColorCustom"):
        for told in one.all("DeviceColorValues", kind):
            for part in told.children:
                if part.name in _PROCESS:
                    yield _PROCESS[part.name], _number(part.text, part, where)
                elif part.name == "SpotColor":
                    name = harmless(part.said("Name"))
                    yield name, _number(part.said("Percentage"), part, where)
    for tag in one.all("TagCollection", "Tag"):
        meaning = column_meaning(tag.attributes.get("Name", ""))
        if meaning and meaning.kind == "tone":
            yield meaning.key, _number(tag.attributes.get("Value", ""), tag, where)


def _place(one: Element) -> str:
    """Where the patch sits, as the tags of its location say it."""
    tags = [
        f"{tag.attributes.get('Name', '')} {tag.attributes.get('Value', '')}".strip()
        for group in one.all("TagCollection")
        if group.attributes.get("Name", "").casefold() == "location"
        for tag in group.all("Tag")
    ]
    return harmless(", ".join(tags))


# --- readings ------------------------------------------------------------------------------------


def _readings(
    values: Element, specifications: Mapping[str, Element], where: str
) -> Iterator[Reading]:
    for one in values.children:
        told = one.attributes.get("ColorSpecification", "")
        if one.name == "ReflectanceSpectrum":
            read = _spectrum(one, specifications.get(told), where)
            name = one.attributes.get("Name", "")
            yield Reading(kind="spectral", key=name, values=read, specification=told)
        elif one.name in ("ColorCIELab", "ColorCIEXYZ"):
            kind, axes = ("lab", "LAB") if one.name == "ColorCIELab" else ("xyz", "XYZ")
            numbers = tuple(_number(one.said(axis), one, where) for axis in axes)
            yield Reading(kind=kind, key="", values=numbers, specification=told)
        elif one.name == "ColorDensity" and one.said("Filter") in _FILTERS:
            density = _number(one.said("Density"), one, where)
            channel = _FILTERS[one.said("Filter")]
            told = one.said("Status") or told
            yield Reading(kind="density", key=channel, values=(density,), specification=told)


def _spectrum(one: Element, specification: Element | None, where: str) -> Spectrum:
    """The values, and the wavelengths that they or their specification tell."""
    words = one.text.split()
    if not 0 < len(words) <= MAX_WAVELENGTHS:
        raise _error(one, where, f"a spectrum of {len(words):,} values", "some 30 to 400 are usual")
    told = specification.first("MeasurementSpec", "WavelengthRange") if specification else None
    first, step = (
        one.attributes.get(key) or (told.attributes.get(key, "") if told else "")
        for key in ("StartWL", "Increment")
    )
    if not first or not step:
        raise _error(
            one,
            where,
            "a spectrum whose wavelengths are not told",
            "StartWL and Increment stand in its ColorSpecification",
        )
    values = tuple(_number(word, one, where) for word in words)
    first_nm, step_nm = _number(first, one, where), _number(step, one, where)
    if step_nm <= 0:
        raise _error(one, where, f"an Increment of {step_nm:g} nm", "wavelengths rise")
    return Spectrum(first_nm, step_nm, values)


def _number(text: str, element: Element, where: str) -> float:
    """A finite decimal number."""
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if math.isfinite(value) and "_" not in text:
        return value
    raise _error(element, where, quoted(text.strip()), "a finite number is needed here")


def _error(element: Element, where: str, found: str, expected: str) -> MeasurementError:
    place = f"{where}, line {element.line} ({clipped(element.name)})"
    return MeasurementError(Fault(where=place, found=found, expected=expected))


# --- what was printed, told beside the reading ---------------------------------------------------


def _told_elsewhere(patches: list[Patch], where: str) -> Iterator[Patch]:
    """Patches with readings; tone values that stand in a target's object are taken from there.

    Objects belong together by their place on the sheet, or where none is told, by their name.
    """
    targets: dict[str, Patch] = {}
    doubted: set[str] = set()
    for patch in patches:
        if patch.has_tones and not patch.readings:
            key = patch.place or patch.name
            if key in targets and targets[key].tones != patch.tones:
                doubted.add(key)
            targets[key] = patch
    for patch in patches:
        key = patch.place or patch.name
        if not patch.readings:
            continue
        if patch.has_tones or key not in targets:
            yield patch
        elif key in doubted:
            place = f"{where}, line {patch.line}, object {quoted(patch.name)}"
            found = f"two targets of other tone values are called {quoted(key)}"
            raise MeasurementError(
                Fault(where=place, found=found, do="give each a name of its own")
            )
        else:
            yield replace(patch, tones=targets[key].tones, has_tones=True)


def _tints(spot: Element, by_id: Mapping[str, Patch], where: str) -> Iterator[Patch]:
    """The tints of one spot ink on the substrate and over black, after ISO 17972-4."""
    ink = harmless(spot.attributes.get("SpotInkName", "").strip())
    if not ink:
        raise _error(spot, where, "no SpotInkName", "it names the ink")
    for group in spot.all("MeasurementSet"):
        ground = group.attributes.get("Background", "")
        under = {"substrate": 0.0, "black": 100.0}.get(ground.casefold().rpartition("_")[2])
        if under is None:
            raise _error(
                group, where, f"Background {quoted(ground)}", "Substrate and Black are read"
            )
        for one in group.all("Measurement"):
            patch = by_id.get(one.attributes.get("ObjectRef", ""))
            if patch is None or not patch.readings:
                found = f"ObjectRef {quoted(one.attributes.get('ObjectRef', ''))}"
                raise _error(one, where, found, "no object of that Id has readings")
            tint = _number(one.attributes.get("TintLevel", ""), one, where)
            tones = {ink: tint, **({BLACK: under} if under else {})}
            told = one.attributes.get("ReflectanceSpectrumNameRef", "")
            named = tuple(r for r in patch.readings if r.kind == "spectral" and r.key == told)
            yield replace(
                patch,
                name=f"{ink} {tint:g}{' over black' if under else ''}",
                tones=tones,
                has_tones=True,
                over_black=under > 0,
                readings=named or patch.readings,
            )
