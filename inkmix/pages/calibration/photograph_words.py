"""What is said of a photograph that stood in for an instrument, on the page and in the terminal."""

from collections.abc import Iterator

from inkmix.base.words import difference, first_of, listing, number, percent, size_of
from inkmix.jobs.calibrating.photograph import Photographed
from inkmix.jobs.calibrating.values import Calibration

INSTRUMENT_FIRST = (
    "Read the form with an instrument before you print more: that tells more than any further "
    "patch in a photograph."
)
ONE_CAMERA = (
    "All of them were seen by one camera in one light: that tells how well they agree, and not how "
    "far the camera is off. The expected error counts both."
)
_MOST_NAMES = 6
_FAR_DE00 = 2.0  # between copies of one field: light that was not evened


def how_it_was(seen: Photographed) -> Iterator[str]:
    """How the picture was: its size, how the form lay in it, how evenly it was lit."""
    width, height = seen.size_px
    yield (
        f"The photograph has {size_of(width, height, 'px')}; its smallest patch is "
        f"{number(seen.patch_px, 0)} px wide. Patches lay {number(seen.marks_off_mm, 2)} mm beside "
        "where the corner marks put them, which has been put right."
    )
    yield (
        f"The lightest place of the form was lit {number(seen.light_ratio, 2)} times as brightly "
        "as the darkest. With that evened out, 95 of 100 places of bare paper agree to "
        f"{percent(100 * seen.light_left)}, and copies of one tint in the four corners "
        f"to {difference(seen.fields_apart_de00)}."
    )
    if seen.fields_apart_de00 > _FAR_DE00:
        yield (
            "That is much: stray light or a shine may lie on part of the form. Photograph it in "
            "softer light if you can."
        )
    if seen.clipped:
        few = first_of(list(seen.clipped), most=_MOST_NAMES)
        patches = "Patch" if len(seen.clipped) == 1 else "Patches"
        yield (
            f"{patches} {few}: more colourful than the picture can hold, so these colours are the "
            "least sure."
        )


def what_it_cannot_tell(found: Calibration) -> Iterator[str]:
    """What a camera leaves open, and what that means for verdicts."""
    assert found.photograph is not None, "only of a photograph"
    dark = found.photograph.darkest_ink
    yield (
        "A camera sees colours beside the paper, with eyes of its own. So the colour of the paper "
        f"stays the book’s, and the tones of {dark} are mostly the book’s, too: they tell how the "
        "camera bends tones."
    )
    yield (
        "Nothing is surer by a photograph: each expected error is at least what it was before, and "
        "no verdict that rests on these colours passes. Have the form read with an instrument, or "
        "ask your printer to, before you rely on it."
    )


def less_sure(names: list[str]) -> str:
    """What to do where the book knows more than the photograph."""
    return (
        f"Less sure than the book had it: {listing(names)}. Name this file in the book only where "
        "you doubt the book’s own colours."
    )
