"""What stands against trusting an answer, as lines for a terminal; all commands say it alike."""

from collections.abc import Iterable, Iterator


def doubt_lines(
    *,
    notes: Iterable[str] = (),
    cautions: Iterable[str] = (),
    unproven: Iterable[str] = (),
    hints: Iterable[str] = (),
) -> Iterator[str]:
    """A line each: what was accepted, thin evidence, processes never tried, inks hardly known.

    Parameters
    ----------
    hints : iterable of str
        Names of inks that are known by a screen colour only.
    """
    yield from (f"note: {note}" for note in notes)
    yield from (f"caution: {caution}" for caution in cautions)
    yield from (f"unproven: {reason}" for reason in unproven)
    yield from (f"hint only: {name} is known by a screen colour" for name in hints)
