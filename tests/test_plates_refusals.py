"""Files that cannot be a plate: one clear message each, never a traceback, no file touched."""

import re
import struct
import zlib
from pathlib import Path

import imagecodecs
import numpy as np
import pytest
import tifffile
from PIL import Image
from plate_files import (
    line_work,
    open_plate,
    png_chunk,
    ramp,
    set_tag,
    write_png,
    write_separated,
    write_tiff,
)

from inkmix.base.errors import PictureError, PlateError
from inkmix.plates.files import limits
from inkmix.plates.files.tiff import segments
from inkmix.plates.masks.picture import open_mask
from inkmix.plates.reference.picture import open_reference
from inkmix.sheet.geometry import Sheet

GREY3 = np.stack([ramp()] * 3, axis=-1)
COLOUR = np.stack([ramp(), 255 - ramp(), ramp()], axis=-1)


def refused(path: Path, *words: str, **options) -> PlateError:
    """The error of opening and reading; it names the file, says these words, touches nothing."""
    before = path.read_bytes() if path.is_file() else None
    with pytest.raises(PlateError) as caught:
        _open_and_read(path, **options)
    text = str(caught.value)
    assert path.name in text
    for word in words:
        assert re.search(word, text), f"{word!r} is not in: {text}"
    assert caught.value.exit_code == 3
    assert all(fault.do or fault.expected for fault in caught.value.faults)
    if before is not None:
        assert path.read_bytes() == before
    return caught.value


def _open_and_read(path: Path, **options) -> None:
    plate = open_plate(path, ink="Soot", **options)
    plate.read(slice(0, plate.header.height_px), slice(0, plate.header.width_px))


def test_missing(tmp_path):
    refused(tmp_path / "Soot.tif", "does not exist", "check the name")


def test_folder(tmp_path):
    (tmp_path / "Soot.tif").mkdir()
    refused(tmp_path / "Soot.tif", "is a folder")


def test_zero_bytes(tmp_path):
    (tmp_path / "Soot.tif").write_bytes(b"")
    refused(tmp_path / "Soot.tif", r"is empty \(0 bytes\)", "export it again")


def test_jpeg_called_tif(tmp_path):
    Image.fromarray(ramp()).save(tmp_path / "Soot.tif", format="JPEG")
    refused(tmp_path / "Soot.tif", "is a JPEG file with the name ending .tif", "greyscale TIFF")


@pytest.mark.parametrize("head", [b"%PDF-1.6\n", b"\n\n junk \n%PDF-1.4\n"])
def test_pdf_called_tif_comes_later(tmp_path, head):
    (tmp_path / "Soot.tif").write_bytes(head + b"1 0 obj" * 40)
    refused(
        tmp_path / "Soot.tif", "is a PDF file", "PDF is not read yet", "export each plate as a grey"
    )


@pytest.mark.parametrize(
    ("head", "name"),
    [(b"8BPS\0\1", "PSD"), (b"GIF89a", "GIF"), (b"RIFF1234WEBP", "WebP"), (b"%!PS-Adobe", "EPS")],
)
def test_other_formats_by_name(tmp_path, head, name):
    (tmp_path / "Soot.tif").write_bytes(head + bytes(100))
    refused(tmp_path / "Soot.tif", f"is a .*{name}", "a TIFF or PNG is needed")


def test_text_called_png(tmp_path):
    (tmp_path / "Soot.png").write_text("no picture")
    refused(tmp_path / "Soot.png", "not a picture file that inkmix knows")


@pytest.mark.parametrize(
    "options", [{}, {"rowsperstrip": 7}, {"compression": "lzw", "rowsperstrip": 7}]
)
@pytest.mark.parametrize("kept", [0.97, 0.5, 0.1])
def test_truncated_tiff(tmp_path, options, kept):
    whole = write_tiff(tmp_path / "whole.tif", ramp(400, 300), **options).read_bytes()
    (tmp_path / "Soot.tif").write_bytes(whole[: int(len(whole) * kept)])
    refused(tmp_path / "Soot.tif", "cut off|damaged", "again")


def test_truncated_in_the_header(tmp_path):
    whole = write_tiff(tmp_path / "whole.tif", ramp()).read_bytes()
    for count in (4, 7, 9, 40):
        (tmp_path / "Soot.tif").write_bytes(whole[:count])
        refused(tmp_path / "Soot.tif", "damaged|no page")


@pytest.mark.parametrize("kept", [0.97, 0.5, 0.01])
def test_truncated_png(tmp_path, kept):
    whole = write_png(tmp_path / "whole.png", ramp(400, 300)).read_bytes()
    (tmp_path / "Soot.png").write_bytes(whole[: int(len(whole) * kept)])
    refused(tmp_path / "Soot.png", "damaged", "again")


def test_png_with_a_wrong_check_sum(tmp_path):
    data = bytearray(write_png(tmp_path / "Soot.png", ramp()).read_bytes())
    data[200] ^= 1
    (tmp_path / "Soot.png").write_bytes(bytes(data))
    refused(tmp_path / "Soot.png", "damaged: a check sum is wrong")


