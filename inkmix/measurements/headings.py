"""The list of columns of one file, judged as a whole: what each holds, what is double or lacking.

Single names are known in columns.py; here belong the choices that need the other columns beside.
"""

from inkmix.errors import Fault
from inkmix.measurements.columns import MAX_PLATES, Meaning, column_meaning, missing_axes
from inkmix.measurements.sections import Sections
from inkmix.measurements.words import split_words

_KINDS = {"xyz": "XYZ", "lab": "LAB"}


def column_meanings(sections: Sections) -> dict[int, Meaning]:
    """What each column holds. Unknown names are inks if declared, or if nothing else is an ink."""
    known = {at: what for at, name in enumerate(sections.fields) if (what := column_meaning(name))}
    unknown = [at for at in range(len(sections.fields)) if at not in known]
    inks = [at for at in unknown if sections.fields[at] in sections.declared]
    if not inks and not any(what.kind == "tone" for what in known.values()):
        inks = [at for at in unknown if _is_numeric(sections, at)]
        if inks:
            names = ", ".join(sections.fields[at] for at in inks)
            sections.notes.append(f"columns read as inks: {names}")
    ignored = [sections.fields[at] for at in unknown if at not in inks]
    if ignored:
        sections.notes.append(f"columns not used: {', '.join(ignored)}")
    known.update({at: Meaning("tone", sections.fields[at]) for at in inks})
    return dict(sorted(known.items()))


def _is_numeric(sections: Sections, at: int) -> bool:
    """Whether the first row has an unquoted number between 0 and 100 in this column."""
    try:
        word = split_words(sections.rows[0][1])[at]
        return not word.quoted and 0 <= float(word.text) <= 100
    except (IndexError, ValueError):
        return False


def column_faults(sections: Sections, meanings: dict[int, Meaning], where: str) -> list[Fault]:
    """What is wrong with the list of columns as a whole."""
    faults = []
    seen: dict[Meaning, str] = {}
    for at, what in meanings.items():
        name = sections.fields[at]
        if what in seen:
            found = f"columns {seen[what]} and {name} hold the same"
            faults.append(Fault(where=where, found=found, do="keep one of them"))
        seen[what] = name
    for kind, word in _KINDS.items():
        for axis in missing_axes(meanings, kind, word):
            found = f"no column {word}_{axis}"
            faults.append(
                Fault(where=where, found=found, expected=f"the other axes of {word} are there")
            )
    kinds = [what.kind for what in meanings.values()]
    if not {"xyz", "lab", "spectral", "density"} & set(kinds):
        faults.append(_no_colour(sections, where))
    if kinds.count("tone") > MAX_PLATES:
        found = f"{kinds.count('tone')} ink columns"
        faults.append(Fault(where=where, found=found, expected=f"{MAX_PLATES} is the most"))
    return faults


def _no_colour(sections: Sections, where: str) -> Fault:
    listed = ", ".join(sections.fields[:12]) or "none"
    return Fault(
        where=where,
        found=f"no columns with colour (columns: {listed})",
        expected="XYZ_X.., LAB_L.., SPECTRAL_NM380.. or D_RED.. hold the readings",
        do="export the chart together with its readings",
    )
