"""Ways in which a book's files are wrong, each with what the message has to say about it.

A case spoils the drawn book in a folder; `check` must then refuse with its exit code, and the
words must hold every fragment. Nothing is run here.
"""

import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from drawn_book import (
    BOOK,
    CGATS,
    HEIGHT_PX,
    MEASURED,
    NIGHT,
    PPI,
    WIDTH_PX,
    cellar,
    changed,
    plate_of,
    plates,
)
from PIL import Image
from plate_files import set_tag, write_png, write_tiff

Spoil = Callable[[Path], object]
REFERENCE = '\n[reference]\npicture = "whole.png"\n'


@dataclass(frozen=True, kw_only=True)
class Case:
    """One thing wrong; `said` are fragments of the message: where, found, expected, what to do."""

    name: str
    spoil: Spoil
    code: int
    said: tuple[str, ...]
    text: str | bytes = BOOK
    faults: int = 1


def _plate(name: str, spoil: Spoil, *said: str, faults: int = 1, text: str = BOOK) -> Case:
    return Case(name=name, spoil=spoil, code=3, said=said, faults=faults, text=text)


def _book(name: str, text: str | bytes, *said: str, code: int = 2, faults: int = 1) -> Case:
    return Case(
        name=name, spoil=lambda folder: None, code=code, said=said, text=text, faults=faults
    )


# --- plates --------------------------------------------------------------------------------------


def _fjord(folder: Path) -> Path:
    return plate_of(folder, "Fjord")


def _rewrite(numbers: np.ndarray, ppi: float | None = PPI, **options: object) -> Spoil:
    return lambda folder: write_tiff(_fjord(folder), numbers, ppi, **options)


def _renamed_picture(kind: str) -> Spoil:
    return lambda folder: Image.fromarray(FJORD).save(_fjord(folder), format=kind)


