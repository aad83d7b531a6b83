"""What is said of total ink beside its findings: the answer, and its chart."""

from inkmix.base.words import percent
from inkmix.checks.chart import Axis, Histogram, Line
from inkmix.checks.check import Answer, VerdictRow
from inkmix.checks.total_ink.facts import BAND_PCT, TOTAL_INK, TotalInkFacts

_BEYOND_PCT = 20  # shown of the axis behind the last bar
_TICK_PCT = 50.0


def answer_of(facts: TotalInkFacts) -> Answer:
    """The answer that figures make."""
    words = f"reaches {percent(facts.max_pct, beside=facts.limit_pct)} on the sheet"
    return Answer(
        check=TOTAL_INK,
        verdict=facts.verdict,
        lines=(VerdictRow(name=TOTAL_INK, verdict=facts.verdict, words=words),),
        facts={"total_ink": facts},
        figures={"max_total_ink_pct": facts.max_pct, "ink_limit_pct": facts.limit_pct},
    )


def total_ink_chart(facts: TotalInkFacts) -> Histogram:
    """Histogram of total ink over the sheet."""
    highest = max([facts.max_pct, *(start for start, share in facts.histogram if share > 0)])
    stop = max(highest, facts.limit_pct or 0.0) + _BEYOND_PCT
    limit = None
    if facts.limit_pct is not None:
        limit = Line(value=facts.limit_pct, words=f"limit {percent(facts.limit_pct)}")
    words = "total ink, % (height: share of the sheet)"
    return Histogram(
        bars=facts.histogram,
        step=float(BAND_PCT),
        axis=Axis(start=0.0, stop=stop, tick=_TICK_PCT, words=words),
        limit=limit,
    )
