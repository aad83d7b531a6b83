"""What is said of night areas beside their findings: the answer, and a chart of each."""

from collections.abc import Sequence

from inkmix.base.words import lightness, number, percent
from inkmix.checks.chart import Axis, Histogram, Line
from inkmix.checks.check import Answer, VerdictRow
from inkmix.checks.finding import worst
from inkmix.checks.night.facts import NIGHT, NightFacts

_BEYOND_L = 5  # shown of the axis on both sides of what is there
_FEW_L = 50  # over which ticks stand closely


def answer_of(nights: Sequence[NightFacts]) -> Answer:
    """The answer that the figures of areas make."""
    return Answer(
        check=NIGHT,
        verdict=worst([one.verdict for one in nights]),
        lines=tuple(
            VerdictRow(name=f"night: {one.name}", verdict=one.verdict, words=_words(one))
            for one in nights
        ),
        facts={"nights": tuple(nights)},
    )


def _words(night: NightFacts) -> str:
    if night.value_L is None:
        return ""
    reached = lightness(night.value_L, beside=night.lightest_L)
    return f"{percent(night.share_pct)} of it at {reached} or darker"


def night_chart(facts: NightFacts) -> Histogram:
    """Histogram of L* in a night area, with the limit and the value that counts."""
    known = [start for start, share in facts.histogram if share > 0]
    known += [value for value in (facts.lightest_L, facts.value_L) if value is not None]
    axis = Axis(
        start=max(min(known) - _BEYOND_L, 0.0),
        stop=max(known) + _BEYOND_L,
        tick=5.0 if max(known) - min(known) < _FEW_L else 10.0,
        words="L* (0 black, 100 white; height: share of the area)",
    )
    limit = reached = None
    if facts.lightest_L is not None:
        limit = Line(value=facts.lightest_L, words=f"limit {number(facts.lightest_L)}")
    if facts.value_L is not None:
        words = f"reached {number(facts.value_L, beside=facts.lightest_L)}"
        reached = Line(value=facts.value_L, words=words, error=facts.error_L or 0.0)
    return Histogram(bars=facts.histogram, step=1.0, axis=axis, limit=limit, reached=reached)
