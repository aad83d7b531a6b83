"""Corrected copies of plates: exactly the numbers that were asked for, everything else as it was.

Referees are tifffile, Pillow and imagecodecs; amounts come back by inkmix's own reader.
"""

import struct
from pathlib import Path

import imagecodecs
import numpy as np
import pytest
import tifffile
from corrected import correct, whole
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from plate_files import PPI, open_plate, png_chunk, ramp, write_png, write_tiff
from png_writer import write_png_by_hand

from inkmix.export.plates import tiff_page
from inkmix.plates.files.tiff import segments

PLACES = (273, 279, 324, 325)
"""Tags that say where and how long strips and tiles are."""
PACKINGS = (
    ("none", {}),
    ("lzw", {"compression": "lzw"}),
    ("lzw, differences", {"compression": "lzw", "predictor": True}),
    ("deflate", {"compression": "adobe_deflate"}),
    ("deflate, differences", {"compression": "adobe_deflate", "predictor": True}),
    ("old deflate", {"compression": "deflate", "predictor": True}),
    ("packbits", {"compression": "packbits"}),
    ("zstd", {"compression": "zstd", "predictor": True}),
)
LAYOUTS = (
    ("one strip", {"rowsperstrip": 61}),
    ("strips", {"rowsperstrip": 7}),
    ("tiles", {"tile": (16, 32)}),
)


def tones(bits: int) -> np.ndarray:
    return ramp() if bits == 8 else (ramp().astype(np.uint16) * 257 + 3).astype(np.uint16)


