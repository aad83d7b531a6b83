"""CxF3 documents for tests, written by the standard library's tree of elements.

Names are those of the CxF3 core schema; nothing of the reader is used here.
"""

from collections.abc import Mapping, Sequence
from xml.etree import ElementTree as ET

CORE = "http://colorexchangeformat.com/CxF3-core"
SPOT = "http://colorexchangeformat.com/CxF3-SpotInkCharacterisation"
CMYK = {"C": "Cyan", "M": "Magenta", "Y": "Yellow", "K": "Black"}
MODES = {"M0": "M0_Incandescent", "M1": "M1_Daylight", "M2": "M2_UVExcluded", "M3": "M3_Polarized"}
ET.register_namespace("cc", CORE)
ET.register_namespace("sic", SPOT)


def _add(parent: ET.Element, name: str, text: str = "", **attributes: str) -> ET.Element:
    element = ET.SubElement(parent, f"{{{CORE}}}{name}", attributes)
    element.text = text or None
    return element


class Document:
    """A document that grows by objects."""

    def __init__(self, creator: str = "") -> None:
        self.root = ET.Element(f"{{{CORE}}}CxF")
        header = _add(self.root, "FileInformation")
        if creator:
            _add(header, "Creator", creator)
        resources = _add(self.root, "Resources")
        self.objects = _add(resources, "ObjectCollection")
        self.specifications = _add(resources, "ColorSpecificationCollection")

    def specification(
        self,
        name: str,
        *,
        mode: str = "",
        backing: str = "",
        light: str = "D50",
        observer: str = "2_Degree",
        first_nm: int = 380,
        step_nm: int = 10,
    ) -> None:
        """How readings were taken."""
        one = _add(self.specifications, "ColorSpecification", Id=name)
        colours = _add(one, "TristimulusSpec")
        _add(colours, "Illuminant", light)
        _add(colours, "Observer", observer)
        readings = _add(one, "MeasurementSpec")
        _add(readings, "MeasurementType", "Spectrum_Reflectance")
        _add(readings, "WavelengthRange", StartWL=str(first_nm), Increment=str(step_nm))
        if backing:
            _add(readings, "Backing", backing)
        if mode:
            _add(_add(readings, "Device"), "DeviceIllumination", MODES[mode])

    def patch(
        self,
        name: str,
        *,
        tones: Mapping[str, float] | None = None,
        spectra: Mapping[str, Sequence[float]] | None = None,
        lab: Sequence[float] | None = None,
        xyz100: Sequence[float] | None = None,
        densities: Mapping[str, float] | None = None,
        place: str = "",
        specification: str = "CS",
        id: str = "",
    ) -> ET.Element:
        """One object; spectra by the names of their specifications."""
        one = _add(self.objects, "Object", ObjectType="Target", Name=name, Id=id or name)
        values = _add(one, "ColorValues")
        for told, spectrum in (spectra or {}).items():
            words = " ".join(map(repr, spectrum))
            _add(values, "ReflectanceSpectrum", words, ColorSpecification=told, Name=told)
        for kind, axes, numbers in (("ColorCIEXYZ", "XYZ", xyz100), ("ColorCIELab", "LAB", lab)):
            if numbers is not None:
                colour = _add(values, kind, ColorSpecification=specification)
                for axis, number in zip(axes, numbers, strict=True):
                    _add(colour, axis, repr(number))
        for channel, number in (densities or {}).items():
            density = _add(values, "ColorDensity", ColorSpecification=specification)
            _add(density, "Density", repr(number))
            _add(density, "Status", "T")
            _add(density, "Filter", channel)
        if not len(values):
            one.remove(values)
        if tones is not None:
            _tones(_add(one, "DeviceColorValues"), tones, specification)
        if place:
            tags = _add(one, "TagCollection", Name="Location")
            _add(tags, "Tag", Name="Row", Value=place)
        return one

    def spot_ink(self, name: str, sets: Mapping[str, Mapping[float, str]]) -> None:
        """Tints of a spot ink over each background, by the objects that were measured."""
        custom = self.root.find(f"{{{CORE}}}CustomResources")
        if custom is None:
            custom = _add(self.root, "CustomResources")
        ink = ET.SubElement(custom, f"{{{SPOT}}}SpotInkCharacterisation", SpotInkName=name)
        for ground, tints in sets.items():
            group = ET.SubElement(ink, f"{{{SPOT}}}MeasurementSet", Background=ground)
            for tint, ref in tints.items():
                told = {"TintLevel": f"{tint:g}", "ObjectRef": ref}
                ET.SubElement(group, f"{{{SPOT}}}Measurement", told)

    def data(self, encoding: str = "utf-8") -> bytes:
        """The document as a file."""
        return ET.tostring(self.root, encoding=encoding, xml_declaration=True)


def _tones(device: ET.Element, tones: Mapping[str, float], specification: str) -> None:
    """Process inks first, as the schema has it; without them all inks are spot inks."""
    process = [ink for ink in CMYK if ink in tones]
    kind = "ColorCMYKPlusN" if process else "ColorCustom"
    colour = _add(device, kind, ColorSpecification=specification)
    for ink in process:
        _add(colour, CMYK[ink], repr(tones[ink]))
    for ink, tone in tones.items():
        if ink not in process:
            spot = _add(colour, "SpotColor")
            _add(spot, "Name", ink)
            _add(spot, "Percentage", repr(tone))
