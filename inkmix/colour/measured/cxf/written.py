"""A measured table as a CxF3 document (ISO 17972-1; names of its core schema, from memory).

Tone values stand in tags of each object, by the column names of ISO 28178: the schema's own device
values know no ink but by a library of their maker. Reading gives the same values again.
"""

import re
from collections.abc import Iterator, Mapping
from xml.etree import ElementTree as ET

from inkmix.base.arrays import FloatArray
from inkmix.base.quoting import harmless
from inkmix.colour.measured.cxf.spelling import (
    CORE,
    FILTERS,
    HEADER,
    ILLUMINATIONS,
    KEYWORD_TAG,
)
from inkmix.colour.measured.table import MeasurementTable
from inkmix.colour.measured.written_columns import decimal, keywords_of, plate_columns
from inkmix.colour.observer import WAVELENGTHS_NM

_SPECIFICATION = "CS"
_TOLD_ELSEWHERE = frozenset({*HEADER, "SPECTRAL_NORM", "MEASUREMENT_MODE", "DENSITY_STATUS"})


def cxf_text(table: MeasurementTable) -> str:
    """The table as a CxF3 document."""
    words = keywords_of(table)
    root = ET.Element("CxF", {"xmlns": CORE})
    header = ET.SubElement(root, "FileInformation")
    for keyword, name in HEADER.items():
        if words.get(keyword):
            _add(header, name, words[keyword])
    for keyword, value in words.items():
        if keyword not in _TOLD_ELSEWHERE and re.fullmatch(KEYWORD_TAG, keyword):
            _add(header, "Tag", Name=keyword, Value=value)
    resources = ET.SubElement(root, "Resources")
    objects = ET.SubElement(resources, "ObjectCollection")
    for row in range(len(table)):
        objects.append(_object(table, row))
    specifications = ET.SubElement(resources, "ColorSpecificationCollection")
    specifications.append(_specification(words, table))
    ET.indent(root)
    declared = '<?xml version="1.0" encoding="UTF-8"?>\n'
    return f"{declared}{ET.tostring(root, encoding='unicode')}\n"


def _object(table: MeasurementTable, row: int) -> ET.Element:
    one = ET.Element(
        "Object", ObjectType="Target", Name=harmless(table.sample_names[row]), Id=f"c{row + 1}"
    )
    values = ET.SubElement(one, "ColorValues")
    if table.reflectance is not None:
        spectrum = " ".join(map(decimal, table.reflectance[row].tolist()))
        _add(values, "ReflectanceSpectrum", spectrum, ColorSpecification=_SPECIFICATION)
    for name, axes, colours in (
        ("ColorCIEXYZ", "XYZ", table.xyz100),
        ("ColorCIELab", "LAB", table.lab),
    ):
        if colours is not None:
            colour = _add(values, name, ColorSpecification=_SPECIFICATION)
            for axis, value in zip(axes, colours[row].tolist(), strict=True):
                _add(colour, axis, decimal(value))
    if table.density is not None:
        for density in _densities(table, table.density[row]):
            values.append(density)
    tones = _add(one, "TagCollection", Name="Tone values")
    for name, value in zip(plate_columns(table.plates), table.tone_pct[row].tolist(), strict=True):
        _add(tones, "Tag", Name=name, Value=decimal(value))
    if table.places:
        place = _add(one, "TagCollection", Name="Location")
        first, _, rest = harmless(table.places[row]).partition(" ")
        _add(place, "Tag", Name=first, Value=rest)
    return one


def _densities(table: MeasurementTable, row: FloatArray) -> Iterator[ET.Element]:
    for channel, value in zip(table.density_channels, row.tolist(), strict=True):
        one = ET.Element("ColorDensity", ColorSpecification=_SPECIFICATION)
        _add(one, "Density", decimal(value))
        _add(one, "Status", table.density_status)
        _add(one, "Filter", FILTERS[channel])
        yield one


def _specification(words: Mapping[str, str], table: MeasurementTable) -> ET.Element:
    """How readings were taken, as far as the table knows."""
    told = table.conditions
    one = ET.Element("ColorSpecification", Id=_SPECIFICATION)
    if told.illuminant or told.observer:
        colours = ET.SubElement(one, "TristimulusSpec")
        _add(colours, "Illuminant", told.illuminant)
        _add(colours, "Observer", f"{told.observer}_Degree" if told.observer else "")
    readings = ET.SubElement(one, "MeasurementSpec")
    if table.reflectance is not None:
        _add(readings, "MeasurementType", "Spectrum_Reflectance")
        first, second = WAVELENGTHS_NM[:2]
        _add(readings, "WavelengthRange", StartWL=f"{first:.0f}", Increment=f"{second - first:.0f}")
    if words.get("SAMPLE_BACKING"):
        _add(readings, "Backing", words["SAMPLE_BACKING"])
    if told.mode:
        device = ET.SubElement(readings, "Device")
        _add(device, "DeviceIllumination", ILLUMINATIONS[told.mode])
    return one


def _add(parent: ET.Element, name: str, text: str = "", **attributes: str) -> ET.Element:
    clean = {key: harmless(value) for key, value in attributes.items()}
    one = ET.SubElement(parent, name, clean)
    one.text = harmless(text) or None
    return one