def corrected(amounts: np.ndarray) -> np.ndarray:
    """A third of the pixels gets more ink, a third less, a third stays."""
    full, thirds = np.iinfo(amounts.dtype).max, np.arange(amounts.size).reshape(amounts.shape) % 3
    return np.select(
        [thirds == 0, thirds == 1], [amounts // 2, full - (full - amounts) // 2], amounts
    ).astype(amounts.dtype)


def tags(path: Path, *, page: int = 0, but: tuple[int, ...] = PLACES) -> dict[int, tuple]:
    """Tags of a page as tifffile reads them: type, count and value."""
    with tifffile.TiffFile(path) as file:
        entries = file.pages[page].tags
        return {
            tag.code: (tag.dtype, tag.count, tag.value) for tag in entries if tag.code not in but
        }


@pytest.mark.parametrize("big", [False, True], ids=["TIFF", "BigTIFF"])
@pytest.mark.parametrize("order", ["<", ">"], ids=["II", "MM"])
@pytest.mark.parametrize("bits", [8, 16])
@pytest.mark.parametrize("layout", [options for _, options in LAYOUTS], ids=[n for n, _ in LAYOUTS])
@pytest.mark.parametrize(
    "packing", [options for _, options in PACKINGS], ids=[n for n, _ in PACKINGS]
)
def test_every_form_of_tiff_comes_back_with_its_tags(tmp_path, packing, layout, bits, order, big):
    numbers, path = tones(bits), tmp_path / "Soot.tif"
    write_tiff(path, numbers, bigtiff=big, byteorder=order, **packing, **layout)
    plate = open_plate(path, ink="Soot")
    wanted = corrected(whole(plate))
    written = correct(tmp_path / "out", [(plate, wanted)])
    copy = tmp_path / "out" / "Soot.tif"
    np.testing.assert_array_equal(tifffile.imread(copy), ~wanted)
    np.testing.assert_array_equal(whole(open_plate(copy, ink="Soot")), wanted)
    assert tags(copy) == tags(path)
    with tifffile.TiffFile(copy) as file:
        assert (file.byteorder, file.is_bigtiff, len(file.pages)) == (order, big, 1)
    assert written.notes == ()


@pytest.mark.parametrize("block", [(61, 83), (7, 83), (1, 83), (16, 16), (32, 48)])
@pytest.mark.parametrize("layout", [options for _, options in LAYOUTS], ids=[n for n, _ in LAYOUTS])
@pytest.mark.parametrize("threads", [1, 2])
def test_blocks_and_threads_change_no_byte_of_the_picture(tmp_path, layout, block, threads):
    path = write_tiff(tmp_path / "Soot.tif", ramp(), compression="lzw", **layout)
    plate = open_plate(path, ink="Soot")
    wanted = corrected(whole(plate))
    correct(tmp_path / "out", [(plate, wanted)], block=block, threads=threads)
    copy = tmp_path / "out" / "Soot.tif"
    np.testing.assert_array_equal(tifffile.imread(copy), ~wanted)
    assert tags(copy) == tags(path)


@settings(max_examples=40, deadline=None)
@given(
    size=st.tuples(st.integers(1, 70), st.integers(1, 70)),
    cut=st.one_of(
        st.integers(1, 80).map(lambda rows: {"rowsperstrip": rows}),
        st.tuples(st.integers(1, 4), st.integers(1, 4)).map(
            lambda sides: {"tile": (16 * sides[0], 16 * sides[1])}
        ),
    ),
    block=st.tuples(st.integers(1, 5), st.integers(1, 5)),
    channels=st.integers(1, 3),
    planar=st.booleans(),
    bits=st.sampled_from([8, 16]),
)
def test_any_size_cut_into_any_blocks(tmp_path_factory, size, cut, block, channels, planar, bits):
    folder = tmp_path_factory.mktemp("any")
    top = 2**bits
    numbers = np.random.default_rng(size[0]).integers(0, top, (channels, *size))
    numbers = numbers.astype(f"u{bits // 8}")
    config = "separate" if planar else "contig"
    pixels = numbers if planar or channels == 1 else np.moveaxis(numbers, 0, -1)
    path = write_tiff(
        folder / "a.tif",
        pixels[0] if channels == 1 else np.ascontiguousarray(pixels),
        compression="lzw",
        **({} if channels == 1 else {"planarconfig": config, "extrasamples": [0] * (channels - 1)}),
        **cut,
    )
    plate = open_plate(path, ink="Soot", channel=channels - 1)
    wanted = corrected(whole(plate))
    correct(folder / "out", [(plate, wanted)], block=(16 * block[0], 16 * block[1]))
    found = tifffile.imread(folder / "out" / "a.tif").reshape(pixels.shape)
    planes = found if planar or channels == 1 else np.moveaxis(found, -1, 0)
    np.testing.assert_array_equal(planes[-1], ~wanted)
    np.testing.assert_array_equal(planes[:-1], numbers[:-1])
    assert tags(folder / "out" / "a.tif") == tags(path)


@pytest.mark.parametrize("planar", ["contig", "separate"])
def test_strips_in_which_nothing_changes_are_equal_bytes(tmp_path, planar):
    """Packed at another level, so that packing them again would show."""
    pixels = np.repeat(ramp()[np.newaxis], 2, axis=0)
    pixels = pixels if planar == "separate" else np.ascontiguousarray(np.moveaxis(pixels, 0, -1))
    path = write_tiff(
        tmp_path / "inks.tif",
        pixels,
        planarconfig=planar,
        extrasamples=[0],
        compression="adobe_deflate",
        compressionargs={"level": 9},
        rowsperstrip=8,
    )
    plate = open_plate(path, ink="Soot", channel=1)
    wanted = whole(plate).copy()
    wanted[20, 5] ^= 1  # in the third strip of its plane
    correct(tmp_path / "out", [(plate, wanted)], block=(16, 83))
    before, after = strips_of(path), strips_of(tmp_path / "out" / "inks.tif")
    other = [index for index, strip in enumerate(before) if after[index] != strip]
    assert other == ([8 + 2] if planar == "separate" else [2])


def strips_of(path: Path) -> list[bytes]:
    with tifffile.TiffFile(path) as file:
        page, data = file.pages[0], path.read_bytes()
        spans = zip(page.dataoffsets, page.databytecounts, strict=True)
        return [data[start : start + count] for start, count in spans]


# --- what 0 means ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("options", "told", "is_ink"),
    [
        ({"photometric": "minisblack"}, {}, False),
        ({"photometric": "miniswhite"}, {}, True),
        ({"photometric": "minisblack"}, {"polarity": "light is ink"}, True),
        ({"photometric": "miniswhite"}, {"polarity": "light is ink"}, False),
    ],
)
def test_polarity_is_turned_back(tmp_path, options, told, is_ink):
    path = write_tiff(tmp_path / "Soot.tif", ramp(), **options)
    plate = open_plate(path, ink="Soot", **told)
    wanted = corrected(whole(plate))
    correct(tmp_path / "out", [(plate, wanted)])
    with tifffile.TiffFile(tmp_path / "out" / "Soot.tif") as file:
        numbers = file.pages[0].asarray()
    np.testing.assert_array_equal(numbers, wanted if is_ink else ~wanted)
    again = open_plate(tmp_path / "out" / "Soot.tif", ink="Soot", **told)
    np.testing.assert_array_equal(whole(again), wanted)


