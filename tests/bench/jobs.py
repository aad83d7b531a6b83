"""Whole jobs from files, one a process: python tests/bench/jobs.py JOB BOOK_FILE TARGET

The last line that a job prints is its peak resident memory in MiB. BOOK_FILE lies in the folder
that files.py writes.
"""

import sys
from collections.abc import Callable
from pathlib import Path

from timing import peak_mib

THREADS = 2


def whole_job(book_file: Path, target: Path) -> None:
    """Three checks and the predicted print, in one pass."""
    from book_text import SPREAD

    from inkmix.jobs.books import read_book
    from inkmix.jobs.check import check_spread

    check_spread(read_book(book_file), SPREAD, picture=target)


def check(book_file: Path, target: Path) -> None:
    """The command `inkmix check`, reports included."""
    _command("check", str(book_file), "--to", str(target.with_suffix("")))


def mend(book_file: Path, target: Path) -> None:
    """The command `inkmix mend`: corrections found, copies written and checked again."""
    _command("mend", str(book_file), "--to", str(target.with_suffix("")))


def predict(book_file: Path, target: Path) -> None:
    """The command `inkmix predict`."""
    _command("predict", str(book_file), "--to", str(target))


def predict_on_white(book_file: Path, target: Path) -> None:
    """A picture that differs from the print; the reference."""
    _command("predict", str(book_file), "--to", str(target), "--adapt-to-paper")


def _command(*arguments: str) -> None:
    from inkmix.cli.main import run

    code = run(list(arguments))
    if code > 1:  # 1: something fails, which is a result
        raise RuntimeError(f"inkmix {' '.join(arguments)}: exit code {code}")


def correct_plates(book_file: Path, target: Path) -> None:
    """Corrected copies of five plates, with ink added and removed beside; nothing is decided."""
    import numpy as np
    from book_text import SPREAD

    from inkmix.base.ordered_threads import each_in_order
    from inkmix.book.meant.plates import find_spread
    from inkmix.book.meant.sources import spread_sources
    from inkmix.export.plates.copies import PackedPlates, PlateCopy, plate_copies
    from inkmix.jobs.books import read_book
    from inkmix.plates.set import open_set
    from inkmix.plates.windows import Window

    book, folder = read_book(book_file), target.with_suffix("")
    plates = open_set(spread_sources(book, find_spread(book, SPREAD)))
    grid = plates.windows()
    copies = [
        PlateCopy(
            plates=(plate,),
            to=folder / plate.header.path.name,
            block_rows=grid.rows,
            block_cols=grid.cols,
        )
        for plate in plates.plates
    ]
    with plate_copies(folder, copies, untouched={}) as written:

        def packed(window: Window) -> list[PackedPlates]:
            before = plates.read(window.rows, window.cols)
            after = np.where(before > 128, before - before // 8, before + before // 8)
            place = {"row": window.rows.start, "col": window.cols.start}
            columns = zip(written.writers, before, after, strict=True)
            return [writer.pack(one[None], other[None], **place) for writer, one, other in columns]

        def append(blocks: list[PackedPlates]) -> None:
            for writer, block in zip(written.writers, blocks, strict=True):
                writer.append(block)

        each_in_order(packed, grid, append)


def decode_and_encode(book_file: Path, target: Path) -> None:
    """Reader, threads and writer of inkmix; the light of three plates goes out as R, G and B."""
    import numpy as np
    from book_text import SPREAD

    from inkmix.base.ordered_threads import each_in_order
    from inkmix.book.meant.plates import find_spread
    from inkmix.book.meant.sources import spread_sources
    from inkmix.export.picture import PackedBlock, PictureShape, picture_writer
    from inkmix.jobs.books import read_book
    from inkmix.plates.set import open_set
    from inkmix.plates.windows import Window

    book = read_book(book_file)
    plates = open_set(spread_sources(book, find_spread(book, SPREAD)))
    grid = plates.windows()
    shape = PictureShape(
        width_px=plates.width_px,
        height_px=plates.height_px,
        block_rows=grid.rows,
        block_cols=grid.cols,
    )
    with picture_writer(target, shape, ppi=plates.ppi) as writer:

        def packed(window: Window) -> PackedBlock:
            planes = plates.read(window.rows, window.cols)
            rgb = np.stack([255 - plane for plane in planes[:3]], axis=-1)
            return writer.pack(rgb, row=window.rows.start, col=window.cols.start)

        each_in_order(packed, grid, writer.append)


def libvips(book_file: Path, target: Path) -> None:
    """The layers multiplied: neither a press model nor a check."""
    import numpy as np
    import vips_rows
    from book_text import INKS, SPREAD

    vips = vips_rows.library(threads=THREADS)
    folder = book_file.parent / "plates" / SPREAD
    plates = [folder / f"{ink}.tif" for ink in INKS]
    vips_rows.multiply_files(vips, plates, target, np.load(target.with_suffix(".layers.npy")))


JOBS: dict[str, Callable[[Path, Path], None]] = {
    "whole": whole_job,
    "check": check,
    "mend": mend,
    "predict": predict,
    "predict-on-white": predict_on_white,
    "decode-and-encode": decode_and_encode,
    "correct-plates": correct_plates,
    "libvips": libvips,
}


def main() -> None:
    """Do one job and tell its memory."""
    name, book_file, target = sys.argv[1:]
    JOBS[name](Path(book_file), Path(target))
    print(peak_mib())


if __name__ == "__main__":
    main()
