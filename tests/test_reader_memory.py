"""Plates of 60 million pixels are read through windows in a few megabytes, however stored.

Measured in a process of its own as the peak that the system keeps (VmHWM) over that after imports,
one fork for each file. 40 MiB stand for: a window (2 MB) and its copies, packed and unpacked blocks
(1/4 MB each), MAX_IN_MEMORY_BYTES of kept segments, a tile of 5 MB, and 15 MB of unpacked LZW where
paper is blank.
"""

import struct
import subprocess
import sys
import zlib

import imagecodecs
import numpy as np
import pytest
import tifffile
from plate_files import PPI, png_chunk
from png_writer import ADAM7

ROWS, COLS = 3000, 20_000
BOUND_MIB = 40
FORMS = {
    "strips": {"compression": "lzw", "rowsperstrip": 64},
    "tiles": {"compression": "zlib", "tile": (512, 512), "bigtiff": True},
    "one LZW strip": {"compression": "lzw", "rowsperstrip": ROWS},
    "one deflate strip": {"compression": "zlib", "rowsperstrip": ROWS},
    "one packbits strip": {"compression": "packbits", "rowsperstrip": ROWS},
    "one plain strip": {"rowsperstrip": ROWS},
    "large tiles": {"compression": "zlib", "tile": (1600, 3200)},
}
PROGRAM = """
import os, re, sys
from pathlib import Path
import imagecodecs, numpy, tifffile
from inkmix.plates.files.raster import bands
from inkmix.plates.plate import PlateSource, open_raster, plate_of

def peak_kib():
    return int(re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())[1])

for name in sys.argv[1:]:
    if os.fork():
        os.wait()
        continue
    before = peak_kib()
    source = PlateSource(path=Path(name))
    plate = plate_of(open_raster(source.path), source, ink="Soot")
    header = plate.header
    total = 0
    for rows in bands(header.height_px, header.width_px):
        total += int(plate.read(rows, slice(0, header.width_px)).sum(dtype=numpy.int64))
    print(Path(name).stem, peak_kib() - before, total, sep="\\t", flush=True)
    os._exit(0)
"""


def interlaced(pixels: np.ndarray) -> bytes:
    """A PNG in seven passes; every line holds differences to the left (filter 1)."""
    raw = zlib.compressobj(1)
    packed = []
    for top, left, down, right in ADAM7:
        part = pixels[top::down, left::right]
        lines = np.diff(part, axis=1, prepend=np.uint8(0))
        packed.append(raw.compress(np.insert(lines, 0, 1, axis=1).tobytes()))
    head = struct.pack(">II5B", pixels.shape[1], pixels.shape[0], 8, 0, 0, 0, 1)
    data = b"".join((*packed, raw.flush()))
    chunks = ((b"IHDR", head), (b"IDAT", data), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(png_chunk(*chunk) for chunk in chunks)


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads /proc")
def test_peak_memory_is_bounded_for_every_form(tmp_path):
    tones = np.random.default_rng(3).integers(0, 256, (30, 200), np.uint8)
    pixels = np.kron(tones, np.ones((100, 100), np.uint8))
    pixels[1000:2000] = 255
    pixels[:64] = np.random.default_rng(4).integers(0, 256, (64, COLS), np.uint8)
    files = []
    for form, options in FORMS.items():
        files.append(tmp_path / f"{form}.tif")
        tifffile.imwrite(
            files[-1], pixels, photometric="minisblack", resolution=(PPI, PPI), **options
        )
    files.append(tmp_path / "PNG.png")
    files[-1].write_bytes(imagecodecs.png_encode(pixels, level=1))
    files.append(tmp_path / "interlaced PNG.png")
    files[-1].write_bytes(interlaced(pixels))
    command = [sys.executable, "-c", PROGRAM, *files]
    done = subprocess.run(command, capture_output=True, text=True, check=True, cwd=tmp_path)
    assert done.stderr == ""  # no library has a word to say
    lines = [line.split("\t") for line in done.stdout.splitlines()]
    assert [line[0] for line in lines] == [path.stem for path in files]
    ink = int((255 - pixels).sum(dtype=np.int64))
    assert {int(total) for _, _, total in lines} == {ink}
    peaks_mib = {form: int(kib) / 1024 for form, kib, _ in lines}
    assert max(peaks_mib.values()) < BOUND_MIB, peaks_mib