@pytest.mark.parametrize("compression", ["lzw", "zlib", "zstd", "packbits"])
def test_damaged_strips_are_found_when_they_are_read(tmp_path, compression):
    path = write_tiff(tmp_path / "Soot.tif", ramp(400, 300), compression=compression)
    with tifffile.TiffFile(path) as file:
        start, count = file.pages[0].dataoffsets[0], file.pages[0].databytecounts[0]
    data = bytearray(path.read_bytes())
    data[start : start + count] = b"\xff" * count
    path.write_bytes(bytes(data))
    refused(path, "damaged", "cannot be unpacked|holds more than its rows")


def test_palette(tmp_path):
    colours = np.arange(768).reshape(3, 256).astype(np.uint16)
    path = write_tiff(tmp_path / "Soot.tif", ramp(), photometric="palette", colormap=colours)
    refused(path, "palette picture", "greyscale")
    Image.fromarray(ramp()).convert("P").save(tmp_path / "Soot.png")
    refused(tmp_path / "Soot.png", "palette picture", "greyscale")


@pytest.mark.parametrize("ending", ["tif", "png"])
def test_real_colour(tmp_path, ending):
    path = tmp_path / f"Soot.{ending}"
    writer = write_png if ending == "png" else write_tiff
    writer(path, COLOUR, **({} if ending == "png" else {"photometric": "rgb"}))
    refused(path, "is a colour picture", "greyscale")


def test_one_coloured_pixel_is_colour(tmp_path):
    pixels = GREY3.copy()
    pixels[-1, -1, 2] ^= 1
    refused(write_tiff(tmp_path / "Soot.tif", pixels, photometric="rgb"), "is a colour picture")


@pytest.mark.parametrize("mode", ["YCbCr", "LAB"])
def test_colour_of_other_kinds(tmp_path, mode):
    Image.fromarray(COLOUR).convert("YCbCr").save(tmp_path / "Soot.tif")
    path = tmp_path / "Soot.tif"
    set_tag(path, 262, {"YCbCr": 6, "LAB": 8}[mode])
    refused(path, f"{'YCbCr' if mode == 'YCbCr' else 'CIELab'} colour", "greyscale")


@pytest.mark.parametrize("ending", ["tif", "png"])
def test_alpha_that_hides_something(tmp_path, ending):
    alpha = np.full_like(ramp(), 255)
    alpha[3, 3] = 254
    pixels = np.dstack([GREY3, alpha])
    path = tmp_path / f"Soot.{ending}"
    if ending == "png":
        write_png(path, pixels)
    else:
        write_tiff(path, pixels, photometric="rgb", extrasamples=["unassalpha"])
    refused(path, "alpha channel that hides parts", "flatten it on white")


def test_png_with_a_transparent_grey(tmp_path):
    path = write_png(tmp_path / "Soot.png", ramp(), tRNS=struct.pack(">H", 7))
    refused(path, "alpha channel that hides parts")


@pytest.mark.parametrize(
    ("dtype", "words"),
    [(np.float32, "32-bit floating point"), (np.float16, "16-bit floating"), (np.int16, "signed")],
)
def test_numbers_of_other_kinds(tmp_path, dtype, words):
    refused(write_tiff(tmp_path / "Soot.tif", ramp().astype(dtype)), words, "8 or 16 bits")


def test_thirty_two_bits(tmp_path):
    refused(write_tiff(tmp_path / "Soot.tif", ramp().astype(np.uint32)), "holds 32 bits a pixel")


def test_zero_size(tmp_path):
    path = write_tiff(tmp_path / "Soot.tif", ramp())
    refused(set_tag(path, 257, 0), "83 × 0 px|damaged")


@pytest.mark.parametrize("width", [300_000, 2**31])
def test_absurdly_large(tmp_path, width):
    path = write_tiff(tmp_path / "Soot.tif", ramp(1, 83))
    refused(set_tag(path, 256, width), rf"{width} × 1 px", "the limit is 250000 px a side")


def test_absurdly_large_png(tmp_path):
    path = write_png(tmp_path / "Soot.png", ramp())
    data = path.read_bytes()
    head = struct.pack(">II", 40_000, 40_000) + data[24:29]
    check = struct.pack(">I", imagecodecs.zlib_crc32(b"IHDR" + head))
    path.write_bytes(data[:16] + head + check + data[33:])
    refused(path, "40000 × 40000 px", "PNG files are read up to 536 million pixels", "as TIFF")


def test_header_that_promises_more_than_the_file_holds(tmp_path):
    path = write_tiff(tmp_path / "Soot.tif", ramp(), compression="zlib")
    refused(set_tag(path, 257, 9000), "damaged")


@pytest.mark.parametrize("segment_px", [limits.MAX_SEGMENT_PX, 1])
@pytest.mark.parametrize("compression", ["zlib", "lzw", "zstd", "packbits"])
def test_packed_data_that_end_early(tmp_path, monkeypatch, segment_px, compression):
    """The strip is whole, the header promises one row more."""
    monkeypatch.setattr(segments, "MAX_SEGMENT_PX", segment_px)
    path = write_tiff(tmp_path / "Soot.tif", ramp(), compression=compression, rowsperstrip=61)
    set_tag(set_tag(path, 257, 62), 278, 62)
    refused(path, "damaged", "again")


