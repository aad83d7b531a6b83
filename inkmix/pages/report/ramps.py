"""A correction as two ramps: the tones of a plate as they were, and as they become."""

from collections.abc import Sequence

from markupsafe import Markup

from inkmix.base.words import number
from inkmix.jobs.answer import Ramps
from inkmix.pages.svg import Triple8, element, hexed, label, pct

_RAMP_PX, _TOP_PX, _BETWEEN_PX = 20, 16, 2
_HEIGHT_PX = _TOP_PX + 2 * _RAMP_PX + _BETWEEN_PX + 18


def ramps_svg(ramps: Ramps) -> Markup:
    """Both ramps, one over the other, with tone values in %; each tone stands over what it becomes.

    Fields stand at their tone values from the left, bare paper, to the right, the solid.
    """
    lower_px = _TOP_PX + _RAMP_PX + _BETWEEN_PX
    return element(
        "svg",
        {"class": "ramps", "height": _HEIGHT_PX, "aria-hidden": "true"},
        *_numbers(ramps.before_pct, ramps.before_pct, y_px=_TOP_PX - 4),
        *_strip(ramps.before_srgb8, y_px=_TOP_PX),
        *_strip(ramps.after_srgb8, y_px=lower_px),
        *_numbers(ramps.before_pct, ramps.after_pct, y_px=lower_px + _RAMP_PX + 14),
    )


def _strip(colours: Sequence[Triple8], *, y_px: float) -> list[Markup]:
    """A field for each tone; the outer two are half as wide, since their middles are the ends."""
    step = 100 / (len(colours) - 1)
    fields = []
    for k, colour in enumerate(colours):
        left = max(0.0, (k - 0.5) * step)
        box = {"x": pct(left), "y": y_px, "width": pct(100 - left), "height": _RAMP_PX}
        fields.append(element("rect", box | {"fill": hexed(colour)}))
    return fields


def _numbers(at_pct: Sequence[float], said_pct: Sequence[float], *, y_px: float) -> list[Markup]:
    words = []
    for at, said in zip(at_pct, said_pct, strict=True):
        anchor = "start" if at <= 0 else "end" if at >= 100 else "middle"
        place = {"x": pct(at), "y": y_px, "text-anchor": anchor}
        words.append(label(number(said, 0), place))
    return words
