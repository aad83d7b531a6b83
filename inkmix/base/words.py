"""Numbers in the words of people: signs, shares, nothing. Plain text; nothing is computed."""

NONE = "–"


def number(value: float | None, digits: int = 1) -> str:
    """A number with a true minus sign; a dash for nothing."""
    if value is None:
        return NONE
    text = f"{value:.{digits}f}"
    return text.replace("-", "\N{MINUS SIGN}") if float(text) else text.removeprefix("-")


def percent(value: float | None, digits: int = 0) -> str:
    """A percentage; small shares keep a digit, so that a speck is never said to be 0 %.

    >>> percent(0.004), percent(312.4)
    ('under 0.01 %', '312 %')
    """
    if value is None:
        return NONE
    if 0 < value < 0.01:
        return "under 0.01 %"
    if 0 < value < 1:
        return f"{number(value, 2).rstrip('0')} %"
    return f"{number(value, digits)} %"
