"""Corrected copies as files: untouched ones byte by byte, nothing of anybody else's replaced."""

import errno
import json
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import tifffile
from corrected import correct, whole
from plate_files import PPI, open_plate, ramp, write_png, write_tiff

from inkmix.base import output_files
from inkmix.base.atomic_files import Part
from inkmix.base.errors import OutputError
from inkmix.base.inputs import input_digest
from inkmix.base.listed_files import LIST_NAME
from inkmix.base.output_files import Output
from inkmix.export.plates import tiff_out
from inkmix.export.plates.copies import PlateCopy, copies_of, plate_copies
from inkmix.export.plates.directories import Form
from inkmix.plates.plate import PlateSource
from inkmix.plates.set import open_set


def plates(folder: Path) -> tuple[Path, Path]:
    """Two plates, Soot with an area of a hundred pixels that may change."""
    folder.mkdir(exist_ok=True)
    soot = ramp()
    soot[:10, :10] = 128
    return (
        write_tiff(folder / "Soot.tif", soot, compression="lzw", rowsperstrip=7),
        write_tiff(folder / "Fjord.tif", ~ramp()),
    )


def darker(path: Path, by: int = 50) -> tuple:
    """A plate and its ink amounts with more ink in the area."""
    plate = open_plate(path, ink=path.stem)
    amounts = whole(plate).copy()
    amounts[:10, :10] += np.uint8(by)
    return plate, amounts