def write_separated(path: Path, numbers: np.ndarray, *, range_: tuple[int, ...] = ()) -> Path:
    """Inks side by side, as TIFF 6.0, section 16, has them, with their names."""
    channels = numbers.shape[-1]
    names = b"Rowan\0Soot\0Fjord\0"
    extra = [(332, 3, 1, 2, True), (333, 2, len(names), names, True), (334, 3, 1, channels, True)]
    if range_:
        extra.append((336, 3, len(range_), range_, True))
    write_tiff(path, numbers, planarconfig="contig", extrasamples=[0, 0], extratags=extra)
    data = path.read_bytes()
    place = data.index(struct.pack("<HHI", 262, 3, 1))
    path.write_bytes(data[: place + 8] + struct.pack("<HH", 5, 0) + data[place + 12 :])
    return path


@pytest.mark.parametrize("bits", [8, 16])
@pytest.mark.parametrize("span", [(16, 235), (235, 16), (0, 200)])
def test_a_dot_range_is_turned_back_and_unchanged_numbers_stay(tmp_path, bits, span):
    """Numbers beyond the range stand for 0 % and 100 %, too: they stay where nothing is changed."""
    scale = 257 if bits == 16 else 1
    low, high = (end * scale for end in span)
    numbers = np.repeat(tones(bits)[..., np.newaxis], 3, axis=-1)
    path = write_separated(tmp_path / "inks.tif", numbers, range_=(low, high))
    plate = open_plate(path, ink="Soot")
    before = whole(plate)
    wanted = corrected(before)
    correct(tmp_path / "out", [(plate, wanted)])
    copy = tmp_path / "out" / "inks.tif"
    found = tifffile.imread(copy)
    same = before == wanted
    np.testing.assert_array_equal(found[same], numbers[same])
    np.testing.assert_array_equal(found[..., [0, 2]], numbers[..., [0, 2]])
    changed = found[~same][:, 1].astype(int)
    assert changed.min() >= min(low, high)
    assert changed.max() <= max(low, high)
    step = -(-(2**bits - 1) // abs(high - low))  # ink amount from one number to the next, at most
    short = wanted[~same].astype(int) - whole(open_plate(copy, ink="Soot"))[~same]
    assert short.min() >= 0  # no limit is passed
    assert short.max() <= step
    assert tags(copy) == tags(path)


def test_full_and_no_ink_are_the_ends_of_a_dot_range(tmp_path):
    numbers = np.full((16, 16, 3), 100, np.uint8)
    path = write_separated(tmp_path / "inks.tif", numbers, range_=(16, 235))
    plate = open_plate(path, ink="Fjord")
    wanted = np.zeros((16, 16), np.uint8)
    wanted[:8] = 255
    correct(tmp_path / "out", [(plate, wanted)])
    found = tifffile.imread(tmp_path / "out" / "inks.tif")[..., 2]
    assert (set(found[:8].flat), set(found[8:].flat)) == ({235}, {16})


def test_one_bit_dots_are_refused(tmp_path):
    dots = np.random.default_rng(1).random((16, 16)) < 0.5
    plate = open_plate(write_tiff(tmp_path / "Soot.tif", dots), ink="Soot")
    with pytest.raises(ValueError, match="no tones"):
        plate.numbers(whole(plate), before=whole(plate), rows=slice(0, 16), cols=slice(0, 16))


# --- several channels and pages -------------------------------------------------------------------


@pytest.mark.parametrize("planar", ["contig", "separate"])
@pytest.mark.parametrize("bits", [8, 16])
def test_several_inks_of_one_file_change_in_one_copy(tmp_path, planar, bits):
    planes = np.stack([np.roll(tones(bits), 5 * k, axis=1) for k in range(4)])
    pixels = planes if planar == "separate" else np.ascontiguousarray(np.moveaxis(planes, 0, -1))
    path = write_tiff(
        tmp_path / "inks.tif",
        pixels,
        planarconfig=planar,
        extrasamples=[0] * 3,
        compression="lzw",
        rowsperstrip=9,
    )
    plates = [
        open_plate(path, ink=ink, channel=channel) for ink, channel in (("Soot", 2), ("Fjord", 0))
    ]
    wanted = [corrected(whole(plate)) for plate in plates]
    correct(tmp_path / "out", list(zip(plates, wanted, strict=True)))
    found = tifffile.imread(tmp_path / "out" / "inks.tif")
    found = found if planar == "separate" else np.moveaxis(found, -1, 0)
    for plane, expected in zip(found, (~wanted[1], planes[1], ~wanted[0], planes[3]), strict=True):
        np.testing.assert_array_equal(plane, expected)
    assert tags(tmp_path / "out" / "inks.tif") == tags(path)
    names = sorted(path.name for path in (tmp_path / "out" / "added").iterdir())
    assert names == ["inks-Fjord.tif", "inks-Soot.tif"]


@pytest.mark.parametrize("photometric", ["rgb", "minisblack"])
def test_grey_as_rgb_gets_all_channels_and_alpha_stays(tmp_path, photometric):
    colours = 3 if photometric == "rgb" else 1
    alpha = np.full((*ramp().shape, 1), 255, np.uint8)
    numbers = np.concatenate([np.repeat(ramp()[..., np.newaxis], colours, axis=-1), alpha], axis=-1)
    path = write_tiff(
        tmp_path / "Soot.tif",
        numbers,
        photometric=photometric,
        extrasamples=["unassalpha"],
        planarconfig="contig",
    )
    plate = open_plate(path, ink="Soot")
    wanted = corrected(whole(plate))
    correct(tmp_path / "out", [(plate, wanted)])
    found = tifffile.imread(tmp_path / "out" / "Soot.tif")
    for channel in range(colours):
        np.testing.assert_array_equal(found[..., channel], ~wanted)
    assert (found[..., -1] == 255).all()
    assert tags(tmp_path / "out" / "Soot.tif") == tags(path)


def test_a_channel_that_the_book_lists_changes_alone_in_an_rgb_file(tmp_path):
    """R, G and B may be three inks; that two of them are alike here makes them no grey."""
    numbers = np.repeat(ramp()[..., np.newaxis], 3, axis=-1)
    path = write_tiff(tmp_path / "inks.tif", numbers, photometric="rgb")
    plate = open_plate(path, ink="Soot", channel=0)
    wanted = corrected(whole(plate))
    correct(tmp_path / "out", [(plate, wanted)])
    found = tifffile.imread(tmp_path / "out" / "inks.tif")
    np.testing.assert_array_equal(found[..., 0], ~wanted)
    np.testing.assert_array_equal(found[..., 1:], numbers[..., 1:])


def test_two_pages_of_one_file_change_in_one_copy(tmp_path):
    path = tmp_path / "inks.tif"
    with tifffile.TiffWriter(path) as file:
        for turn in range(3):
            file.write(
                np.roll(ramp(), turn),
                photometric="minisblack",
                resolution=(PPI, PPI),
                metadata=None,
                compression="lzw",
                description=f"page {turn}",
            )
    plates = [open_plate(path, ink=ink, page=page) for ink, page in (("Soot", 3), ("Fjord", 1))]
    wanted = [corrected(whole(plate)) for plate in plates]
    correct(tmp_path / "out", list(zip(plates, wanted, strict=True)))
    copy = tmp_path / "out" / "inks.tif"
    with tifffile.TiffFile(copy) as file:
        pages = [page.asarray() for page in file.pages]
    for page, expected in zip(pages, (~wanted[1], np.roll(ramp(), 1), ~wanted[0]), strict=True):
        np.testing.assert_array_equal(page, expected)
    for page in range(3):
        assert tags(copy, page=page) == tags(path, page=page)
    names = sorted(path.name for path in (tmp_path / "out" / "removed").iterdir())
    assert names == ["inks-Fjord.tif", "inks-Soot.tif"]


# --- what else is in a file -----------------------------------------------------------------------


def write_rich(path: Path, *, layers: bytes = b"", thumbnail: bool = False, **form) -> Path:
    """A plate with a profile, EXIF, an editor's resources, a sub-picture and a further page."""
    resources = block_of(1005, b"resolution") + block_of(1036, b"small picture") * thumbnail
    extra = [
        (34675, 7, 128, bytes(range(128)), True),
        (34377, 7, len(resources), resources, True),
        (65000, 12, 3, (0.5, 1.5, 2.5), True),
        (65001, 3, 1, 7, True),
    ]
    if layers:
        extra.append((37724, 7, len(layers), layers, True))
    options = {"photometric": "minisblack", "metadata": None, "compression": "lzw"}
    with tifffile.TiffWriter(path, **form) as file:
        file.write(
            ramp(),
            resolution=(PPI, PPI),
            extratags=extra,
            subifds=2,
            rowsperstrip=7,
            software="a drawing program",
            **options,
        )
        file.write(ramp()[::2, ::2], subfiletype=1, **options)
        file.write(ramp()[:9], description="a mask", tile=(16, 16), **options)
        file.write(ramp()[:5], description="page 2", **options)
    return path


def block_of(number: int, content: bytes) -> bytes:
    """A block of an editor's resources, without a name."""
    filled = content + b"\0" * (len(content) % 2)
    return b"8BIM" + struct.pack(">HHI", number, 0, len(content)) + filled


def corrected_copy(path: Path, **told) -> tuple[Path, tuple[str, ...]]:
    """The copy of a plate with other tones, and what was said."""
    plate = open_plate(path, ink="Soot", **told)
    out = path.parent / "out"
    written = correct(out, [(plate, corrected(whole(plate)))])
    np.testing.assert_array_equal(
        whole(open_plate(out / path.name, ink="Soot", **told)), corrected(whole(plate))
    )
    return out / path.name, written.notes


@pytest.mark.parametrize("form", [{}, {"bigtiff": True}, {"byteorder": ">"}])
def test_tags_pages_and_sub_pictures_are_kept(tmp_path, form):
    path = write_rich(tmp_path / "Soot.tif", **form)
    copy, notes = corrected_copy(path)
    assert tags(copy, but=(*PLACES, 330)) == tags(path, but=(*PLACES, 330))
    assert tags(copy, page=1) == tags(path, page=1)
    with tifffile.TiffFile(path) as before, tifffile.TiffFile(copy) as after:
        np.testing.assert_array_equal(after.pages[1].asarray(), before.pages[1].asarray())
        (mask,) = after.pages[0].pages  # the smaller picture went
        np.testing.assert_array_equal(mask.asarray(), ramp()[:9])
        assert mask.description == "a mask"
    assert notes == (
        f"{tmp_path.name}/Soot.tif: a reduced picture inside it (tag 330) is left out: "
        "it would show the picture as it was",
    )


def test_what_shows_the_picture_as_it_was_goes_and_is_said(tmp_path):
    path = write_rich(tmp_path / "Soot.tif", layers=b"layers of an editor", thumbnail=True)
    copy, notes = corrected_copy(path)
    with tifffile.TiffFile(copy) as file:
        found = file.pages[0].tags
        assert 37724 not in found
        assert found[34377].value == block_of(1005, b"resolution")
    assert b"layers of an editor" not in copy.read_bytes()
    assert b"small picture" not in copy.read_bytes()
    said = " ".join(notes)
    assert all(word in said for word in ("37724", "34377", "330"))
    assert len(notes) == 3


def test_reduced_pages_at_the_end_go_and_others_keep_their_numbers(tmp_path):
    path = tmp_path / "Soot.tif"
    with tifffile.TiffWriter(path) as file:
        for rows, kind in ((61, 0), (30, 1), (20, 0), (10, 1)):
            file.write(
                ramp()[:rows],
                subfiletype=kind,
                photometric="minisblack",
                metadata=None,
                resolution=(PPI, PPI),
            )
    copy, notes = corrected_copy(path)
    with tifffile.TiffFile(copy) as file:
        assert [page.imagelength for page in file.pages] == [61, 30, 20]
    assert len(notes) == 2
    assert "page 4, a reduced picture, is left out" in notes[1]
    assert "page 2, a reduced picture, still shows" in notes[0]


def test_damaged_tags_go_and_are_said(tmp_path):
    path = write_rich(tmp_path / "Soot.tif")
    data = bytearray(path.read_bytes())
    place = data.index(struct.pack("<HHI", 65000, 12, 3))
    data[place + 8 : place + 12] = struct.pack("<I", len(data))  # values beyond the end
    path.write_bytes(data)
    copy, notes = corrected_copy(path)
    assert 65000 not in tags(copy)
    assert 65001 in tags(copy)
    assert sum("tag 65000 is damaged" in note for note in notes) == 1


@pytest.mark.parametrize("packing", ["none", "lzw", "packbits"])
def test_bits_in_reverse_order_stay_so(tmp_path, packing):
    """FillOrder 2 (TIFF 6.0, section 8); the library writes none, so its tag is put there."""
    options = {} if packing == "none" else {"compression": packing}
    extra = [(265, 3, 1, 2, True)]
    path = write_tiff(tmp_path / "Soot.tif", ramp(), rowsperstrip=61, extratags=extra, **options)
    data = bytearray(path.read_bytes())
    with tifffile.TiffFile(path) as file:
        start, count = file.pages[0].dataoffsets[0], file.pages[0].databytecounts[0]
    data[start : start + count] = imagecodecs.bitorder_encode(bytes(data[start : start + count]))
    place = data.index(struct.pack("<HHI", 265, 3, 1))
    data[place : place + 2] = struct.pack("<H", 266)
    path.write_bytes(data)
    copy, _ = corrected_copy(path)
    assert tags(copy) == tags(path)
    with tifffile.TiffFile(copy) as file:
        np.testing.assert_array_equal(file.pages[0].asarray(), ~whole(open_plate(copy, ink="Soot")))


@pytest.mark.parametrize("order", ["<", ">"])
def test_exif_and_what_it_leads_to_are_kept(tmp_path, order):
    """Pillow is the referee; the directories are put behind the plate by hand (EXIF 2.3, 4.6.3)."""
    extra = [(34664, 4, 1, 7, True)]
    path = write_tiff(tmp_path / "Soot.tif", ramp(), byteorder=order, extratags=extra)
    data = bytearray(path.read_bytes()) + b"\0" * (path.stat().st_size % 2)
    place = data.index(struct.pack(order + "HHII", 34664, 4, 1, 7))
    data[place : place + 12] = struct.pack(order + "HHII", 34665, 4, 1, len(data))
    date, at = b"2026:01:02 03:04:05\0", len(data) + 2 + 2 * 12 + 4
    data += struct.pack(order + "HHHIIHHIII", 2, 36867, 2, 20, at, 40965, 4, 1, at + 20, 0) + date
    data += struct.pack(order + "HHHI4sI", 1, 1, 2, 4, b"R98\0", 0)
    path.write_bytes(data)
    copy, notes = corrected_copy(path)
    assert notes == ()
    with Image.open(copy) as picture:
        assert picture.getexif().get_ifd(0x8769)[36867] == "2026:01:02 03:04:05"
        assert picture.getexif().get_ifd(0xA005) == {1: "R98"}


@pytest.mark.parametrize("place", [0, 8, 2**31])
def test_pointers_that_lead_nowhere_or_round_go_and_are_said(tmp_path, place):
    """8 is where the only directory of the file is: it would hold itself."""
    path = write_tiff(tmp_path / "Soot.tif", ramp(), extratags=[(34664, 4, 1, 7, True)])
    data = bytearray(path.read_bytes())
    at = data.index(struct.pack("<HHII", 34664, 4, 1, 7))
    data[at : at + 12] = struct.pack("<HHII", 34665, 4, 1, place)
    path.write_bytes(data)
    copy, notes = corrected_copy(path)
    assert 34665 not in tags(copy)
    assert notes == (f"{tmp_path.name}/Soot.tif: tag 34665 leads nowhere, and is left out",)


# --- strips and tiles that cannot be held ---------------------------------------------------------


@pytest.mark.parametrize("layout", [{"rowsperstrip": 61}, {"tile": (64, 96)}])
@pytest.mark.parametrize("planar", ["contig", "separate"])
def test_too_large_strips_and_tiles_are_cut_anew(tmp_path, monkeypatch, layout, planar):
    for module in (tiff_page, segments):
        monkeypatch.setattr(module, "MAX_SEGMENT_PX", 1000)
    planes = np.stack([ramp(), np.roll(ramp(), 3)])
    pixels = planes if planar == "separate" else np.ascontiguousarray(np.moveaxis(planes, 0, -1))
    path = write_tiff(
        tmp_path / "inks.tif",
        pixels,
        planarconfig=planar,
        extrasamples=[0],
        compression="lzw",
        **layout,
    )
    plate = open_plate(path, ink="Soot", channel=1)
    wanted = corrected(whole(plate))
    correct(tmp_path / "out", [(plate, wanted)], block=(8, 83))
    copy = tmp_path / "out" / "inks.tif"
    found = tifffile.imread(copy)
    found = found if planar == "separate" else np.moveaxis(found, -1, 0)
    np.testing.assert_array_equal(found, [planes[0], ~wanted])
    new = (322, 323) if "tile" in layout else (278,)
    assert tags(copy, but=(*PLACES, *new)) == tags(path, but=(*PLACES, *new))
    assert tags(copy)[new[0]][2] == (512 if "tile" in layout else 8)


# --- PNG ------------------------------------------------------------------------------------------


def chunks_of(path: Path) -> list[tuple[bytes, bytes]]:
    data, at, found = path.read_bytes(), 8, []
    while at < len(data):
        count = int.from_bytes(data[at : at + 4])
        found.append((data[at + 4 : at + 8], data[at + 8 : at + 8 + count]))
        at += 12 + count
    return found


@pytest.mark.parametrize("block", [(61, 83), (7, 83), (16, 32)])
@pytest.mark.parametrize("channels", [1, 2, 3, 4])
@pytest.mark.parametrize("bits", [8, 16])
def test_every_form_of_png_comes_back_with_its_chunks(tmp_path, channels, bits, block):
    colours = 1 if channels < 3 else 3
    numbers = np.repeat(tones(bits)[..., np.newaxis], channels, axis=-1)
    if channels in (2, 4):
        numbers[..., -1] = 2**bits - 1
    path = write_png(tmp_path / "Soot.png", numbers.squeeze(), tEXt=b"Title\0night", sBIT=b"\5")
    data = path.read_bytes()
    path.write_bytes(data[:-12] + png_chunk(b"tIME", bytes(7)) + data[-12:])
    plate = open_plate(path, ink="Soot")
    wanted = corrected(whole(plate))
    written = correct(tmp_path / "out", [(plate, wanted)], block=block)
    copy = tmp_path / "out" / "Soot.png"
    found = imagecodecs.png_decode(copy.read_bytes()).reshape(numbers.shape)
    np.testing.assert_array_equal(found[..., :colours], np.repeat(~wanted[..., None], colours, -1))
    np.testing.assert_array_equal(found[..., colours:], numbers[..., colours:])
    np.testing.assert_array_equal(whole(open_plate(copy, ink="Soot")), wanted)
    kept = [chunk for chunk in chunks_of(copy) if chunk[0] != b"IDAT"]
    assert kept == [chunk for chunk in chunks_of(path) if chunk[0] != b"IDAT"]
    assert written.notes == ()
    with Image.open(copy) as picture:
        picture.load()  # the check sums of all chunks and of the pixels hold


def test_interlaced_png_becomes_plain_and_that_is_said(tmp_path):
    path = write_png_by_hand(tmp_path / "Soot.png", ramp()[..., np.newaxis], interlaced=True)
    copy, notes = corrected_copy(path)
    assert chunks_of(copy)[0][1][12] == 0
    assert notes == (f"{tmp_path.name}/Soot.png: its rows are no longer interlaced",)


@pytest.mark.parametrize("bits", [2, 4])
def test_few_bits_become_eight_and_that_is_said(tmp_path, bits):
    numbers = (ramp() % 2**bits)[..., np.newaxis]
    path = write_png_by_hand(tmp_path / "Soot.png", numbers, bits=bits)
    copy, notes = corrected_copy(path)
    assert chunks_of(copy)[0][1][8] == 8
    assert f"its {bits} bits a pixel become 8" in notes[0]


def test_a_clear_colour_goes_as_a_corrected_tone_could_be_the_same(tmp_path):
    numbers = np.maximum(ramp(), 9)[..., np.newaxis]
    path = write_png_by_hand(tmp_path / "Soot.png", numbers, clear=(4,))
    copy, notes = corrected_copy(path)
    assert b"tRNS" not in dict(chunks_of(copy))
    assert "tRNS" in notes[0]
