"""What files of reports are called, and where those of a spread lie in the folder of a book's."""

import os
from hashlib import sha256
from urllib.parse import quote

REPORTS = "reports"  # beside the book, where nobody names a folder
PAGE_NAME = "report.html"
JSON_NAME = "report.json"
INDEX_NAME = "index.html"
DATA_NAME = "batch.json"
SPREADS_NAME = "spreads.csv"
FINDINGS_NAME = "findings.csv"
TONES_NAME = "tones.csv"
JUNIT_NAME = "junit.xml"
KEPT_NAME = "kept.json"
OURS = (INDEX_NAME, DATA_NAME, SPREADS_NAME, FINDINGS_NAME, TONES_NAME, JUNIT_NAME, KEPT_NAME)

_MOST_BYTES = 200  # file systems allow 255; what is being written has a longer name
_PORTS = {f"{port}{digit}" for port in ("com", "lpt") for digit in "0123456789"}
_DEVICES = {"con", "prn", "aux", "nul", *_PORTS}  # names that Windows keeps for itself
_NOT_IN_NAMES = set('<>:"|?*\\/')
_MARK_DIGITS = 8


def report_folder(spread: str) -> str:
    """Name of the folder of a spread's report: the spread's own, where every system can have that.

    Names that some system refuses, or that the index needs for itself, are written without the
    faulty characters and with a mark, so that no two spreads share a folder.
    """
    raw = spread.encode("utf-8", "surrogateescape")
    if _is_sound(spread, raw):
        return spread
    mark = sha256(raw).hexdigest()[:_MARK_DIGITS]
    kept = "".join(c if c.isprintable() and c not in _NOT_IN_NAMES | {"."} else "_" for c in spread)
    short = kept.encode("utf-8", "replace")[: _MOST_BYTES - _MARK_DIGITS - 1].decode(
        "utf-8", "ignore"
    )
    return f"{short.rstrip('. ')}-{mark}"


def report_path(folder: str) -> str:
    """Path of the page in the folder of a report, relative to the folder of the book's reports."""
    return f"{folder}/{PAGE_NAME}"


def report_href(folder: str) -> str:
    """The same as an address: its bytes in the file system, percent-encoded.

    No colon and no quote mark is left in it, so it can neither name a scheme nor end an attribute.
    """
    return quote(os.fsencode(report_path(folder)))


def _is_sound(spread: str, raw: bytes) -> bool:
    stem = spread.split(".")[0].casefold()
    return (
        len(raw) <= _MOST_BYTES
        and spread.isprintable()
        and not set(spread) & _NOT_IN_NAMES
        and not spread.endswith((".", " "))
        and not spread.startswith((".", " "))
        and stem not in _DEVICES
        and spread.casefold() not in OURS
    )