def files(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


def mend(folder: Path, out: Path, by: int = 50):
    soot, fjord = plates(folder)
    changes = [darker(soot, by)] if by else []
    untouched = {fjord: out / fjord.name} | ({} if by else {soot: out / soot.name})
    return correct(out, changes, untouched=untouched)


def test_untouched_plates_are_equal_bytes_and_inputs_stay(tmp_path):
    before = {path.name: path.read_bytes() for path in plates(tmp_path / "plates")}
    written = mend(tmp_path / "plates", tmp_path / "out")
    found = files(tmp_path / "out")
    assert set(found) == {"Soot.tif", "Fjord.tif", "added/Soot.tif", LIST_NAME}
    assert found["Fjord.tif"] == before["Fjord.tif"]
    assert files(tmp_path / "plates") == before
    listed = json.loads(found[LIST_NAME])["files"]
    assert listed == written.digests
    assert listed == {
        name: input_digest(tmp_path / "out" / name) for name in found if name != LIST_NAME
    }


@pytest.mark.parametrize("ending", ["tif", "png"])
@pytest.mark.parametrize("bits", [8, 16])
def test_ink_added_and_removed_is_dark_where_it_is(tmp_path, ending, bits):
    numbers = np.full((40, 50), 100, np.uint8) if bits == 8 else np.full((40, 50), 25700, np.uint16)
    write = write_tiff if ending == "tif" else write_png
    plate = open_plate(write(tmp_path / f"Soot.{ending}", numbers), ink="Soot")
    after, step = whole(plate).copy(), np.array(7 * (257 if bits == 16 else 1), numbers.dtype)
    after[:4, :5] += step
    after[30:, 40:] -= 2 * step
    correct(tmp_path / "out", [(plate, after)])
    for way, rows, cols, ink in (
        ("added", slice(4), slice(5), step),
        ("removed", slice(30, 40), slice(40, 50), 2 * step),
    ):
        picture = open_plate(tmp_path / "out" / way / f"Soot.{ending}", ink=way)
        assert picture.header.bits == bits
        assert picture.header.ppi == pytest.approx(PPI, abs=0.02)
        expected = np.zeros_like(after)
        expected[rows, cols] = ink
        np.testing.assert_array_equal(whole(picture), expected)


def test_a_second_run_gives_the_same_bytes_and_replaces_its_own_files_only(tmp_path):
    mend(tmp_path / "plates", tmp_path / "out")
    first = files(tmp_path / "out")
    mend(tmp_path / "plates", tmp_path / "out")
    assert files(tmp_path / "out") == first
    mend(tmp_path / "plates", tmp_path / "out", by=60)
    assert files(tmp_path / "out")["Soot.tif"] != first["Soot.tif"]
    edited = tmp_path / "out" / "Soot.tif"
    edited.write_bytes(edited.read_bytes() + b"\0")  # an artist saved it
    now = files(tmp_path / "out")
    with pytest.raises(OutputError, match="not written by inkmix"):
        mend(tmp_path / "plates", tmp_path / "out")
    assert files(tmp_path / "out") == now


def test_old_pictures_of_ink_go_unless_somebody_changed_them(tmp_path):
    mend(tmp_path / "plates", tmp_path / "out")
    mend(tmp_path / "plates", tmp_path / "out", by=0)
    assert set(files(tmp_path / "out")) == {"Soot.tif", "Fjord.tif", LIST_NAME}
    mend(tmp_path / "plates", tmp_path / "out")
    picture = tmp_path / "out" / "added" / "Soot.tif"
    picture.write_bytes(b"painted over")
    mend(tmp_path / "plates", tmp_path / "out", by=0)
    assert picture.read_bytes() == b"painted over"


def test_the_list_keeps_what_other_runs_wrote(tmp_path):
    soot, fjord = plates(tmp_path / "plates")
    correct(tmp_path / "out", [darker(soot)])
    correct(tmp_path / "out", [darker(fjord, by=0)])
    correct(tmp_path / "out", [darker(soot, by=20)])  # still known
    listed = json.loads((tmp_path / "out" / LIST_NAME).read_bytes())["files"]
    assert set(listed) == {"Soot.tif", "added/Soot.tif", "Fjord.tif"}


@pytest.mark.parametrize(
    "text",
    [
        b"",
        b"{",
        b'{"program": {"name": "inkmix"}, "files": 3}',
        b'{"program": {"name": "inkmix"}, "files": {"../plates/Soot.tif": "%s"}}',
    ],
)
def test_a_spoiled_list_makes_no_file_ours(tmp_path, text):
    out = tmp_path / "out"
    mend(tmp_path / "plates", out)
    digest = input_digest(tmp_path / "plates" / "Soot.tif").encode()
    (out / LIST_NAME).write_bytes(text.replace(b"%s", digest))
    now = files(out)
    with pytest.raises(OutputError, match="already exists"):
        mend(tmp_path / "plates", out)
    assert files(out) == now


def test_somebody_elses_file_is_not_replaced_even_before_a_first_list(tmp_path):
    (tmp_path / "out" / "added").mkdir(parents=True)
    (tmp_path / "out" / "added" / "Soot.tif").write_bytes(b"mine")
    with pytest.raises(OutputError, match=r"added/Soot.tif: already exists"):
        mend(tmp_path / "plates", tmp_path / "out")
    assert files(tmp_path / "out") == {"added/Soot.tif": b"mine"}


def test_no_plate_is_written_in_place(tmp_path):
    mend(tmp_path / "plates", tmp_path / "out")
    soot = tmp_path / "out" / "Soot.tif"  # ours, but read this time
    plate, _ = darker(soot, by=0)
    copy = PlateCopy(plates=(plate,), to=soot, block_rows=7, block_cols=83)
    with (
        pytest.raises(OutputError, match="never written in place"),
        plate_copies(soot.parent, [copy], untouched={}),
    ):
        pass
    twice = dict.fromkeys(
        (soot, plate.header.path, tmp_path / "plates" / "Soot.tif"), tmp_path / "a"
    )
    with (
        pytest.raises(OutputError, match="two files would have this name"),
        plate_copies(tmp_path, [], untouched=twice),
    ):
        pass
    assert not (tmp_path / "a").exists()


def test_blocks_must_fit_and_all_be_there(tmp_path):
    plate, amounts = darker(plates(tmp_path / "plates")[0])
    out = tmp_path / "out"
    copy = PlateCopy(plates=(plate,), to=out / "Soot.tif", block_rows=50, block_cols=83)
    block = amounts[None, :50]
    with pytest.raises(ValueError, match=f"{11 * 83} pixels are missing"):
        write_half(copy, block)
    for before, after, row in ((block, block, 7), (block, block.astype(np.uint16), 0)):
        with pytest.raises(ValueError, match="no block of"):
            write_half(copy, before, after, row=row)
    assert not out.exists()


def write_half(copy: PlateCopy, before, after=None, row: int = 0) -> None:
    with plate_copies(copy.to.parent, [copy], untouched={}) as written:
        (writer,) = written.writers
        writer.append(writer.pack(before, before if after is None else after, row=row))


def test_further_files_of_the_caller_come_with_them(tmp_path):
    beside = Output(path=tmp_path / "out" / "recipe.toml", mark=b"# inkmix")
    plate, amounts = darker(plates(tmp_path / "plates")[0])
    copy = PlateCopy(
        plates=(plate,), to=tmp_path / "out" / "Soot.tif", block_rows=61, block_cols=83
    )
    with plate_copies(tmp_path / "out", [copy], untouched={}, beside=[beside]) as written:
        (writer,) = written.writers
        writer.append(writer.pack(whole(plate)[None], amounts[None], row=0))
        written.beside[0].write(b"# inkmix: a recipe")
    assert files(tmp_path / "out")["recipe.toml"] == b"# inkmix: a recipe"
    assert "recipe.toml" in written.digests


def test_copies_of_a_set_are_told_apart_by_file_and_page(tmp_path):
    """Three inks in one file, one of them hit twice, a plate twice as fine, and one unchanged."""
    inks = write_tiff(
        tmp_path / "inks.tif",
        np.stack([ramp(), ~ramp()]),
        planarconfig="separate",
        extrasamples=[0],
    )
    fine = write_tiff(tmp_path / "Soot.tif", ramp(122, 166), ppi=2 * PPI)
    fog = write_tiff(tmp_path / "Fog.tif", np.roll(ramp(), 9))
    plates = open_set(
        {
            "Rowan": PlateSource(path=inks, channel=0),
            "Fjord": PlateSource(path=inks, channel=1),
            "Rowan again": PlateSource(path=inks, channel=0, hit_of="Rowan"),
            "Soot": PlateSource(path=fine),
            "Fog": PlateSource(path=fog),
        }
    )
    to = {path: tmp_path / "out" / path.name for path in (inks, fine, fog)}
    (first, second), untouched = copies_of(plates, set(plates.inks) - {"Fog"}, to=to)
    assert [plate.header.ink for plate in first.plates] == ["Rowan", "Fjord"]
    assert [plate.header.ink for plate in second.plates] == ["Soot"]
    rows = plates.windows().rows
    assert (first.block_rows, first.block_cols) == (rows, 83)
    assert (second.block_rows, second.block_cols) == (2 * rows, 166)
    assert untouched == {fog: to[fog]}
    amounts = [whole(plate) for plate in (*first.plates, *second.plates)]
    with plate_copies(tmp_path / "out", [first, second], untouched=untouched) as written:
        for writer, some in zip(written.writers, (amounts[:2], amounts[2:]), strict=True):
            before = np.stack(some)
            writer.append(writer.pack(before, before // 2, row=0))
    assert set(files(tmp_path / "out")) == {
        "inks.tif",
        "Soot.tif",
        "Fog.tif",
        "removed/inks-Rowan.tif",
        "removed/inks-Fjord.tif",
        "removed/Soot.tif",
        LIST_NAME,
    }


def test_a_full_disk_leaves_nothing(tmp_path, monkeypatch):
    def full(self: Part) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    plates(tmp_path / "plates")
    monkeypatch.setattr(Part, "flush", full)
    with pytest.raises(OutputError, match="No space left on device"):
        mend(tmp_path / "plates", tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_a_full_disk_leaves_what_an_earlier_run_wrote(tmp_path, monkeypatch):
    mend(tmp_path / "plates", tmp_path / "out")
    before = files(tmp_path / "out")

    def full(part: Part, place: Path) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(output_files, "_flush_folder", lambda folder: None)
    monkeypatch.setattr(tiff_out.TiffOut, "put_directory", full)
    with pytest.raises(OutputError, match="No space left on device"):
        mend(tmp_path / "plates", tmp_path / "out", by=9)
    assert files(tmp_path / "out") == before


def test_a_copy_that_its_kind_of_tiff_cannot_hold_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(Form, "most_bytes", property(lambda form: 1000))
    with pytest.raises(OutputError, match="would be larger than 4 GB") as told:
        mend(tmp_path / "plates", tmp_path / "out")
    assert "BigTIFF" in str(told.value)
    assert not (tmp_path / "out").exists()


PROGRAM = """
import os, re, sys
from pathlib import Path
import imagecodecs, numpy as np
sys.path.insert(0, sys.argv[1])
from inkmix.base.ordered_threads import each_in_order
from inkmix.export.plates.copies import PlateCopy, plate_copies
from inkmix.plates.plate import PlateSource
from inkmix.plates.set import open_set

def peak_kib():
    return int(re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())[1])

for name in sys.argv[2:]:
    if os.fork():
        os.wait()
        continue
    before = peak_kib()
    path = Path(name)
    plates = open_set({f"ink {k}": PlateSource(path=path, channel=0) for k in range(1)})
    grid = plates.windows()
    copy = PlateCopy(plates=plates.plates, to=path.parent / path.stem / path.name,
                     block_rows=grid.rows, block_cols=grid.cols)
    with plate_copies(copy.to.parent, [copy], untouched={}) as written:
        (writer,) = written.writers
        def work(window):
            amounts = plates.read(window.rows, window.cols)
            return writer.pack(amounts, amounts // 2, row=window.rows.start, col=window.cols.start)
        each_in_order(work, grid, writer.append)
    print(path.stem, peak_kib() - before, sep="\\t", flush=True)
    os._exit(0)
"""
FORMS = {
    "strips": {"compression": "lzw", "rowsperstrip": 64},
    "tiles": {"compression": "zlib", "tile": (512, 512), "bigtiff": True},
    "one LZW strip": {"compression": "lzw", "rowsperstrip": 3000},
    "one plain strip": {"rowsperstrip": 3000},
    "large tiles": {"compression": "zlib", "tile": (1600, 3200)},
}
BOUND_MIB = 70
"""40 to read (tests/test_reader_memory.py); a window again and halved, two pictures of ink, packed
blocks that wait for their turn, and a band of strips or tiles that several windows share (10)."""


@pytest.mark.long
@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads /proc")
def test_peak_memory_is_bounded_for_every_form(tmp_path):
    tones = np.random.default_rng(3).integers(0, 256, (30, 200), np.uint8)
    pixels = np.kron(tones, np.ones((100, 100), np.uint8))
    pixels[:64] = np.random.default_rng(4).integers(0, 256, (64, 20_000), np.uint8)
    paths = []
    for form, options in FORMS.items():
        paths.append(tmp_path / f"{form}.tif")
        tifffile.imwrite(
            paths[-1], pixels, photometric="minisblack", resolution=(PPI, PPI), **options
        )
    tests = Path(__file__).parent
    command = [sys.executable, "-c", PROGRAM, str(tests), *map(str, paths)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    found = dict(re.findall(r"(.+)\t(\d+)", done.stdout))
    assert set(found) == set(FORMS)
    assert {
        form: int(kib) // 1024 for form, kib in found.items() if int(kib) > BOUND_MIB * 1024
    } == {}
    for path in paths:
        copy = path.parent / path.stem / path.name
        np.testing.assert_array_equal(tifffile.imread(copy), 255 - (255 - pixels) // 2)
