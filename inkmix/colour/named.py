"""Plain words for colours, from their Lab. How people write colours is in written.py."""

import numpy as np

_HUES = ((45, "red"), (72, "orange"), (86, "ochre"), (108, "yellow"), (140, "lime"),
         (175, "green"), (215, "teal"), (250, "sky blue"), (300, "blue"), (325, "violet"),
         (350, "pink"), (361, "red"))  # fmt: skip
_PINK_L = 70  # from which a red is called pink


def colour_name(lab: tuple[float, float, float]) -> str:
    """A plain word for a colour, by lightness, chroma and hue angle (common practice).

    >>> colour_name((30.0, 2.0, -20.0)), colour_name((90.0, 0.0, 2.0))
    ('dark blue', 'white')
    """
    L, a, b = lab
    chroma, hue = float(np.hypot(a, b)), float(np.degrees(np.arctan2(b, a))) % 360
    if chroma < 6:
        return "black" if L < 20 else "dark grey" if L < 45 else "grey" if L < 72 else (
            "light grey" if L < 86 else "white")  # fmt: skip
    word = next(name for upto, name in _HUES if hue < upto)
    if word in ("red", "pink") and L > _PINK_L:
        return "pink"
    return f"{'dark ' if L < 38 else 'light ' if L > 76 else ''}{word}"
