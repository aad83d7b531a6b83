"""Which channel of a file holds an ink, and whether a colour file may stand for a grey plate."""

from dataclasses import dataclass

import numpy as np

from inkmix.base.errors import PlateError
from inkmix.base.names import same_name
from inkmix.plates.files.raster import Raster, RasterFacts, bands, refusal

_GREY = "export it as greyscale; a plate is one file for one ink"
_DECLARE = "list its channels in the book, in the order of the file, each with its ink"


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """The channel of one ink, and what has to be said about it.

    `alike` channels from that one on hold the same numbers: 3 where RGB stands for grey.
    """

    sample: int
    alike: int = 1
    notes: tuple[str, ...] = ()


def choose_channel(raster: Raster, *, ink: str, channel: int | None) -> Choice:
    """The channel that holds an ink; `channel` counts from 0 and comes from the person.

    Raises
    ------
    PlateError
        If the file holds real colour, hides parts, or does not say which channel is meant.
    """
    facts = raster.facts
    if channel is not None:
        return _told(facts, ink=ink, channel=channel)
    if facts.kind == "grey":
        return Choice(sample=0, notes=_seen_through(raster))
    if facts.kind == "rgb":
        notes = _seen_through(raster)
        _refuse_colour(raster)
        return Choice(sample=0, alike=3, notes=(*notes, "RGB with R = G = B is read as grey"))
    if facts.names:
        return Choice(sample=_named(facts, ink))
    what = "CMYK" if facts.kind == "separated" and facts.samples == 4 else "channel"
    found = f"is a {what} file of {facts.samples} channels without ink names"
    if facts.samples == 1:
        return Choice(sample=0)
    raise refusal(facts.path, found, "one grey channel is needed", _DECLARE)


def _told(facts: RasterFacts, *, ink: str, channel: int) -> Choice:
    if not 0 <= channel < facts.samples:
        found = f"has {facts.samples} channels"
        raise refusal(facts.path, found, f"channel {channel + 1} is asked for {ink}", _DECLARE)
    if facts.samples == 1:
        return Choice(sample=0)
    notes = [f"channel {channel + 1} of {facts.samples} is read as {ink}"]
    if channel < len(facts.names) and not same_name(facts.names[channel], ink):
        notes.append(f"the file calls channel {channel + 1} {facts.names[channel]}, not {ink}")
    return Choice(sample=channel, notes=tuple(notes))


def _named(facts: RasterFacts, ink: str) -> int:
    matches = [index for index, name in enumerate(facts.names) if same_name(name, ink)]
    if len(matches) == 1 and matches[0] < facts.samples:
        return matches[0]
    found = f"names its channels {', '.join(facts.names)}"
    expected = f"{'none' if not matches else 'more than one'} of them is {ink}"
    raise refusal(facts.path, found, expected, "use these names in the book, or list its channels")


def _seen_through(raster: Raster) -> tuple[str, ...]:
    """The note that alpha hides nothing; an alpha that hides something is refused."""
    facts = raster.facts
    if facts.alpha is None:
        return ()
    whole = slice(0, facts.width_px)
    for rows in bands(facts.height_px, facts.width_px):
        if int(raster.read(rows, whole, facts.alpha).min()) < facts.top:
            raise refusal(
                facts.path,
                "has an alpha channel that hides parts of the picture",
                "a flat picture is needed",
                "flatten it on white and export it without transparency",
            )
    return ("its alpha channel hides nothing and is left out",)


def _refuse_colour(raster: Raster) -> None:
    facts = raster.facts
    for rows in bands(facts.height_px, facts.width_px):
        red, green, blue = (
            raster.read(rows, slice(0, facts.width_px), sample) for sample in range(3)
        )
        if not (np.array_equal(red, green) and np.array_equal(red, blue)):
            raise colour_refusal(facts)


def colour_refusal(facts: RasterFacts) -> PlateError:
    """The error for a picture in real colour."""
    return refusal(facts.path, "is a colour picture (RGB)", "a greyscale picture is needed", _GREY)
