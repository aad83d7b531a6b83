"""Published sets in a folder: which paper they are on, and which family they belong to.

A family holds sets that share data, a maker or a press; a model is judged by families that it was
not fitted to. Sets with other names are told in FOLDER/sets.csv: file,class,family.
"""

import csv
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np

from inkmix.colour.measured.cgats import parse_cgats
from inkmix.press.constants import MODEL, PAPER_CLASSES
from inkmix.press.scoring.chart import Chart, read_chart
from inkmix.press.scoring.known_part import tell

REFERENCE = Path(__file__).parents[2] / "reference"
LEVELS = ("solids", "ramps", "overprints")
#: Seven inks in the order that fits the measured overprints best; nobody stated it.
SEVEN_ORDER = "NCLR_4,NCLR_7,NCLR_2,NCLR_1,NCLR_6,NCLR_3,NCLR_5"
#: Class and family of sets with published names.
KNOWN = {
    "fogra39l": ("coated", "Fogra coated"),
    "fogra51": ("coated", "Fogra coated"),
    "fogra41l": ("light-coated", "Fogra light"),
    "fogra45l": ("light-coated", "Fogra light"),
    "fogra29l": ("uncoated", "Fogra uncoated"),
    "fogra47l": ("uncoated", "Fogra uncoated"),
    "fogra52": ("uncoated", "Fogra uncoated"),
    "fogra42l": ("newsprint", "heatset news"),
    "fogra48l": ("newsprint", "heatset news"),
    "ifra26l": ("newsprint", "coldset news"),
    "tr002": ("newsprint", "US news"),
    "crpc4": ("supercalendered", "US"),
    "crpc6": ("coated", "US"),
    "japancolor2011coated-k1": ("coated", "Japan"),
    "aptec-offset-coated-2025": ("coated", "APTEC coated"),
    "aptec-flexo-coated-2025": ("coated", "flexo"),
    "aptec-pc10-cardboard-2023-v1-spectral": ("coated", "APTEC coated"),
    "aptec-pc11-ccnb-2023-v1-spectral": ("coated", "APTEC coated"),
    "aptec-offset-uncoated-2025": ("uncoated", "APTEC uncoated"),
    "aptec-cmykogv-coated-2025": ("coated", "seven inks"),
    "argyll-cmyk-chemproof-spectral": ("coated", "proof"),
}
#: Families that are no offset prints: they are scored, never fitted to.
NO_OFFSET = ("proof", "flexo")


@dataclass(frozen=True, kw_only=True)
class PrintSet:
    """One published set: mixtures with their colours, on one paper."""

    name: str
    path: Path
    paper_class: str
    family: str

    @cached_property
    def chart(self) -> Chart:
        """Plates in lay-down order."""
        table = parse_cgats(self.path.read_bytes(), where=self.path.name)
        four = sorted(table.plates) == ["C", "K", "M", "Y"]
        return read_chart(table).in_order(tuple("KCMY" if four else SEVEN_ORDER.split(",")))

    @property
    def is_process(self) -> bool:
        """Whether it holds process inks alone."""
        return self.chart.plates == ("K", "C", "M", "Y")

    @property
    def is_smooth(self) -> bool:
        """Whether its paper is coated or supercalendered."""
        return MODEL.paper[self.paper_class].group == "smooth"

    def told(self, level: str):
        """A press condition that is told so much, and the untold mixtures: tones, Lab."""
        condition, told = tell(self.chart, known=level, paper_class=self.paper_class)
        rows = self.chart.mixed & ~told
        return condition, self.chart.tone_pct[rows], self.chart.lab[rows]

    def measured_solids(self) -> tuple[np.ndarray, np.ndarray]:
        """Mean XYZ (2**I, 3) of paper and all solid overprints, and which were measured."""
        inks = len(self.chart.plates)
        xyz100, found = np.zeros((2**inks, 3)), np.zeros(2**inks, dtype=bool)
        for row in range(2**inks):
            wanted = [100.0 * (row >> ink & 1) for ink in range(inks)]
            here = (self.chart.tone_pct == wanted).all(axis=1)
            if here.any():
                xyz100[row], found[row] = self.chart.xyz100[here].mean(axis=0), True
        return xyz100, found


def read_sets(folder: Path) -> list[PrintSet]:
    """The sets of a folder and those of tests/reference, by family and name."""
    told = dict(KNOWN)
    if (folder / "sets.csv").exists():
        with (folder / "sets.csv").open(encoding="utf-8", newline="") as file:
            told |= {Path(row["file"]).stem: (row["class"], row["family"])
                     for row in csv.DictReader(file)}  # fmt: skip
    paths = {path.stem: path for path in (*folder.glob("*.txt"), *REFERENCE.glob("*.txt"))}
    for name in sorted(set(paths) - set(told) - {"NOTICE"}):
        print(f"{name}: not known, left out; tell its class and family in sets.csv")
    sets = [
        PrintSet(name=name, path=paths[name], paper_class=told[name][0], family=told[name][1])
        for name in paths
        if name in told
    ]
    for one in sets:
        if one.paper_class not in PAPER_CLASSES:
            raise SystemExit(f"{one.name}: class {one.paper_class!r} is none of {PAPER_CLASSES}")
    return sorted(sets, key=lambda one: (one.family, one.name))