def test_jpeg_packed_tiff(tmp_path):
    path = write_tiff(tmp_path / "Soot.tif", ramp(64, 64), compression="jpeg")
    refused(path, "is packed with JPEG", "read are none, G4, LZW, deflate, packbits, zstd")


@pytest.mark.parametrize(("code", "words"), [(6, "turned by 90°"), (3, "180°"), (2, "mirrored")])
def test_orientation_tag(tmp_path, code, words):
    path = write_tiff(tmp_path / "Soot.tif", ramp(), extratags=[(274, 3, 1, code, True)])
    set_tag(path, 274, code)
    refused(path, words, rf"orientation tag {code}", "without the mark")


def test_pixels_that_are_not_square(tmp_path):
    path = write_tiff(tmp_path / "Soot.tif", ramp(), resolution=(200, 100), ppi=200)
    refused(path, "not square", "200 × 100 ppi")


def test_all_faults_of_one_file_come_together(tmp_path):
    path = write_tiff(
        tmp_path / "Soot.tif",
        ramp().astype(np.float32),
        compression="lzma",
        extratags=[(274, 3, 1, 6, True)],
    )
    set_tag(path, 274, 6)
    error = refused(path, "floating point", "LZMA", "orientation tag 6")
    assert len(error.faults) == 3


def test_two_inks_of_one_name_in_a_file(tmp_path):
    pixels = np.dstack([ramp()] * 4)
    path = write_separated(tmp_path / "Soot.tif", pixels, ("Soot", "Soot", "Fjord", "Fog"))
    refused(path, "more than one of them is Soot")


def test_random_damage_never_ends_in_a_traceback(tmp_path):
    """Single bytes of headers and data set at random: read, or refused with a fault."""
    rng = np.random.default_rng(3)
    kinds = [
        write_tiff(tmp_path / "a.tif", ramp(), compression="lzw", rowsperstrip=9),
        write_tiff(tmp_path / "b.tif", line_work(), compression="packbits", tile=(16, 16)),
        write_png(tmp_path / "c.png", ramp()),
        write_separated(tmp_path / "d.tif", np.dstack([ramp()] * 5), tuple("abcde")),
    ]
    outcomes = set()
    for path in kinds:
        whole = path.read_bytes()
        with_headers = np.concatenate([np.arange(60), len(whole) - 1 - np.arange(300)])
        for place in rng.choice(with_headers[with_headers < len(whole)], 60):
            data = bytearray(whole)
            data[place] = rng.integers(256)
            path.write_bytes(bytes(data))
            outcomes.add(_outcome(path))
    assert outcomes == {"read", "refused"}


def _outcome(path: Path) -> str:
    try:
        _open_and_read(path, channel=0)
    except PlateError:
        return "refused"
    return "read"


SHORTENED = ["lzw", "zlib", "packbits", "zstd"]


