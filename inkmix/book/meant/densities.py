"""What densitometer readings of a book look like, as an ink of that colour."""

from inkmix.book.values import DensityReading
from inkmix.press.inks import Ink, Paper, ink_from_density


def ink_of_reading(reading: DensityReading, name: str, *, paper: Paper, source: str = "") -> Ink:
    """An ink whose solid reads so on this paper.

    Raises
    ------
    ModelError
        Readings that no print on it has.
    """
    return ink_from_density(
        name,
        red=reading.red,
        green=reading.green,
        blue=reading.blue,
        status=reading.status,
        relative=reading.relative,
        paper=paper,
        source=source,
    )
