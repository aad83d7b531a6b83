"""Measurements as CSV: charts with other ends of cells, decimals and headings, and spoilt."""

import random
from dataclasses import dataclass
from pathlib import Path

from fuzz import measurements, texts
from fuzz.cases import Asked
from fuzz.measurements import ChartDocument

NAME = "csv_tables"
_HEADINGS = {
    "SAMPLE_ID": ("SAMPLE_ID", "id", "no"),
    **{f"CMYK_{ink}": (f"CMYK_{ink}", ink) for ink in "CMYK"},
    **{f"XYZ_{axis}": (f"XYZ_{axis}",) for axis in "XYZ"},
    **{f"LAB_{axis}": (f"LAB_{axis}",) for axis in "LAB"},
}
_TRIPLES = {("XYZ_X", "XYZ_Y", "XYZ_Z"): "XYZ", ("LAB_L", "LAB_A", "LAB_B"): "Lab"}


@dataclass(slots=True, kw_only=True)
class CsvDocument:
    """A chart, and how its cells are written."""

    chart: ChartDocument
    end: str
    comma: bool
    short: bool  # X, Y, Z in place of XYZ_X and so on
    ends_mixed: bool = False


def build(rng: random.Random) -> CsvDocument:
    """A sound chart of any end of cells."""
    end = rng.choice(",;\t")
    comma = end != "," and rng.random() < 0.5
    chart = measurements.build(rng)
    return CsvDocument(chart=chart, end=end, comma=comma, short=rng.random() < 0.5)


def _of_chart(damage):
    """A damage of the chart in the table."""

    def spoil(document: CsvDocument, rng: random.Random) -> None:
        damage(document.chart, rng)

    spoil.__name__ = damage.__name__
    return spoil


def end_changed(document: CsvDocument, rng: random.Random) -> None:
    """Other ends of cells than the decimals allow."""
    document.end = rng.choice(",;\t |")
    document.comma = rng.random() < 0.5
    document.chart.numbers_kept = False


def ends_mixed(document: CsvDocument, rng: random.Random) -> None:
    """Some lines with decimal commas, some with points."""
    document.ends_mixed = True
    document.chart.numbers_kept = False


DAMAGES = (
    *map(_of_chart, (measurements.column_moved, measurements.column_named, measurements.row_moved)),
    *map(
        _of_chart, (measurements.cell_changed, measurements.cell_changed, measurements.cell_moved)
    ),
    *map(
        _of_chart, (measurements.text_changed, measurements.bytes_changed, measurements.very_many)
    ),
    *(end_changed, ends_mixed),
)


def write(document: CsvDocument, folder: Path, rng: random.Random) -> Asked:
    """The file, to be read."""
    chart = document.chart
    text = "\n".join(_lines(document, rng)) + "\n"
    for seed in chart.text_changes:
        text = texts.spoilt(text, random.Random(seed))
    data = text.encode("utf-8", "surrogatepass")
    for seed in chart.byte_changes:
        data = texts.bytes_spoilt(data, random.Random(seed))
    (folder / "chart.csv").write_bytes(data)
    sound = chart.numbers_kept and not chart.text_changes and not chart.byte_changes
    told = {"columns": chart.columns, "rows": chart.rows} if sound else {}
    return Asked(call="measurements", words=("chart.csv",), told=told)


def _lines(document: CsvDocument, rng: random.Random) -> list[str]:
    rows = [document.end.join(_heads(document, rng))]
    for row in document.chart.rows:
        comma = document.comma != (document.ends_mixed and rng.random() < 0.5)
        cells = [cell.replace(".", ",") if comma else cell for cell in row]
        rows.append(document.end.join(cells))
    return rows


def _heads(document: CsvDocument, rng: random.Random) -> list[str]:
    heads = [rng.choice(_HEADINGS.get(name, (name,))) for name in document.chart.columns]
    if document.short:
        for at in range(len(heads) - 2):
            heads[at : at + 3] = list(_TRIPLES.get(tuple(heads[at : at + 3]), heads[at : at + 3]))
    return heads
