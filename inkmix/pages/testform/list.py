"""The list of patches of a test form, as CGATS text that an instrument's program reads."""

import numpy as np

from inkmix.colour.measured.table import MeasurementTable
from inkmix.colour.measured.written_cgats import cgats_text
from inkmix.jobs.testform.values import TestForm

LIST_NAME = "testform.txt"
ORIGINATOR = "inkmix test form"
MARK = b'"inkmix test form"'
"""In the first bytes of every one written here."""


def patch_table(form: TestForm) -> MeasurementTable:
    """The patches, with nothing measured yet."""
    return MeasurementTable(
        sample_names=tuple(str(patch.number) for patch in form.patches),
        places=tuple(patch.place for patch in form.patches),
        plates=form.inks,
        tone_pct=np.array([[patch.tone_pct[ink] for ink in form.inks] for patch in form.patches]),
        originator=ORIGINATOR,
        descriptor=f"test form of {form.title}",
        keywords={"LAY_DOWN_ORDER": "; ".join(form.inks)},
        source=LIST_NAME,
    )


def patch_list(form: TestForm) -> bytes:
    """The same as text."""
    return cgats_text(patch_table(form)).encode("utf-8")
