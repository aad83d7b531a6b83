"""Where the report of a spread lies, seen from the index."""

import os
from urllib.parse import quote

from inkmix.jobs.book_answer import Checked
from inkmix.pages.report.names import PAGE_NAME


def report_path(checked: Checked) -> str:
    """Path of a report, relative to the folder of the batch."""
    return f"{checked.folder}/{PAGE_NAME}"


def report_href(checked: Checked) -> str:
    """The same as an address: its bytes in the file system, percent-encoded.

    No colon and no quote mark is left in it, so it can neither name a scheme nor end an attribute.
    """
    return quote(os.fsencode(report_path(checked)))
