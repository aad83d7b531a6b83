"""Readings without tone values, put beside the list of the form that was read."""

from dataclasses import replace

import numpy as np

from inkmix.base.errors import Fault, MeasurementError
from inkmix.base.quoting import listed
from inkmix.base.words import count
from inkmix.colour.measured.table import MeasurementTable


def with_tones_of_form(table: MeasurementTable, form: MeasurementTable) -> MeasurementTable:
    """Readings with the tone values of the patches that they are of.

    Patches are found by their names; where the readings have other names than the form, one by one
    in its order if there are as many, which the notes say. Readings that have tone values already
    stay as they are.

    Raises
    ------
    MeasurementError
        Readings that cannot be those of the form.
    """
    if table.plates:
        return table
    places = {_plain(name): at for at, name in enumerate(form.sample_names)}
    named = [places.get(_plain(name)) for name in table.sample_names]
    unknown = [name for name, at in zip(table.sample_names, named, strict=True) if at is None]
    if not unknown:
        return _told(table, form, [at for at in named if at is not None])
    if len(unknown) == len(named) == len(form):
        said = f"its patches have other names than those of {form.source}; taken in its order"
        return _told(table, form, list(range(len(form))), said)
    raise MeasurementError(
        Fault(
            where=table.source,
            found=f"{count(len(table), 'reading')}, {count(len(unknown), 'name')} of them not on "
            f"the form ({listed(unknown[:5])})",
            expected=f"{form.source} lists {form.sample_names[0]} to {form.sample_names[-1]}",
            do="name the list of the form that was read, or export the readings with their numbers",
        )
    )


def _plain(name: str) -> str:
    """A name without what instruments add: blanks, zeros in front."""
    return name.strip().casefold().lstrip("0") or "0"


def _told(
    table: MeasurementTable, form: MeasurementTable, at: list[int], *notes: str
) -> MeasurementTable:
    return replace(
        table,
        plates=form.plates,
        tone_pct=np.asarray(form.tone_pct[at], np.float64),
        notes=(*table.notes, *notes),
    )
