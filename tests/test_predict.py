"""Pictures of the print: rows of the table, all plates or some, on the paper or on white."""

import numpy as np
import pytest
import tifffile
from counted import open_spread
from PIL import Image
from separations import (
    INKS,
    SPREAD,
    PhotoBook,
    in_steps,
    photograph,
    press,
    separated,
    write_book,
    write_picture,
)

import inkmix.plates.set
from inkmix.base.errors import OutputError, UsageError
from inkmix.colour.colorimetry import xyz100_to_srgb1
from inkmix.jobs.printing.white import lookup_for
from inkmix.press.table.lookup import outside_srgb, srgb_to_srgb8

THREE = INKS[:3]


@pytest.fixture(scope="module")
def photo(tmp_path_factory) -> PhotoBook:
    """A rocket, with a corner left bare."""
    amounts = separated(photograph("rocket", slice(90, 190), slice(250, 370)), THREE)
    plates = {ink: in_steps(amount) for ink, amount in amounts.items()}
    for plane in plates.values():
        plane[:20, :30] = 0
    return write_book(tmp_path_factory.mktemp("rocket"), plates)


@pytest.fixture(scope="module")
def spread(photo):
    return open_spread(photo.book, SPREAD)


@pytest.fixture(scope="module")
def lookup(spread):
    return lookup_for(spread, spread.condition, paper_white=False)


def planes_of(photo: PhotoBook) -> np.ndarray:
    return np.stack(list(photo.plates.values()))


def picture(path) -> np.ndarray:
    """What other readers see: Pillow for PNG, tifffile for TIFF."""
    return tifffile.imread(path) if path.suffix == ".tif" else np.asarray(Image.open(path))


@pytest.mark.parametrize("ending", ["png", "tif"])
def test_a_picture_holds_the_rows_of_the_table(photo, spread, lookup, tmp_path, ending):
    written = write_picture(spread, tmp_path / f"p.{ending}")
    srgb, _ = lookup.evaluate(planes_of(photo))
    np.testing.assert_array_equal(picture(written.path), srgb_to_srgb8(srgb))
    outside = 100 * outside_srgb(srgb).mean()
    assert written.outside_srgb_pct == pytest.approx(outside, abs=1e-9)


def test_windows_change_no_byte_of_a_picture(spread, tmp_path, monkeypatch):
    write_picture(spread, tmp_path / "whole.png")
    monkeypatch.setattr(inkmix.plates.set, "MAX_WINDOW_PX", 13 * 120)
    told = []
    write_picture(spread, tmp_path / "bands.png", progress=lambda _, share: told.append(share))
    np.testing.assert_array_equal(picture(tmp_path / "bands.png"), picture(tmp_path / "whole.png"))
    assert len(told) > 5
    assert told == sorted(told)
    assert told[-1] == 1.0


@pytest.mark.parametrize("inks", [("Fjord",), ("Rowan", "Soot"), THREE])
def test_some_plates_print_as_if_the_others_were_empty(photo, spread, lookup, tmp_path, inks):
    write_picture(spread, tmp_path / "p.png", inks=inks)
    planes = planes_of(photo)
    planes[[ink not in inks for ink in THREE]] = 0
    wanted = srgb_to_srgb8(lookup.evaluate(planes)[0])
    np.testing.assert_array_equal(picture(tmp_path / "p.png"), wanted)


def test_no_plate_of_the_spread_is_touched(photo, spread, tmp_path):
    files = sorted((photo.folder / "plates").iterdir())
    before = [file.read_bytes() for file in files]
    write_picture(spread, tmp_path / "p.png", inks=("Fjord",))
    assert [file.read_bytes() for file in files] == before


def test_bare_paper_has_the_papers_colour(spread, tmp_path):
    """Half a step of 255 by rounding."""
    write_picture(spread, tmp_path / "p.png")
    paper = 255 * xyz100_to_srgb1(spread.condition.paper.xyz100)
    corner = picture(tmp_path / "p.png")[:20, :30].reshape(-1, 3)
    assert (np.abs(corner - paper) <= 0.51).all()


@pytest.mark.parametrize("on_screen", [False, True])
def test_bare_paper_is_white_where_paper_is_shown_as_white(spread, tmp_path, on_screen):
    write_picture(spread, tmp_path / "p.png", on_screen=on_screen, paper_white=True)
    assert (picture(tmp_path / "p.png")[:20, :30] == 255).all()


def test_paper_white_divides_by_the_paper(photo, spread, tmp_path):
    """Exact model, XYZ over that of the paper; 2 steps of 255 hold the table's error here."""
    write_picture(spread, tmp_path / "p.png", paper_white=True)
    condition = press(*THREE)
    relative = condition.xyz100(photo.tone_pct()) / condition.paper.xyz100
    srgb255 = 255 * np.clip(xyz100_to_srgb1(relative * [96.422, 100, 82.521]), 0, 1)
    assert np.abs(picture(tmp_path / "p.png") - srgb255).max() <= 2


def test_layers_on_screen_are_a_product(photo, spread, tmp_path):
    """Inks relative to paper multiply in encoded sRGB: 1 - t (1 - S), by plain arithmetic.

    2 steps of 255: the table interpolates a product.
    """
    write_picture(spread, tmp_path / "p.png", on_screen=True, paper_white=True)
    condition = press(*THREE)
    relative = condition.xyz100(100 * np.eye(3)) / condition.paper.xyz100
    solids = np.clip(xyz100_to_srgb1(relative * [96.422, 100, 82.521]), 0, 1)
    tones = photo.tone_pct()[..., None] / 100
    product = np.prod(1 - tones * (1 - solids), axis=-2)
    assert np.abs(picture(tmp_path / "p.png") - 255 * product).max() <= 2


def test_an_ink_that_is_not_there_is_refused(spread, tmp_path):
    with pytest.raises(UsageError, match="Soot, Fjord, Rowan"):
        write_picture(spread, tmp_path / "p.png", inks=("Brass",))
    assert not list(tmp_path.iterdir())


def test_an_unknown_kind_of_picture_is_refused(spread, tmp_path):
    with pytest.raises(OutputError, match="png"):
        write_picture(spread, tmp_path / "p.bmp")
