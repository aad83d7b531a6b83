"""A PDF of one page that says which RGB it means, and who wrote it.

Takes what the drawing library writes: objects in a row, one table of references, one trailer (ISO
32000-1, 7.5). Knows nothing of what is drawn.
"""

import re
import zlib

from inkmix.export.srgb_profile import srgb_profile

_ENTRY = re.compile(rb"^(\d{10}) (\d{5} [nf])", re.MULTILINE)
_VERSION = b"%PDF-1.7"
"""The first that may hold profiles of version 4."""

_RESOURCES = b"/ProcSet ["
"""Stands once in the resources that all content of a page uses."""


def with_profile(pdf: bytes, *, comment: bytes) -> bytes:
    """The same PDF with its RGB meaning sRGB by an ICC profile, and a comment on the third line.

    Without a profile RGB is that of whatever shows it. DefaultRGB (ISO 32000-1, 8.6.5.6) says it
    for every colour of the page.
    """
    table = int(pdf[pdf.rindex(b"startxref") :].split()[1])
    count = len(_ENTRY.findall(pdf[table:]))
    line = b"%" + comment + b"\n"
    space = b"/ColorSpace << /DefaultRGB [ /ICCBased %d 0 R ] >> " % count
    head, resources = _third_line(pdf), pdf.index(_RESOURCES)
    body = pdf[:head] + line + pdf[head:resources] + space + pdf[resources:table]

    def moved(entry: "re.Match[bytes]") -> bytes:
        offset = int(entry[1])
        if entry[2].endswith(b"f"):
            return entry[0]
        by = (len(line) if offset >= head else 0) + (len(space) if offset > resources else 0)
        return b"%010d %s" % (offset + by, entry[2])

    tail = _ENTRY.sub(moved, pdf[table : pdf.rindex(b"startxref")])
    tail = tail.replace(b"0 %d\n" % count, b"0 %d\n" % (count + 1), 1)
    tail = tail.replace(b"/Size %d" % count, b"/Size %d" % (count + 1), 1)
    tail = tail.replace(b"trailer", b"%010d 00000 n \ntrailer" % len(body), 1)
    profile = _stream(count, srgb_profile())
    start = len(body) + len(profile)
    body = body.replace(b"%PDF-1.4", _VERSION, 1)
    return body + profile + tail + b"startxref\n%d\n%%%%EOF\n" % start


def _third_line(pdf: bytes) -> int:
    """After the version and the comment that tells a file of bytes."""
    return pdf.index(b"\n", pdf.index(b"\n") + 1) + 1


def _stream(number: int, profile: bytes) -> bytes:
    data = zlib.compress(profile, 9)
    head = b"%d 0 obj\n<< /N 3 /Alternate /DeviceRGB /Filter /FlateDecode /Length %d >>\n"
    return head % (number, len(data)) + b"stream\n" + data + b"\nendstream\nendobj\n"
