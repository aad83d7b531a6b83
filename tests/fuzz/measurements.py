"""Measurement files: CGATS charts whose keywords, columns, rows and numbers are spoilt."""

import random
from dataclasses import dataclass, field
from pathlib import Path

from fuzz import texts
from fuzz.cases import Asked, moved, weighted

NAME = "measurements"
_SETS = (("Rowan",), ("Soot", "Rowan"), ("CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K"))
_KEYWORDS = (
    *(
        'ORIGINATOR "a test"',
        'DESCRIPTOR "ramps"',
        'CREATED "2026-01-01"',
        "OPACITY 0.3",
        "OPACITY x",
    ),
    *(
        'ILLUMINANT "D50"',
        'ILLUMINANT "D65"',
        'OBSERVER "2"',
        'PRINT_CONDITION "offset"',
        "NO_VALUE",
    ),
    *(
        'KEYWORD "OPACITY"',
        'MEASUREMENT_SOURCE "M1"',
        'LAYDOWN "Soot Rowan"',
        "WHITEPOINT 96.4 100 82.5",
    ),
    *(
        'INK_ORDER "Soot, Rowan"',
        'DENSITY_STATUS "T"',
        "FILTER M0",
        '"QUOTED" "x"',
        'A "open',
        "B 'c'",
    ),
)


@dataclass(slots=True, kw_only=True)
class ChartDocument:
    """A chart: keywords, names of columns, rows of cells."""

    keywords: list[str]
    columns: list[str]
    rows: list[list[str]]
    sets: str
    fields: str
    text_changes: list[int] = field(default_factory=list)
    byte_changes: list[int] = field(default_factory=list)
    numbers_kept: bool = True


def build(rng: random.Random) -> ChartDocument:
    """A sound chart of ramps and overprints, its colours by XYZ, Lab or spectra."""
    inks = rng.choice(_SETS)
    kind = weighted(rng, {"XYZ": 3, "LAB": 2, "SPECTRAL": 1})
    columns = ["SAMPLE_ID", *inks, *_colour_names(kind)]
    recipes = [
        [0] * k + [tone] + [0] * (len(inks) - 1 - k)
        for k in range(len(inks))
        for tone in (20, 40, 70, 100)
    ]
    recipes = [[0] * len(inks), *recipes, [100] * len(inks), [rng.randint(1, 99) for _ in inks]]
    rows = [
        [str(at), *map(str, tones), *_colour(kind, tones, rng)]
        for at, tones in enumerate(recipes, start=1)
    ]
    keywords = [rng.choice(_KEYWORDS[:3]) for _ in range(rng.randint(0, 3))]
    count, width = f"NUMBER_OF_SETS {len(rows)}", f"NUMBER_OF_FIELDS {len(columns)}"
    return ChartDocument(
        keywords=["CGATS.17", *keywords], columns=columns, rows=rows, sets=count, fields=width
    )


def _colour_names(kind: str) -> list[str]:
    if kind == "SPECTRAL":
        return [f"SPECTRAL_NM{nm}" for nm in range(380, 740, 10)]
    return [f"{kind}_{axis}" for axis in ("XYZ" if kind == "XYZ" else "LAB")]


def _colour(kind: str, tones: list[int], rng: random.Random) -> list[str]:
    """Darker with more ink, a little noise in it; what a chart may hold."""
    left = 0.8
    for tone in tones:
        left *= 1 - 0.85 * tone / 100
    light = left + 0.001 * rng.random()
    if kind == "SPECTRAL":
        return [f"{light * (0.9 + 0.003 * k):.4f}" for k in range(36)]
    if kind == "XYZ":
        return [f"{100 * light * share:.3f}" for share in (0.9642, 1.0, 0.8249)]
    return [f"{116 * light ** (1 / 3) - 16:.2f}", f"{rng.uniform(-2, 2):.2f}", "1.50"]


# --- damages -------------------------------------------------------------------------------------


def keyword_new(document: ChartDocument, rng: random.Random) -> None:
    """A keyword, sound or not."""
    word = rng.choice(_KEYWORDS)
    if rng.random() < 0.2:
        word = f"{rng.choice(texts.WORDS)} {rng.choice(texts.NUMBERS)}"
    document.keywords.insert(rng.randint(0, len(document.keywords)), word)


