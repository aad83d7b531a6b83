"""What a file really is, by its first bytes; its name is not trusted. Nothing is decoded here."""

import codecs
from pathlib import Path

from inkmix.base.errors import PassingFault, PlateError
from inkmix.base.inputs import opened_input
from inkmix.plates.files.raster import label, refusal

_EXPORT = "export it as a greyscale TIFF or PNG"
_TIFF = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")
PNG_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_OTHERS = (
    (b"\xff\xd8\xff", "JPEG", "JPEG changes tone values; " + _EXPORT),
    (b"8BPS", "layered picture (PSD)", _EXPORT),
    (b"GIF8", "GIF", _EXPORT),
    (b"BM", "BMP", _EXPORT),
    (b"RIFF", "WebP", _EXPORT),
    (b"%!PS", "PostScript or EPS", _EXPORT),
    (b"PK\x03\x04", "zip archive or packed document", _EXPORT),
)
_HEAD_BYTES = 1024
_PDF = b"%PDF-"
_TEXT_OF_OTHERS = (_PDF, b"%!PS")  # no line of a book begins with a per cent sign


def sniff(path: Path) -> str:
    """The format, "TIFF" or "PNG", whatever the name says.

    Raises
    ------
    PlateError
        If the file is missing, a folder, empty, not readable, or anything else.
    """
    head = _head(path)
    kind = _kind(head)
    if kind in ("TIFF", "PNG"):
        return kind
    _refuse_pdf(path, head)
    for magic, name, do in _OTHERS:
        if head.startswith(magic):
            raise refusal(path, f"is a {name} file{_renamed(path)}", "a TIFF or PNG is needed", do)
    raise refusal(
        path, "is not a picture file that inkmix knows", "a TIFF or PNG is needed", _EXPORT
    )


def picture_kind(path: Path) -> str | None:
    """What a file is, as "TIFF" or "JPEG", for one that may as well be a text.

    None for a text, whatever letters it begins with, for what is not known here, and where nothing
    can be read.
    """
    try:
        with opened_input(path) as file:
            head = file.read(_HEAD_BYTES)
    except (OSError, ValueError):  # a name with a zero byte is a ValueError
        return None
    if head.startswith(_TEXT_OF_OTHERS):
        return "PDF" if head.startswith(_PDF) else "PostScript or EPS"
    return None if _is_text(head) else _kind(head)


def format_of(path: Path) -> str | None:
    """What a file is by its first bytes, as "TIFF" or "JPEG"; None for what is not known here.

    Raises
    ------
    OSError
        If it cannot be read.
    """
    with opened_input(path) as file:
        return _kind(file.read(_HEAD_BYTES))


def _kind(head: bytes) -> str | None:
    if head[:4] in _TIFF:
        return "TIFF"
    known = ((PNG_SIGNATURE, "PNG"), *((magic, name) for magic, name, _ in _OTHERS))
    return next((name for magic, name in known if head.startswith(magic)), None)


def _is_text(head: bytes) -> bool:
    """UTF-8 without zero bytes, as far as it was read; BM or GIF8 may well open a line of TOML."""
    if b"\0" in head:
        return False
    decoder = codecs.getincrementaldecoder("utf-8")()  # its end may lie within a character
    try:
        decoder.decode(head)
    except UnicodeDecodeError:
        return False
    return True


def _head(path: Path) -> bytes:
    if not path.exists():
        raise refusal(path, "does not exist", "", "check the name and the folder")
    if path.is_dir():
        raise refusal(path, "is a folder", "a TIFF or PNG file is needed")
    try:
        with opened_input(path) as file:
            head = file.read(_HEAD_BYTES)
    except OSError as error:
        found = f"cannot be read ({error.strerror})"
        fault = PassingFault(where=label(path), found=found, do="check its permissions")
        raise PlateError(fault) from error
    if not head:
        raise refusal(path, "is empty (0 bytes)", "a TIFF or PNG is needed", "export it again")
    return head


def _refuse_pdf(path: Path, head: bytes) -> None:
    # The header may follow some bytes of other data (ISO 32000-1, 7.5.2, reader's note).
    if _PDF in head:
        raise refusal(
            path,
            f"is a PDF file{_renamed(path)}",
            "PDF is not read yet",
            "export each plate as a greyscale TIFF, 8 or 16 bits, at its final size with bleed",
        )


def _renamed(path: Path) -> str:
    return f" with the name ending {path.suffix}" if path.suffix else ""
