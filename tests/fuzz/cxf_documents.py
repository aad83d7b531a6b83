"""Measurements as CxF3: charts as XML whose elements, references, numbers and bytes are spoilt."""

import random
from dataclasses import dataclass
from pathlib import Path

from fuzz import measurements, texts
from fuzz.cases import Asked
from fuzz.measurements import ChartDocument

NAME = "cxf_documents"
_CORE = "http://colorexchangeformat.com/CxF3-core"
_NAMES = (
    *(
        "Object",
        "ColorValues",
        "ReflectanceSpectrum",
        "SpotColor",
        "Percentage",
        "Name",
        "ColorCMYK",
    ),
    *("ColorSpecification", "WavelengthRange", "StartWL", "Increment", "ColorCIELab", "Cyan", "Id"),
    *("Resources", "ObjectCollection", "ColorCIEXYZ", "Illuminant", "D50", "380", "CS"),
)
_PIECES = (
    *(
        "<!DOCTYPE CxF>",
        "<!DOCTYPE CxF [<!ENTITY a 'aaaa'>]>",
        "&a;",
        "&#0;",
        "&#x202e;",
        "<![CDATA[",
    ),
    *("<!--", "-->", "<?x ?>", "</cc:CxF>", "<cc:Object>", "]]>", "<cc:a " + "b='' " * 400 + "/>"),
    "<cc:a>" * 80,
)


@dataclass(slots=True, kw_only=True)
class CxfDocument:
    """A chart, and what is changed in its XML."""

    chart: ChartDocument
    renamed: list[int]
    put_in: list[int]


def build(rng: random.Random) -> CxfDocument:
    """A sound chart."""
    return CxfDocument(chart=measurements.build(rng), renamed=[], put_in=[])


def name_changed(document: CxfDocument, rng: random.Random) -> None:
    """A name of an element or an attribute put in another's place."""
    document.renamed.append(rng.getrandbits(32))
    document.chart.numbers_kept = False


def piece_in(document: CxfDocument, rng: random.Random) -> None:
    """Markup where it does not belong."""
    document.put_in.append(rng.getrandbits(32))
    document.chart.numbers_kept = False


def _of_chart(damage):
    """A damage of the chart in the document."""

    def spoil(document: CxfDocument, rng: random.Random) -> None:
        damage(document.chart, rng)

    spoil.__name__ = damage.__name__
    return spoil


DAMAGES = (
    *map(_of_chart, (measurements.row_moved, measurements.cell_changed, measurements.cell_moved)),
    *map(_of_chart, (measurements.text_changed, measurements.bytes_changed)),
    *(name_changed, name_changed, piece_in),
)


def write(document: CxfDocument, folder: Path, rng: random.Random) -> Asked:
    """The file, to be read."""
    chart = document.chart
    text = _text(chart)
    for seed in document.renamed:
        one = random.Random(seed)
        text = text.replace(one.choice(_NAMES), one.choice(_NAMES), one.choice((1, 1, -1)))
    for seed in document.put_in:
        one = random.Random(seed)
        at = one.randint(0, len(text))
        text = text[:at] + one.choice(_PIECES) + text[at:]
    for seed in chart.text_changes:
        text = texts.spoilt(text, random.Random(seed))
    data = text.encode("utf-8", "surrogatepass")
    for seed in chart.byte_changes:
        data = texts.bytes_spoilt(data, random.Random(seed))
    (folder / "chart.cxf").write_bytes(data)
    sound = chart.numbers_kept and not chart.text_changes and not chart.byte_changes
    told = {"columns": chart.columns, "rows": chart.rows} if sound else {}
    return Asked(call="measurements", words=("chart.cxf",), told=told)


def _text(chart: ChartDocument) -> str:
    return (
        f'<cc:CxF xmlns:cc="{_CORE}"><cc:Resources><cc:ObjectCollection>\n'
        + "".join(_object(chart.columns, row) for row in chart.rows)
        + '</cc:ObjectCollection><cc:ColorSpecificationCollection>\n<cc:ColorSpecification Id="CS">'
        "<cc:TristimulusSpec><cc:Illuminant>D50</cc:Illuminant></cc:TristimulusSpec>"
        '<cc:MeasurementSpec><cc:WavelengthRange StartWL="380" Increment="10"/>'
        "</cc:MeasurementSpec></cc:ColorSpecification>\n"
        "</cc:ColorSpecificationCollection></cc:Resources></cc:CxF>\n"
    )


def _object(columns: list[str], row: list[str]) -> str:
    """One patch; cells are put in as they are, markup and all."""
    cells = list(zip(columns, row, strict=False))
    spots = "".join(
        f"<cc:SpotColor><cc:Name>{name.removeprefix('CMYK_')}</cc:Name>"
        f"<cc:Percentage>{cell}</cc:Percentage></cc:SpotColor>"
        for name, cell in cells
        if "_" not in name or name.startswith("CMYK")
    )
    spectrum = " ".join(cell for name, cell in cells if name.startswith("SPECTRAL"))
    values = f'<cc:ReflectanceSpectrum ColorSpecification="CS">{spectrum}</cc:ReflectanceSpectrum>'
    for kind, element in (("XYZ", "ColorCIEXYZ"), ("LAB", "ColorCIELab")):
        axes = [(name[4:], cell) for name, cell in cells if name.startswith(f"{kind}_")]
        inner = "".join(f"<cc:{axis}>{cell}</cc:{axis}>" for axis, cell in axes)
        if axes:
            values = f'<cc:{element} ColorSpecification="CS">{inner}</cc:{element}>'
    return (
        f'<cc:Object Name="{row[0] if row else ""}" Id="p"><cc:ColorValues>{values}'
        f"</cc:ColorValues><cc:DeviceColorValues><cc:ColorCustom>{spots}</cc:ColorCustom>"
        "</cc:DeviceColorValues></cc:Object>\n"
    )