def keyword_moved(document: ChartDocument, rng: random.Random) -> None:
    """A keyword removed, doubled, swapped."""
    moved(document.keywords, rng)


def column_moved(document: ChartDocument, rng: random.Random) -> None:
    """A column's name removed, doubled, swapped; the cells stay."""
    document.numbers_kept = False
    moved(document.columns, rng)


def column_named(document: ChartDocument, rng: random.Random) -> None:
    """A column of another name."""
    document.numbers_kept = False
    names = (
        *texts.WORDS,
        "XYZ_X",
        "LAB_L",
        "SAMPLE_NAME",
        "D_RED",
        "DENSITY_R",
        "STRING",
        "CMYK_C",
    )
    document.columns[rng.randrange(len(document.columns))] = rng.choice(names)


def row_moved(document: ChartDocument, rng: random.Random) -> None:
    """A row removed, doubled, swapped, and the count of rows as it was."""
    document.numbers_kept = False
    moved(document.rows, rng)


def cell_changed(document: ChartDocument, rng: random.Random) -> None:
    """A cell holds something else."""
    document.numbers_kept = False
    row = rng.choice(document.rows)
    row[rng.randrange(len(row))] = rng.choice((*texts.NUMBERS, *texts.WORDS))


def cell_moved(document: ChartDocument, rng: random.Random) -> None:
    """A row of fewer or more cells."""
    document.numbers_kept = False
    moved(rng.choice(document.rows), rng)


def counts_changed(document: ChartDocument, rng: random.Random) -> None:
    """Counts that are not true."""
    document.sets = f"NUMBER_OF_SETS {rng.choice(texts.NUMBERS)}"
    document.fields = f"NUMBER_OF_FIELDS {rng.choice(texts.NUMBERS)}"


def text_changed(document: ChartDocument, rng: random.Random) -> None:
    """Anything that befalls text."""
    document.text_changes.append(rng.getrandbits(32))


def bytes_changed(document: ChartDocument, rng: random.Random) -> None:
    """Other line ends, encodings, ends."""
    document.byte_changes.append(rng.getrandbits(32))


def very_many(document: ChartDocument, rng: random.Random) -> None:
    """Thousands of keywords, columns, rows, or letters."""
    match rng.randrange(4):
        case 0:
            document.keywords += [f'WORD_{k} "x"' for k in range(8000)]
        case 1:
            document.columns[1:1] = [f"NOTE_{k}" for k in range(4000)]
        case 2:
            document.keywords.append('DESCRIPTOR "' + "x " * 100_000)
        case _:
            document.columns.append("X" * 200_000)
    document.numbers_kept = False


DAMAGES = (
    *(keyword_new, keyword_new, keyword_moved, column_moved, column_named, row_moved, cell_changed),
    *(
        cell_changed,
        cell_moved,
        counts_changed,
        text_changed,
        bytes_changed,
        bytes_changed,
        very_many,
    ),
)


def write(document: ChartDocument, folder: Path, rng: random.Random) -> Asked:
    """The file, to be read, or scored as a chart."""
    data = _text(document).encode("utf-8", "surrogatepass")
    for seed in document.byte_changes:
        data = texts.bytes_spoilt(data, random.Random(seed))
    (folder / "chart.txt").write_bytes(data)
    sound = document.numbers_kept and not document.text_changes and not document.byte_changes
    told = {"columns": document.columns, "rows": document.rows} if sound else {}
    if rng.random() < 0.2:
        words = ("score", "chart.txt", "--known", rng.choice(("solids", "ramps")))
        return Asked(call="command", words=words, cpu_s=6)
    return Asked(call="measurements", words=("chart.txt",), told=told)


def _text(document: ChartDocument) -> str:
    lines = [
        *document.keywords,
        document.fields,
        "BEGIN_DATA_FORMAT",
        " ".join(document.columns),
        "END_DATA_FORMAT",
        document.sets,
        "BEGIN_DATA",
        *(" ".join(row) for row in document.rows),
        "END_DATA",
    ]
    text = "\n".join(lines) + "\n"
    for seed in document.text_changes:
        text = texts.spoilt(text, random.Random(seed))
    return text
