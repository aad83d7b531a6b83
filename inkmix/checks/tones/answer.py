"""What is said of named tones beside their findings."""

from collections.abc import Sequence

from inkmix.base.words import difference, opening
from inkmix.checks.check import Answer, VerdictRow
from inkmix.checks.finding import worst
from inkmix.checks.tones.facts import NAMED_TONES, ToneFacts, TonePair
from inkmix.checks.tones.finder import NOTHING_FOUND, Found
from inkmix.checks.uses import ColourUse


def answer_of(
    tones: Sequence[ToneFacts], pairs: Sequence[TonePair] = (), found: Found = NOTHING_FOUND
) -> Answer:
    """The answer that the figures of tones make, and where on the spread they are used."""
    verdict = worst([tone.verdict for tone in tones])
    count = sum(tone.verdict == verdict for tone in tones)
    words = f"{count} of {len(tones)} tones"
    return Answer(
        check=NAMED_TONES,
        verdict=verdict,
        lines=(VerdictRow(name=NAMED_TONES, verdict=verdict, words=words),),
        facts={"tones": tuple(tones), "pairs": tuple(pairs), "tone_uses": found.uses},
        notes=tuple(_drift(use) for use in found.uses if use.is_far_from_mix),
        uses=found.uses,
        cells=found.cells,
    )


def _drift(use: ColourUse) -> str:
    """That a tone is drawn here in another colour than its mix, on average; nothing fails by it."""
    apart = difference(use.from_mix_de00, beside=use.limit_de00)
    return (
        f"{opening(use.name)} drifts here: drawn, on average, {apart} from the mix that the book "
        f"gives; its tolerance is {difference(use.limit_de00)}"
    )