def shortened(path: Path, strip: int, *, how: str) -> Path:
    """A file with one strip or tile that holds half of its data, by its byte count or by zeros."""
    with tifffile.TiffFile(path) as file:
        page = file.pages[0]
        start, count = page.dataoffsets[strip], page.databytecounts[strip]
        tag = page.tags["TileByteCounts" if page.is_tiled else "StripByteCounts"]
        place, width = tag.valueoffset, tag.valuebytecount // tag.count
    data = bytearray(path.read_bytes())
    if how == "count":
        place += strip * width
        data[place : place + width] = (count // 2).to_bytes(width, "little")
    else:
        data[start + count // 2 : start + count] = bytes(count - count // 2)
    path.write_bytes(bytes(data))
    return path


@pytest.mark.parametrize("how", ["count", "zeros"])
@pytest.mark.parametrize("segment_px", [limits.MAX_SEGMENT_PX, 1])
@pytest.mark.parametrize("compression", SHORTENED)
def test_a_short_strip_amid_a_file_is_named(tmp_path, monkeypatch, compression, segment_px, how):
    """It is never white paper; strips before it, and ordinary ones behind it, are read right."""
    monkeypatch.setattr(segments, "MAX_SEGMENT_PX", segment_px)
    pixels = np.random.default_rng(1).integers(0, 9, (3400, 40)).astype(np.uint8)
    path = write_tiff(tmp_path / "Soot.tif", pixels, compression=compression, rowsperstrip=64)
    shortened(path, 50, how=how)
    plate, cols = open_plate(path, ink="Soot"), slice(0, 40)
    with pytest.raises(PlateError, match=r"damaged: strip 51 \(rows 3200-3263\) .*again"):
        plate.read(slice(3000, 3300), cols)
    good = [slice(0, 3200), slice(3264, 3400)] if segment_px > 1 else []
    for rows in good:
        np.testing.assert_array_equal(plate.read(rows, cols), 255 - pixels[rows])
    with pytest.raises(PlateError, match=r"strip 51 \(rows 3200-3263\)"):
        plate.read(slice(3210, 3211), cols)


@pytest.mark.parametrize("how", ["count", "zeros"])
def test_a_short_tile_is_named(tmp_path, how):
    pixels = np.random.default_rng(1).integers(0, 9, (200, 100)).astype(np.uint8)
    path = write_tiff(tmp_path / "Soot.tif", pixels, compression="lzw", tile=(64, 64))
    shortened(path, 5, how=how)
    refused(path, r"damaged: tile 6 \(rows 128-191\)")


@pytest.mark.parametrize("kept", [0.3, 0.8])
def test_rows_of_a_png_that_end_early(tmp_path, kept):
    """All check sums are right, the zlib stream is cut."""
    whole = write_png(tmp_path / "Soot.png", ramp(400, 300)).read_bytes()
    start = whole.index(b"IDAT") - 4
    count = int.from_bytes(whole[start : start + 4])
    packed = whole[start + 8 : start + 8 + int(count * kept)]
    chunks = png_chunk(b"IDAT", packed) + png_chunk(b"IEND", b"")
    (tmp_path / "Soot.png").write_bytes(whole[:start] + chunks)
    refused(tmp_path / "Soot.png", r"damaged: its rows end early, at row \d+ of 400")


def test_png_rows_with_an_unknown_filter(tmp_path):
    path = write_png(tmp_path / "Soot.png", ramp())
    raw = b"".join(bytes([9]) + line.tobytes() for line in ramp())
    head = path.read_bytes()[:33]
    data = png_chunk(b"IDAT", zlib.compress(raw)) + png_chunk(b"IEND", b"")
    path.write_bytes(head + data)
    refused(path, "damaged: it cannot be unpacked")


def test_png_with_a_wrong_sum_in_its_data(tmp_path):
    """The check sum of the zlib stream stands behind the last row."""
    path = write_png(tmp_path / "Soot.png", ramp())
    packed = bytearray(zlib.compress(b"".join(b"\0" + line.tobytes() for line in ramp())))
    packed[-1] ^= 1
    data = png_chunk(b"IDAT", bytes(packed)) + png_chunk(b"IEND", b"")
    path.write_bytes(path.read_bytes()[:33] + data)
    refused(path, "damaged: it cannot be unpacked")


def test_a_plain_strip_that_is_short_or_missing_is_named(tmp_path):
    path = write_tiff(tmp_path / "Soot.tif", ramp(400, 300), rowsperstrip=8)
    refused(shortened(path, 10, how="count"), r"damaged: strip 11 \(rows 80-87\) .*again")
    shortened(shortened(path, 20, how="count"), 30, how="count")
    refused(path, r"strip 11 \(rows 80-87\) and 2 others")


def test_a_file_that_is_cut_off_says_from_where(tmp_path):
    path = write_tiff(tmp_path / "Soot.tif", ramp(400, 300), rowsperstrip=8)
    with tifffile.TiffFile(path) as file:
        start = file.pages[0].dataoffsets[30]
    path.write_bytes(path.read_bytes()[: start + 7])
    refused(path, rf"is cut off: {start + 7} bytes, up to strip 31 \(rows 240-247\)", "again")


def chunks_of(path: Path) -> list[tuple[bytes, bytes]]:
    """Kind and content of the chunks of a PNG."""
    data, place, found = path.read_bytes(), 8, []
    while place < len(data):
        count = int.from_bytes(data[place : place + 4])
        found.append((data[place + 4 : place + 8], data[place + 8 : place + 8 + count]))
        place += 12 + count
    return found


def put_together(path: Path, chunks: list[tuple[bytes, bytes]]) -> Path:
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + b"".join(png_chunk(*chunk) for chunk in chunks))
    return path


def header(**changed: int) -> bytes:
    """IHDR of ramp(), with other bytes (PNG, third edition, 11.2.1)."""
    fields = {"bits": 8, "colour": 0, "packing": 0, "filters": 0, "interlace": 0} | changed
    return struct.pack(">II5B", 83, 61, *fields.values())


HEAD, TEXT, PALETTE = (b"IHDR", header()), (b"tEXt", b"a\0b"), (b"PLTE", bytes(768))
PIXELS = (b"IDAT", zlib.compress(b"".join(b"\0" + line.tobytes() for line in ramp())))
HALVES = [(b"IDAT", PIXELS[1][:50]), (b"IDAT", PIXELS[1][50:])]
PHYS, END = (b"pHYs", struct.pack(">IIB", 7874, 7874, 1)), (b"IEND", b"")
FORBIDDEN = {
    "two headers": ([HEAD, HEAD, PIXELS], "holds 2 parts IHDR"),
    "a header that is not first": ([TEXT, HEAD, PIXELS], "does not begin with its header"),
    "an unknown critical part": (
        [HEAD, (b"ABCD", b"x"), PIXELS],
        "part ABCD, which readers must not skip",
    ),
    "as telephones pack apps": ([(b"CgBI", b"abcd"), HEAD, PIXELS], "part CgBI"),
    "a name without letters": ([HEAD, (b"ab\0d", b""), PIXELS], "a part has no name"),
    "pixels apart": ([HEAD, HALVES[0], TEXT, HALVES[1]], "other parts between those of its pixels"),
    "a grey palette": ([HEAD, PALETTE, PIXELS], "is grey and holds a palette"),
    "a palette behind": ([HEAD, PIXELS, PALETTE], "part PLTE behind its pixels"),
    "no palette": ([(b"IHDR", header(colour=3)), PIXELS], "without its palette"),
    "a long palette": ([(b"IHDR", header(colour=3)), (b"PLTE", bytes(771)), PIXELS], "771 bytes"),
    "two resolutions": ([HEAD, PHYS, PHYS, PIXELS], "holds 2 parts pHYs"),
    "two clear colours": ([HEAD, (b"tRNS", bytes(2)), (b"tRNS", bytes(2)), PIXELS], "2 parts tRNS"),
    "a late clear colour": ([HEAD, PIXELS, (b"tRNS", bytes(2))], "part tRNS behind its pixels"),
    "a short clear colour": ([HEAD, (b"tRNS", b"x"), PIXELS], r"\(tRNS\) in 1 bytes"),
    "clear before palette": (
        [(b"IHDR", header(colour=3)), (b"tRNS", b"x"), PALETTE, PIXELS],
        "tRNS before its palette",
    ),
    "clear beyond the palette": (
        [(b"IHDR", header(colour=3)), (b"PLTE", bytes(6)), (b"tRNS", b"xyz"), PIXELS],
        "for more colours than its palette",
    ),
    "clear beside alpha": (
        [(b"IHDR", header(colour=4)), (b"tRNS", bytes(2)), PIXELS],
        "says twice what is clear",
    ),
    "clear beside alpha in colour": (
        [(b"IHDR", header(colour=6)), (b"tRNS", bytes(6)), PIXELS],
        "says twice what is clear",
    ),
    "another packing": ([(b"IHDR", header(packing=9)), PIXELS], "is packed by method 9"),
    "another filter": ([(b"IHDR", header(filters=3)), PIXELS], "is filtered by method 3"),
    "another interlacing": ([(b"IHDR", header(interlace=2)), PIXELS], "is interlaced by method 2"),
    "colour in one bit": ([(b"IHDR", header(bits=1, colour=2)), PIXELS], "1 bits a channel and"),
    "a kind of colour": ([(b"IHDR", header(colour=5)), PIXELS], "colours of type 5"),
}


@pytest.mark.parametrize("name", FORBIDDEN)
def test_png_that_the_specification_forbids(tmp_path, name):
    """PNG, third edition: 5.3 to 5.6, 11.2 and 11.3.1; also where it is a reference picture."""
    chunks, words = FORBIDDEN[name]
    path = put_together(tmp_path / "Soot.png", [*chunks, END])
    refused(path, words, "again")
    with pytest.raises(PictureError, match=words):
        open_reference(path, None)


def test_png_with_parts_that_may_be_passed_over(tmp_path):
    """Unknown ancillary parts, text behind the pixels, a palette that is suggested for colour."""
    extra = [(b"prVt", b"x"), (b"sBIT", b"\x08"), PHYS, *HALVES, TEXT, TEXT, END]
    path = put_together(tmp_path / "Soot.png", [HEAD, *extra])
    plate = open_plate(path, ink="Soot")
    np.testing.assert_array_equal(plate.read(slice(0, 61), slice(0, 83)), 255 - ramp())
    write_png(path, GREY3, PLTE=bytes(30))
    plate = open_plate(path, ink="Soot")
    np.testing.assert_array_equal(plate.read(slice(0, 61), slice(0, 83)), 255 - ramp())


@pytest.mark.parametrize("clear", [1, 255, 256])
def test_a_palette_may_say_of_each_colour_how_clear_it_is(tmp_path, clear):
    """PNG, third edition, 11.3.1.1: as many entries as the palette has, or fewer."""
    pixels = (b"IDAT", zlib.compress(b"".join(b"\0" + bytes(range(83)) for _ in range(61))))
    chunks = [(b"IHDR", header(colour=3)), PALETTE, (b"tRNS", b"\xff" * clear), pixels, END]
    path = put_together(tmp_path / "Soot.png", chunks)
    found = open_reference(path, None).read(slice(0, 61), slice(0, 83))
    assert not found.any()  # opaque black, whichever number
    assert "tRNS" not in str(refused(path, "is a palette picture"))


@pytest.mark.parametrize("bytes_more", [15, 83, 84, 61 * 84])
def test_png_that_holds_more_than_its_rows(tmp_path, bytes_more):
    """A few bytes are let pass; a line more says that width or bits are not as declared."""
    raw = b"".join(b"\0" + line.tobytes() for line in ramp()) + bytes(bytes_more)
    chunks = [HEAD, (b"IDAT", zlib.compress(raw)), END]
    path = put_together(tmp_path / "Soot.png", chunks)
    if bytes_more > 83:
        refused(path, "holds more than its rows")
    else:
        _open_and_read(path)


def test_sixteen_bits_of_a_png_declared_as_eight(tmp_path):
    chunks = chunks_of(write_png(tmp_path / "Soot.png", ramp().astype(np.uint16) * 257))
    chunks[0] = HEAD
    refused(put_together(tmp_path / "Soot.png", chunks), "holds more than its rows|unpacked")


PACKINGS = [None, "lzw", "zlib", "zstd", "packbits"]


@pytest.mark.parametrize("segment_px", [limits.MAX_SEGMENT_PX, 1])
@pytest.mark.parametrize("kind", ["16 bits as 8", "8 bits as 1", "RGB as grey", "16 bits in tiles"])
@pytest.mark.parametrize("compression", PACKINGS)
def test_more_than_the_rows_need(tmp_path, monkeypatch, compression, kind, segment_px):
    """Whatever packs it, a strip of twice the bytes says that the file is wrong about them."""
    monkeypatch.setattr(segments, "MAX_SEGMENT_PX", segment_px)
    pixels = np.random.default_rng(1).integers(0, 9, (64, 96)).astype(np.uint8)
    options = {"compression": compression, "rowsperstrip": 16}
    path = tmp_path / "Soot.tif"
    if kind == "RGB as grey":
        write_tiff(path, np.dstack([pixels] * 3), photometric="rgb", **options)
        set_tag(set_tag(set_tag(path, 277, 1), 262, 1), 258, 8)
        _single(path, 258)
    elif kind == "8 bits as 1":
        set_tag(write_tiff(path, pixels, **options), 258, 1)
    else:
        if "tiles" in kind:
            options = {"compression": compression, "tile": (16, 16)}
        set_tag(write_tiff(path, pixels.astype(np.uint16) * 257, **options), 258, 8)
    refused(path, r"is damaged: (strip|tile) 1 .*(holds more than its rows|where \d+ are needed)",
            "export it again")  # fmt: skip


@pytest.mark.parametrize("rows", [16, 13])
def test_an_overlong_strip_is_told_with_the_bytes_that_are_needed(tmp_path, rows):
    """Of a picture 96 px wide: its whole strips of 16 rows, and a last one of fewer."""
    pixels = np.full((rows, 96), 9, np.uint16)
    path = set_tag(write_tiff(tmp_path / "Soot.tif", pixels, rowsperstrip=16), 258, 8)
    refused(path, f"has {rows * 192} bytes where {rows * 96} are needed")


def _single(path: Path, tag: int) -> None:
    """Have a tag of three values hold one, 8."""
    data = bytearray(path.read_bytes())
    start = struct.unpack_from("<I", data, 4)[0]
    for entry in range(start + 2, start + 2 + 12 * struct.unpack_from("<H", data, start)[0], 12):
        if struct.unpack_from("<H", data, entry)[0] == tag:
            struct.pack_into("<II", data, entry + 4, 1, 8)
    path.write_bytes(bytes(data))


def strips_of(path: Path, strips: list[bytes], *, rows: int, compression: int) -> Path:
    """A TIFF of ramp() out of packed strips (TIFF 6.0, section 8), written by hand."""
    place, starts = 8, []
    for strip in strips:
        starts.append(place)
        place += len(strip)
    lists = place
    tags = {256: 83, 257: 61, 258: 8, 259: compression, 262: 1, 273: lists, 277: 1, 278: rows}
    tags[279] = lists + 4 * len(strips)
    if len(strips) == 1:  # a value of four bytes stands in the entry itself
        tags |= {273: starts[0], 279: len(strips[0])}
    entries = b"".join(
        struct.pack("<HHII", tag, 4, len(strips) if tag in (273, 279) else 1, value)
        for tag, value in tags.items()
    )
    numbers = struct.pack(f"<{2 * len(strips)}I", *starts, *map(len, strips))
    head = b"II*\0" + struct.pack("<I", lists + len(numbers))
    ifd = struct.pack("<H", len(tags)) + entries + bytes(4)
    path.write_bytes(head + b"".join(strips) + numbers + ifd)
    return path


@pytest.mark.parametrize("segment_px", [limits.MAX_SEGMENT_PX, 1])
@pytest.mark.parametrize("behind", [b"\0", b"\0" * 15])
@pytest.mark.parametrize("compression", PACKINGS)
def test_some_bytes_behind_a_strip_do_no_harm(
    tmp_path, monkeypatch, compression, behind, segment_px
):
    """Filled up to whole words, inside what is packed and behind it; the last to full height."""
    monkeypatch.setattr(segments, "MAX_SEGMENT_PX", segment_px)
    pack = {None: bytes, "lzw": imagecodecs.lzw_encode, "zlib": imagecodecs.zlib_encode,
            "zstd": imagecodecs.zstd_encode, "packbits": imagecodecs.packbits_encode}  # fmt: skip
    code = {None: 1, "lzw": 5, "zlib": 8, "zstd": 50000, "packbits": 32773}[compression]
    for last_rows in (1, 20):
        parts = [ramp()[top : top + 20].tobytes() for top in (0, 20, 40)]
        parts.append(ramp()[60:].tobytes() + bytes(83 * (last_rows - 1)))
        strips = [bytes(pack[compression](part + behind)) for part in parts]
        path = strips_of(tmp_path / "Soot.tif", strips, rows=20, compression=code)
        plate = open_plate(path, ink="Soot")
        np.testing.assert_array_equal(plate.read(slice(0, 61), slice(0, 83)), 255 - ramp())


def test_a_lzw_strip_without_an_end_is_read_and_zeros_behind_it_are_passed_over(tmp_path):
    """Some writers leave out the code that ends a strip (257), and fill up with zeros."""
    whole = bytes(imagecodecs.lzw_encode(ramp().tobytes()))
    for strip in (whole, whole[:-1] + b"\0", whole + b"\0\0\0"):
        path = strips_of(tmp_path / "Soot.tif", [strip], rows=61, compression=5)
        plate = open_plate(path, ink="Soot")
        np.testing.assert_array_equal(plate.read(slice(0, 61), slice(0, 83)), 255 - ramp())


@pytest.mark.parametrize("rows", [64, 61, 2**32 - 1])
def test_one_strip_that_is_filled_up_to_its_rows(tmp_path, rows):
    """RowsPerStrip may be more than the picture has (TIFF 6.0, section 8), filled or not."""
    for stored in {61, 64 if rows == 64 else 61}:
        strip = zlib.compress(ramp().tobytes() + bytes(83 * (stored - 61)))
        path = strips_of(tmp_path / "Soot.tif", [strip], rows=rows, compression=8)
        plate = open_plate(path, ink="Soot")
        np.testing.assert_array_equal(plate.read(slice(0, 61), slice(0, 83)), 255 - ramp())


def retyped(
    path: Path, tag: int, kind: int, value: bytes, *, code: int | None = None, count: int = 1
) -> Path:
    """An entry of the first directory of a little-endian TIFF with another type and one value."""
    data = bytearray(path.read_bytes())
    start = struct.unpack_from("<I", data, 4)[0]
    for entry in range(start + 2, start + 2 + 12 * struct.unpack_from("<H", data, start)[0], 12):
        if struct.unpack_from("<H", data, entry)[0] == tag:
            struct.pack_into("<HHI4s", data, entry, code or tag, kind, count, value)
    path.write_bytes(bytes(data))
    return path


@pytest.mark.parametrize("samples", [1, 3])
def test_a_tiff_that_does_not_say_what_0_means(tmp_path, samples):
    """Tag 262 is required (TIFF 6.0, section 4); a guess might print the negative."""
    pixels = ramp() if samples == 1 else GREY3
    path = write_tiff(tmp_path / "Soot.tif", pixels, photometric=None if samples == 1 else "rgb")
    retyped(path, 262, 3, bytes(4), code=65000)
    words = r"does not say whether 0 is black or white \(tag 262 is missing\)"
    refused(path, words, "prints the negative", "export it again")
    refused(path, words, polarity="light is ink")
    with pytest.raises(PictureError, match=words):
        open_reference(path, None)
    with pytest.raises(PictureError, match=words):
        open_mask(path, Sheet(width_px=83, height_px=61, ppi=200))


SIGNED, FLOAT, ASCII = 9, 11, 2
MINUS_2 = struct.pack("<i", -2)


@pytest.mark.parametrize("compression", [None, "lzw", "ccittfax4"])
@pytest.mark.parametrize("tag", [273, 279])
def test_places_and_lengths_below_zero(tmp_path, tag, compression):
    path = tmp_path / "Soot.tif"
    if compression == "ccittfax4":
        Image.fromarray(line_work()).save(path, compression="group4")
    else:
        write_tiff(path, ramp(), compression=compression, rowsperstrip=61)
    retyped(path, tag, SIGNED, MINUS_2)
    refused(path, f"is damaged: tag {tag}, .* holds -2", "export it again")
    with pytest.raises(PictureError, match="holds -2"):
        open_mask(path, Sheet(width_px=83, height_px=61, ppi=200))


@pytest.mark.parametrize("tag", [256, 257, 258, 259, 262, 273, 277, 278, 279])
@pytest.mark.parametrize(("kind", "value"), [(SIGNED, MINUS_2), (FLOAT, b"\0\0\x80\x3f")])
def test_tags_of_other_types(tmp_path, tag, kind, value):
    path = write_tiff(tmp_path / "Soot.tif", ramp(), rowsperstrip=61)
    refused(retyped(path, tag, kind, value), "is damaged|holds no whole numbers", "again")


@pytest.mark.parametrize("tag", [262, 266, 273, 278, 279, 338, 339])
def test_the_smallest_number_below_zero(tmp_path, tag):
    path = write_tiff(tmp_path / "Soot.tif", ramp(), rowsperstrip=61)
    added = 296 if tag not in tags_of(path) else tag  # the unit of resolution may be missing
    retyped(path, added, SIGNED, struct.pack("<i", -1), code=tag)
    refused(path, f"is damaged: tag {tag}, .* holds -1, but nothing in it is below 0")


@pytest.mark.parametrize("tag", [262, 266, 273, 279, 336, 338])
def test_a_tag_without_a_value(tmp_path, tag):
    """Every entry has one at least (TIFF 6.0, section 2)."""
    path = write_tiff(tmp_path / "Soot.tif", ramp(), rowsperstrip=61)
    added = 296 if tag not in tags_of(path) else tag
    retyped(path, added, 3, bytes(4), code=tag, count=0)
    refused(path, f"is damaged: tag {tag}, .* holds 0 values, but it (is one|has 1)")


def tags_of(path: Path) -> set[int]:
    with tifffile.TiffFile(path) as file:
        return {tag.code for tag in file.pages[0].tags}


@pytest.mark.parametrize("tag", [256, 257, 258, 259, 262, 273, 277, 278, 279])
def test_signed_tags_that_are_not_below_zero_are_read(tmp_path, tag):
    """As other readers do: what counts is the number."""
    path = write_tiff(tmp_path / "Soot.tif", ramp(), rowsperstrip=61)
    with tifffile.TiffFile(path) as file:
        value = file.pages[0].tags[tag].value
    number = int(value[0] if isinstance(value, tuple) else value)
    _open_and_read(retyped(path, tag, SIGNED, struct.pack("<i", number)))


@pytest.mark.parametrize("tag", [282, 283])
@pytest.mark.parametrize("value", [(0, 0), (1, 0), (0, 1)])
def test_a_resolution_that_means_nothing_is_none(tmp_path, tag, value):
    path = write_tiff(tmp_path / "Soot.tif", ramp())
    with tifffile.TiffFile(path) as file:
        place = file.pages[0].tags[tag].valueoffset
    data = bytearray(path.read_bytes())
    struct.pack_into("<II", data, place, *value)
    path.write_bytes(bytes(data))
    assert open_plate(path, ink="Soot").header.ppi is None


def test_a_missing_length_that_is_guessed_below_zero(tmp_path):
    """Without tag 279 the library takes what is left of the file, here less than nothing."""
    path = tmp_path / "Soot.tif"
    Image.fromarray(line_work()).save(path, compression="group4")
    retyped(path, 279, 4, bytes(4), code=65000)
    refused(set_tag(path, 273, 3_079_882_248), "is damaged: strips or tiles have a negative length")


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_a_tiff_whose_directory_was_not_written_yet(tmp_path, share):
    """Many programs write it last, so a file that is just being saved has none."""
    path = tmp_path / "Soot.tif"
    Image.fromarray(ramp()).save(path, compression="tiff_lzw")
    data = path.read_bytes()
    assert int.from_bytes(data[4:8], "little") > 0.9 * len(data) - 400  # the directory comes last
    path.write_bytes(data[: int(share * int.from_bytes(data[4:8], "little"))])
    refused(path, "is cut off, or not finished being saved", "wait until it is saved")


def recoded(path: Path, old: int, new: int, kind: int | None = None) -> Path:
    """Give an entry of the first directory another code, or another type too."""
    data = bytearray(path.read_bytes())
    start = struct.unpack_from("<I", data, 4)[0]
    for entry in range(start + 2, start + 2 + 12 * struct.unpack_from("<H", data, start)[0], 12):
        if struct.unpack_from("<H", data, entry)[0] == old:
            struct.pack_into("<H", data, entry, new)
            if kind is not None:
                struct.pack_into("<H", data, entry + 2, kind)
    path.write_bytes(bytes(data))
    return path


def test_a_tag_that_stands_twice(tmp_path):
    """A library takes the first of the two."""
    options = {"compression": "zlib", "predictor": True}
    path = tmp_path / "Soot.tif"
    write_tiff(path, ramp(), extratags=[(50001, 3, 1, 1, True)], **options)
    recoded(path, 50001, 317)
    refused(path, "is damaged: tag 317, its predictor, occurs twice")


@pytest.mark.parametrize("kind", [0, 14, 255])
def test_a_tag_of_a_type_that_there_is_not(tmp_path, kind):
    """A library passes over it: differences would be read as tone values."""
    path = write_tiff(tmp_path / "Soot.tif", ramp(), compression="zlib", predictor=True)
    recoded(path, 317, 317, kind)
    refused(path, rf"tag 317, its predictor, is of a type that does not exist \({kind}\)")


@pytest.mark.parametrize(("compression", "name"), [(None, "none"), ("packbits", "packbits")])
def test_differences_in_a_packing_that_knows_none(tmp_path, compression, name):
    """Some readers take them for tone values, some do not."""
    extra = [(50001, 3, 1, 2, True)]
    path = write_tiff(tmp_path / "Soot.tif", ramp(), compression=compression, extratags=extra)
    recoded(path, 50001, 317)
    refused(path, f"uses predictor 2 where the packing is {name}", "export it again")


@pytest.mark.parametrize("tag", [273, 324])
def test_strips_or_tiles_that_were_never_written(tmp_path, tag):
    """Their places are 0; the head of the file would be read as tone values."""
    options = {"tile": (16, 16)} if tag == 324 else {"rowsperstrip": 100}
    path = write_tiff(tmp_path / "Soot.tif", ramp()[:16, :16], **options)
    refused(set_tag(path, tag, 0), "strips or tiles begin in the head of the file")


def test_channels_that_lie_in_no_known_way(tmp_path):
    path = write_tiff(tmp_path / "Soot.tif", np.stack([ramp()] * 3, axis=-1), photometric="rgb")
    refused(set_tag(path, 284, 257), "tag 284, how its channels lie, holds 257, but it is 1 or 2")


def test_more_further_channels_than_there_are_channels(tmp_path):
    path = write_tiff(tmp_path / "Soot.tif", ramp(), extratags=[(50001, 3, 3, (2, 0, 0), True)])
    recoded(path, 50001, 338)
    refused(path, "tag 338, what its further channels are, tells of 3 channels, but the file has 1")