def _truncate(folder: Path) -> None:
    data = _fjord(folder).read_bytes()
    _fjord(folder).write_bytes(data[: len(data) // 2])


def _truncate_packed(folder: Path) -> None:
    write_tiff(_fjord(folder), FJORD, PPI, compression="zlib", rowsperstrip=40)
    _truncate(folder)


def _damage_packed(folder: Path) -> None:
    write_tiff(_fjord(folder), FJORD, PPI, compression="zlib", rowsperstrip=40)
    data = bytearray(_fjord(folder).read_bytes())
    data[len(data) // 2 : len(data) // 2 + 200] = bytes(200)
    _fjord(folder).write_bytes(bytes(data))


def _palette(folder: Path) -> None:
    Image.fromarray(FJORD).convert("P", palette=Image.Palette.ADAPTIVE).save(
        _fjord(folder), dpi=(PPI, PPI)
    )


def _without_bleed(folder: Path) -> None:
    bleed_px = round(3 / 25.4 * PPI)
    write_tiff(_fjord(folder), FJORD[bleed_px:-bleed_px, bleed_px:-bleed_px], PPI)


def _orientation(folder: Path) -> None:
    write_tiff(_fjord(folder), FJORD, PPI, extratags=[(274, 3, 1, 6, True)])


def _deep_to_32768(folder: Path) -> None:
    deep = np.round(FJORD.astype(float) / 255 * 32768).astype(np.uint16)
    write_tiff(_fjord(folder), deep, PPI)


def _same_file(folder: Path) -> None:
    _fjord(folder).write_bytes(plate_of(folder, "Soot").read_bytes())


def _linked_file(folder: Path) -> None:
    _fjord(folder).unlink()
    os.link(plate_of(folder, "Soot"), _fjord(folder))


def _vast(folder: Path) -> None:
    set_tag(set_tag(_fjord(folder), 256, 4_000_000), 257, 60_000)


def _inverted(folder: Path) -> None:
    sparse = np.full((HEIGHT_PX, WIDTH_PX), 255, np.uint8)
    sparse[40:50, 30:60] = 0
    for ink in ("Soot", "Rowan"):
        write_tiff(plate_of(folder, ink), np.roll(sparse, 20 if ink == "Soot" else 40, 0), PPI)
    write_tiff(_fjord(folder), 255 - sparse, PPI)


def _two_faults(folder: Path) -> None:
    _fjord(folder).write_bytes(b"")
    Image.fromarray(FJORD).save(plate_of(folder, "Rowan"), format="JPEG")


FJORD = plates()["Fjord"]
COLOUR = np.stack([FJORD, FJORD // 2, 255 - FJORD], axis=-1)

PLATES = (
    _plate("missing", lambda f: _fjord(f).unlink(), "Fjord", "no plate", 'absent = "empty"'),
    _plate("all missing", lambda f: [p.unlink() for p in f.rglob("*.tif")], "no plate was found"),
    _plate("zero bytes", lambda f: _fjord(f).write_bytes(b""), "front/Fjord.tif", "0 bytes"),
    _plate("truncated", _truncate, "front/Fjord.tif", "export or copy it again"),
    _plate("truncated, packed", _truncate_packed, "front/Fjord.tif", "export or copy it again"),
    _plate("damaged, packed", _damage_packed, "front/Fjord.tif", "export or copy it again"),
    _plate("palette", _palette, "front/Fjord.tif", "palette", "grey"),
    _plate("real colour", _rewrite(COLOUR, photometric="rgb"), "front/Fjord.tif", "colour", "grey"),
    _plate("float", _rewrite(FJORD.astype(np.float32) / 255), "front/Fjord.tif", "float", "8"),
    _plate("zero size", lambda f: set_tag(_fjord(f), 257, 0), "front/Fjord.tif", "236 × 0"),
    _plate("absurdly large", _vast, "front/Fjord.tif", "4000000 × 60000 px", "the limit is"),
    _plate("JPEG called .tif", _renamed_picture("JPEG"), "Fjord.tif", "JPEG", "ending .tif"),
    _plate(
        "PDF called .tif",
        lambda f: _fjord(f).write_bytes(b"%PDF-1.7\n1 0 obj\n"),
        *("Fjord.tif", "PDF", "PDF is not read yet", "greyscale TIFF"),
    ),
    _plate("text", lambda f: _fjord(f).write_text("hello"), "Fjord.tif", "not a picture file"),
    _plate("differently sized", _rewrite(FJORD[:, :-20]), "Fjord.tif", "216 × 157", "236 × 157"),
    _plate("cropped", _rewrite(FJORD[5:, 7:]), "Fjord.tif", "229 × 152", "same canvas"),
    _plate("turned", _rewrite(np.rot90(FJORD)), "Fjord.tif", "157 × 236", "turned"),
    _plate("orientation tag", _orientation, "Fjord.tif", "orientation", "turn"),
    _plate("without bleed", _without_bleed, "Fjord.tif", "without bleed", "with bleed"),
    _plate("16 bits to 32768", _deep_to_32768, "Fjord.tif", "32768", "65535"),
    _plate("no ppi", _rewrite(FJORD, None), "Fjord.tif", "resolution"),
    _plate("72 ppi", _rewrite(FJORD, 72), "Fjord.tif", "72"),
    _plate("same file for two inks", _same_file, "Fjord.tif", "Soot.tif", "same"),
    _plate("one file linked for two inks", _linked_file, "given for both Soot and Fjord"),
    _plate("inverted", _inverted, "Fjord.tif", "invert"),
    _plate(
        "folder", lambda f: (_fjord(f).unlink(), _fjord(f).mkdir()), "Fjord", "not a plate file"
    ),
    _plate("two faults", _two_faults, "Fjord.tif", "0 bytes", "Rowan.tif", "JPEG", faults=2),
    _plate(
        "faults of inks and plates",
        _two_faults,
        *('no ink "night-ferry/Zoot"', "Fjord.tif", "Rowan.tif"),
        text=changed("lab = [26, 1, 1]", 'swatch = "night-ferry/Zoot"'),
        faults=3,
    ),
    _plate(
        "misspelt",
        lambda f: _fjord(f).rename(_fjord(f).with_name("Fiord.tif")),
        *("Fiord.tif", "not an ink of the book", "did you mean Fjord"),
    ),
)

# --- the book file -------------------------------------------------------------------------------

BOOKS = (
    _book(
        "decimal comma", changed("bleed_mm = 3", "bleed_mm = 3,5"), "line", "decimal comma", "3.5"
    ),
    _book("curly quotes", changed('"Two panels"', "\u201cTwo panels\u201d"), "line 2", "curly"),
    _book(
        "backslash path",
        changed("plates/{spread}/{ink}.tif", "plates\\{spread}\\{ink}.tif"),
        *("line", "backslash", "/"),
    ),
    _book(
        "backslash path that TOML reads",
        changed('"plates/{spread}/{ink}.tif"', "'plates\\{spread}\\{ink}.tif'"),
        *("plates.pattern", "backslash", "/"),
    ),
    _book("unknown key", changed("ink_limit_pct", "ink_limit"), "ink_limit", "did you mean"),
    _book("limit of 2.8", changed("260", "2.8"), "ink_limit_pct", "2.8", "write 280"),
    _book("ink without colour", changed("lab = [33, 6, -34]\n", ""), "Fjord", "has no colour"),
    _book("newer format", changed("format = 1", "format = 2"), "format 2", "newer inkmix"),
    _book("no format", changed("format = 1\n", ""), "format", "missing"),
    _book("NaN", changed("260", "nan"), "ink_limit_pct", "finite"),
    _book("infinite", changed("260", "inf"), "ink_limit_pct", "finite"),
    _book("text for a number", changed("260", '"260"'), "ink_limit_pct", "without quotes"),
    _book("plainly D65 paper", changed("[94, 0, 3]", "[94, -2, -18]"), "paper.lab"),
    _book(
        "path that leaves", changed("plates/{spread}", "../{spread}"), "plates.pattern", "leaves"
    ),
    _book(
        "absolute path", changed("plates/{spread}", "/etc/{spread}"), "plates.pattern", "absolute"
    ),
    _book("empty", "", "book.toml", "is empty", "inkmix start"),
    _book("UTF-16", BOOK.encode("utf-16"), "book.toml", "UTF-16", "UTF-8"),
    _book("Latin-1", BOOK.replace("Two", "Zwölf").encode("latin-1"), "line 2", "UTF-8"),
    _book("half a line", BOOK[:-4], "book.toml", "line"),
    _book("two inks of one name", changed("Fjord", "Soot"), "Soot"),
    _book(
        "no swatch", changed("lab = [33, 6, -34]", 'swatch = "night-ferry/Fjrd"'), "did you mean"
    ),
    _book("sheet of another size", changed("[27, 34]", "[27, 44]"), "60 × 50 mm", code=3),
)

# --- measurements --------------------------------------------------------------------------------


RAMP_OF_BLACK = """\
BEGIN_DATA_FORMAT
SAMPLE_ID Rowan XYZ_X XYZ_Y XYZ_Z
END_DATA_FORMAT
BEGIN_DATA
{}
{}
{}
END_DATA
"""


def _cgats(name: str, content: str | bytes, *said: str, faults: int = 1) -> Case:
    data = content.encode() if isinstance(content, str) else content
    return Case(
        name=name,
        spoil=lambda folder: (folder / "rowan.txt").write_bytes(data),
        code=3,
        said=("book.toml: inks[3]: rowan.txt", *said),
        text=MEASURED,
        faults=faults,
    )


MEASUREMENTS = (
    _cgats("empty measurements", "", "is empty", "CGATS"),
    _cgats("half measurements", CGATS[: CGATS.index("3 70")], "line 11", "cut off"),
    _cgats("half a row", CGATS[: CGATS.index("31.0 15")], "ends after 3 rows", "3 cells", faults=2),
    _cgats("negative value", CGATS.replace("31.0", "-31.0"), "line 11", "XYZ_Y", "-31"),
    _cgats("NaN measured", CGATS.replace("31.0", "nan"), "line 11", "XYZ_Y", "finite"),
    _cgats("text for a value", CGATS.replace("31.0", "red"), "line 11", "XYZ_Y", "finite"),
    _cgats("a picture", b"\x89PNG\r\n\x1a\n" + bytes(40), "this is a picture (PNG)", "CGATS"),
    _cgats(
        "negative reflectance",
        "BEGIN_DATA_FORMAT\nRowan "
        + " ".join(f"SPECTRAL_NM{nm}" for nm in range(380, 740, 10))
        + "\nEND_DATA_FORMAT\nBEGIN_DATA\n0 "
        + " ".join(["0.8"] * 36)
        + "\n100 "
        + " ".join(["0.2"] * 20 + ["-0.1"] + ["0.2"] * 15)
        + "\nEND_DATA\n",
        *("SPECTRAL_NM580", "-0.1", "reflectance is 0 to 1"),
    ),
    _cgats(
        "said to be D65",
        CGATS.replace("NUMBER_OF_FIELDS", 'ILLUMINANT "D65"\nNUMBER_OF_FIELDS'),
        *("D65", "D50", "export again"),
    ),
    _cgats(
        "plainly D65 by its black",
        RAMP_OF_BLACK.format(
            *("1 0 80.0 84.0 91.5", "2 50 27.0 28.4 30.9", "3 100 3.1 3.3 3.6"),
        ),
        *("D65", "D50"),
    ),
    _cgats(
        "other inks",
        CGATS.replace("XYZ_X XYZ_Y XYZ_Z", "Slate XYZ_X XYZ_Y XYZ_Z")
        .replace("Rowan", "Brick")
        .replace("FIELDS 5", "FIELDS 6")
        .replace(" 0 81", " 0 0 81")
        .replace(" 40 56", " 40 0 56")
        .replace(" 70 42", " 70 0 42")
        .replace(" 100 34", " 100 0 34"),
        *("Rowan", "Brick, Slate"),
    ),
    Case(
        name="no measurements",
        spoil=lambda folder: (folder / "rowan.txt").unlink(),
        code=2,
        said=("inks[3].measurements", "there is no file rowan.txt"),
        text=MEASURED,
    ),
)

# --- masks and pictures --------------------------------------------------------------------------


def _mask(name: str, spoil: Spoil, *said: str) -> Case:
    return Case(name=name, spoil=spoil, code=3, said=("cellar.png", *said), text=BOOK + NIGHT)


def _draw_mask(numbers: np.ndarray) -> Spoil:
    return lambda folder: write_png(folder / "masks" / "cellar.png", numbers, PPI)


def _draw_reference(width: int, height: int, kind: str = "PNG") -> Spoil:
    picture = Image.new("RGB", (width, height), "#887766")
    return lambda folder: picture.save(folder / "whole.png", format=kind)


SCREENSHOT = np.zeros((108, 192), np.uint8)
SCREENSHOT[20:60, 20:60] = 255

PICTURES = (
    _mask("mask inverted", _draw_mask(255 - cellar()), "invert", "mask_shows"),
    _mask("mask of screenshot size", _draw_mask(SCREENSHOT), "192 × 108", "same canvas"),
    _mask("mask of greys", _draw_mask(FJORD), "grey", "two tones"),
    _mask("mask empty", _draw_mask(np.zeros_like(FJORD)), "marks nothing"),
    _mask(
        "mask in colour", lambda f: Image.fromarray(COLOUR).save(f / "masks/cellar.png"), "colour"
    ),
    Case(
        name="mask missing",
        spoil=lambda folder: (folder / "masks" / "cellar.png").unlink(),
        code=2,
        said=("night[1].mask", "there is no file masks/cellar.png"),
        text=BOOK + NIGHT,
    ),
    _mask("mask truncated", lambda f: _halve(f / "masks/cellar.png"), "copy it again"),
    Case(
        name="mask that leaves",
        spoil=lambda folder: None,
        code=2,
        said=("night[1].mask", "leaves"),
        text=BOOK + changed("masks/cellar.png", "../cellar.png", NIGHT),
    ),
    Case(
        name="reference of other proportions",
        spoil=_draw_reference(400, 400),
        code=3,
        said=("whole.png", "400 × 400", "neither cropped nor stretched"),
        text=BOOK + REFERENCE,
    ),
    Case(
        name="reference missing",
        spoil=lambda folder: None,
        code=2,
        said=("reference.picture", "there is no file whole.png"),
        text=BOOK + REFERENCE,
    ),
    Case(
        name="reference no picture",
        spoil=lambda folder: (folder / "whole.png").write_bytes(b"%PDF-1.7"),
        code=3,
        said=("whole.png", "cannot be read"),
        text=BOOK + REFERENCE,
    ),
)


def _halve(path: Path) -> None:
    data = path.read_bytes()
    path.write_bytes(data[: len(data) // 2])


ALL = (*PLATES, *BOOKS, *MEASUREMENTS, *PICTURES)
