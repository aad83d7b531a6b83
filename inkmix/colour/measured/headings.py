"""The list of columns of one file, judged as a whole: what each holds, what is double or lacking.

Single names are known in columns.py; here belong the choices that need the other columns beside.
"""

from typing import NamedTuple

from inkmix.base.errors import Fault
from inkmix.base.quoting import clipped, listed
from inkmix.colour.measured.columns import MAX_PLATES, Meaning, column_meaning, missing_axes
from inkmix.colour.measured.sections import Sections
from inkmix.colour.measured.tokens import UnclosedQuoteError, Word

_KINDS = {"xyz": "XYZ", "lab": "LAB"}


class Needed(NamedTuple):
    """Kinds of columns of which a table must hold one, and the words where it holds none."""

    kinds: frozenset[str]
    lacking: str
    expected: str
    do: str


READINGS = Needed(
    kinds=frozenset({"xyz", "lab", "spectral", "density"}),
    lacking="no columns with colour",
    expected="XYZ_X.., LAB_L.., SPECTRAL_NM380.. or D_RED.. hold the readings",
    do="export the chart together with its readings",
)
TONES = Needed(
    kinds=frozenset({"tone"}),
    lacking="no columns with tone values",
    expected="CMYK_C.., 5CLR_1.. or INK_Rowan say what is printed",
    do="take the list that was written with the form",
)


def column_meanings(sections: Sections) -> dict[int, Meaning]:
    """What each column holds. Unknown names are inks if declared, or if nothing else is an ink."""
    known = {at: what for at, name in enumerate(sections.fields) if (what := column_meaning(name))}
    unknown = [at for at in range(len(sections.fields)) if at not in known]
    inks = [at for at in unknown if sections.fields[at] in sections.declared]
    if not inks and not any(what.kind == "tone" for what in known.values()):
        first = _first_row(sections)
        inks = [at for at in unknown if at < len(first) and _is_tone(first[at])]
        if inks:
            names = listed([sections.fields[at] for at in inks])
            sections.notes.append(f"columns read as inks: {names}")
    ignored = [sections.fields[at] for at in unknown if at not in set(inks)]
    if ignored:
        sections.notes.append(f"columns not used: {listed(ignored)}")
    known.update({at: Meaning("tone", sections.fields[at]) for at in inks})
    return dict(sorted(known.items()))


def _first_row(sections: Sections) -> list[Word]:
    """Words of the first row; none where there is none, or it cannot be cut."""
    try:
        return sections.cut.words(sections.rows[0][1])
    except (IndexError, UnclosedQuoteError):
        return []


def _is_tone(word: Word) -> bool:
    """Whether a word is an unquoted number between 0 and 100."""
    try:
        return not word.quoted and 0 <= float(word.text) <= 100
    except ValueError:
        return False


def column_faults(
    sections: Sections, meanings: dict[int, Meaning], *, where: str, needed: Needed
) -> list[Fault]:
    """What is wrong with the list of columns as a whole."""
    faults = []
    seen: dict[Meaning, str] = {}
    for at, what in meanings.items():
        name = sections.fields[at]
        if what in seen:
            found = f"columns {clipped(seen[what])} and {clipped(name)} hold the same"
            faults.append(Fault(where=where, found=found, do="keep one of them"))
        seen[what] = name
    for kind, word in _KINDS.items():
        for axis in missing_axes(meanings, kind, word):
            found = f"no column {word}_{axis}"
            faults.append(
                Fault(where=where, found=found, expected=f"the other axes of {word} are there")
            )
    for at, what in meanings.items():
        if what.kind == "tone" and not what.key.strip():
            found = f"column {at + 1} is an ink without a name"
            faults.append(Fault(where=where, found=found, do="name it, as INK_Rowan"))
    kinds = [what.kind for what in meanings.values()]
    if not needed.kinds & set(kinds):
        names = listed(sections.fields, 12) or "none"
        found = f"{needed.lacking} (columns: {names})"
        faults.append(Fault(where=where, found=found, expected=needed.expected, do=needed.do))
    if kinds.count("tone") > MAX_PLATES:
        found = f"{kinds.count('tone')} ink columns"
        faults.append(Fault(where=where, found=found, expected=f"{MAX_PLATES} is the most"))
    return faults
