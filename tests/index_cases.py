"""Books built by hand for the tests of the index: two dozen spreads in all states, and large ones.

Names, sentences and figures are invented; they only have to be plausible together. No check is run.
"""

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from hashlib import sha256
from io import BytesIO

import numpy as np
from PIL import Image
from report_cases import INKS, PAPER, scene

from inkmix.base.errors import Fault
from inkmix.book.values import Waiver
from inkmix.checks import table
from inkmix.checks.finding import FAIL, NO_LIMIT, NOT_CHECKED, NOT_READY, PASS, UNSURE
from inkmix.checks.night.facts import NIGHT
from inkmix.checks.tones.facts import NAMED_TONES
from inkmix.checks.total_ink.facts import TOTAL_INK
from inkmix.jobs.book_answer import (
    EXPIRED,
    IN_FORCE,
    NOT_NEEDED,
    UNREADABLE,
    WAITING,
    WAIVED,
    BatchResult,
    Checked,
    InkTotal,
    InkUse,
    KeptFinding,
    ShownFinding,
    SpreadRow,
    WaiverUse,
)

NASTY = (
    "<script>alert('plate')</script>",
    'quay "by night" & day',
    "two\nlines",
    "=HYPERLINK(1)",
    "M\N{LATIN SMALL LETTER O WITH DIAERESIS}we, \u00c4rmel & S\u00f6hne",
    "caf\udce9 100%",
    "--><!--",
    "{{ r.title }}",
    "]]>&amp;\x07",
    "javascript:alert(1)",
)


@cache
def thumbnail(seed: int, *, width: int = 360, height: int = 240) -> bytes:
    """A harbour by night, as JPEG."""
    plates = scene(width, height, seed=seed)
    picture = np.array(PAPER) / 255 * np.ones((height, width, 3))
    for ink, tone in plates.items():
        picture = picture * (1 - tone[..., None] ** 0.85 * (1 - np.array(INKS[ink]) / 255))
    buffer = BytesIO()
    Image.fromarray((255 * (0.19 + 0.81 * picture)).astype(np.uint8)).save(
        buffer, "JPEG", quality=80
    )
    return buffer.getvalue()


def digest(*parts: object) -> str:
    return sha256(repr(parts).encode()).hexdigest()


def too_much_ink(spread: str, number: int = 1, *, verdict: str = FAIL) -> KeptFinding:
    return KeptFinding(
        number=number,
        check=TOTAL_INK,
        name=f"area {number}",
        verdict=verdict,
        sentence=f"Total ink reaches {351.8 - number:.1f} %; the printer allows 260 %.",
        unit="%",
        value=351.8 - number,
        limit=260.0,
        where="17 × 9.7 mm, at the left edge, 136 mm from the top of the trim",
        do="Lower Rowan by up to 75 points and Fjord by up to 18 points where total ink is over "
        "the limit: it then reaches 260 %, and the colour there changes by about dE00 2.8.",
        rows_px=(400 * number, 400 * number + 115),
        cols_px=(0, 200),
        rests_on=digest(spread, TOTAL_INK)[:12],
    )


def pale_night(spread: str, number: int = 1, *, verdict: str = FAIL) -> KeptFinding:
    return KeptFinding(
        number=number,
        check=NIGHT,
        name="open sea",
        verdict=verdict,
        sentence="Open sea: 83 % of it is dark enough, 95 % must be; its largest pale patch goes "
        "up to L* 41, the limit is L* 29.",
        unit="L*",
        value=40.1 if verdict == FAIL else 29.6,
        limit=29.0,
        error=1.1,
        where="58 × 27 mm, 59 mm from the left, 113 mm from the top of the trim",
        do="Raise Soot to at least 92 % in open sea: 100 % of it is then dark enough (L* 28.3).",
        rows_px=(900, 1200),
        cols_px=(500, 1200),
        rests_on=digest(spread, NIGHT)[:12],
    )


def wrong_tone(name: str = "moonlit water", number: int = 1) -> KeptFinding:
    """Rests on inks and paper only, so it is the same on every spread."""
    return KeptFinding(
        number=number,
        check=NAMED_TONES,
        name=name,
        verdict=FAIL,
        sentence=f"{name.capitalize()} (Soot 60 + Fjord 48 + Fog 45) prints dE00 18.9 "
        "from its intended colour, the tolerance is dE00 6.",
        unit="dE00",
        value=18.9,
        limit=6.0,
        error=4.9,
        do=f"Mix {name} from Soot 4 %, Fjord 44 %, Fog 71 %: dE00 0.1 from what was meant.",
        rests_on=digest(name)[:12],
    )


def without_limit(spread: str) -> KeptFinding:
    return replace(
        too_much_ink(spread), name="whole sheet", verdict=NO_LIMIT, limit=None, do="", where="",
        sentence="Total ink reaches 312 %; no ink limit is given.",
    )  # fmt: skip


def checked(
    name: str, *found: KeptFinding, seed: int = 1, paper: str = "night-ferry/uncoated"
) -> Checked:
    verdicts = {TOTAL_INK: PASS, NIGHT: PASS, NAMED_TONES: PASS}
    for finding in reversed(found):
        verdicts[finding.check] = finding.verdict
    order = (FAIL, NOT_READY, UNSURE, NO_LIMIT, NOT_CHECKED, PASS)
    rng = np.random.default_rng(seed)
    uses = [
        InkUse(
            ink=ink, solid_srgb8=rgb, mean_tone_pct=tone, mean_coverage_pct=1.2 * tone,
            solid_m2=0.0664 * 1.2 * tone / 100,
        )
        for (ink, rgb), tone in zip(INKS.items(), rng.uniform(0, 60, len(INKS)), strict=True)
    ]  # fmt: skip
    return Checked(
        name=name,
        folder=folder(name),
        key=digest(name, seed),
        verdict=min(verdicts.values(), key=order.index),
        sentence="Do not send yet." if found else "Nothing was found against sending these plates.",
        verdicts=verdicts,
        findings=found,
        paper=paper,
        inks=tuple(uses),
        width_mm=300.0,
        height_mm=215.0,
        sheet_m2=0.0664,
        figures={
            "max_total_ink_pct": 350.8 if found else 182.4 + seed % 50,
            "ink_limit_pct": 260.0,
        },
        notes=(),
        thumbnail=thumbnail(seed % 12),
        report_sha256=digest(name, "html"),
        data_sha256=digest(name, "json"),
    )


def folder(name: str) -> str:
    """A folder that holds what can be held of a name; here only no slash."""
    return name.replace("/", "_")


def row(name: str, state: str, *shown: ShownFinding, seed: int = 1, **more: object) -> SpreadRow:
    found = checked(name, *(one.finding for one in shown), seed=seed)
    fails = int(state == FAIL)
    return SpreadRow(name=name, state=state, checked=found, findings=shown, exit_code=fails, **more)  # type: ignore[arg-type]


def broken(name: str, *, exit_code: int = 3) -> SpreadRow:
    fault = Fault(
        where=f"plates/{name}/Soot.tif",
        found="6000 × 4000 px",
        expected="the other 4 plates are 6000 × 4050 px",
        do="export all plates from the same canvas",
    )
    short = Fault(
        where=f"plates/{name}/Fog.tif",
        found="the file ends after 512 of 80422 bytes",
        do="export it again",
    )
    return SpreadRow(name=name, state=UNREADABLE, faults=(fault, short), exit_code=exit_code)


def totals(rows: Sequence[SpreadRow]) -> tuple[InkTotal, ...]:
    uses = [use for one in rows if one.checked for use in one.checked.inks]
    return tuple(
        InkTotal(
            ink=ink,
            solid_srgb8=rgb,
            spreads=sum(use.ink == ink and use.mean_tone_pct > 0 for use in uses),
            mean_coverage_pct=float(np.mean([u.mean_coverage_pct for u in uses if u.ink == ink])),
            solid_m2=sum(use.solid_m2 for use in uses if use.ink == ink),
        )
        for ink, rgb in INKS.items()
        if uses
    )


def waiver(finding: KeptFinding, *, spread: str | None, reason: str = "small area") -> Waiver:
    return Waiver(
        spread=spread, check=finding.check, name=finding.name, rests_on=finding.rests_on,
        reason=reason, by="M. Quill",
    )  # fmt: skip


def two_dozen() -> BatchResult:
    """All states, news, waivers in all states, a tone that fails on many, nasty names."""
    tone = ShownFinding(finding=wrong_tone())
    accepted = waiver(too_much_ink("06"), spread="06", reason="the printer agreed: <small> area")
    lapsed = waiver(
        replace(pale_night("03"), rests_on="0123456789ab"), spread="03", reason="dark enough"
    )
    idle = waiver(pale_night("20"), spread="20", reason="not seen from the table")
    rows = [
        row("01", FAIL, ShownFinding(finding=too_much_ink("01"), is_new=True),
            ShownFinding(finding=too_much_ink("01", 2)),
            ShownFinding(finding=pale_night("01", 3)), tone, seed=1, gone=(wrong_tone("rain"),)),
        broken("02"),
        row("03", FAIL, ShownFinding(finding=pale_night("03"), expired=lapsed), tone, seed=2),
        row("04", FAIL, tone, seed=3),
        row("05", UNSURE, ShownFinding(finding=pale_night("05", verdict=UNSURE)), seed=4),
        row("06", WAIVED, ShownFinding(finding=too_much_ink("06"), waiver=accepted), seed=5),
        row("07", NO_LIMIT, ShownFinding(finding=without_limit("07")), seed=6),
        row("08", NOT_CHECKED, seed=7),
        broken("09", exit_code=2),
        row("10", PASS, seed=8, gone=(pale_night("10"), too_much_ink("10", 2))),
        row("11", PASS, seed=9, is_new=True),
        row("12", FAIL, tone, seed=10),
        *(row(name, PASS, seed=11 + k) for k, name in enumerate(["13", "14", "15"])),
    ]  # fmt: skip
    rows += [row(NASTY[0], FAIL, tone, ShownFinding(finding=too_much_ink(NASTY[0])), seed=14)]
    rows += [broken(NASTY[1]), broken(NASTY[5])]
    rows += [row(name, FAIL, ShownFinding(finding=pale_night(name)), seed=20 + k)
             for k, name in enumerate(NASTY[2:7]) if k != 3]  # fmt: skip
    rows += [row(name, PASS, seed=30 + k) for k, name in enumerate(NASTY[7:])]
    return BatchResult(
        title="The Night Ferry",
        book="book.toml",
        complete=True,
        checks=table.names(),
        compared=True,
        checks_before=table.names(),
        rows=tuple(rows),
        inks=totals(rows),
        waivers=(
            WaiverUse(waiver=accepted, state=IN_FORCE, findings=1),
            WaiverUse(waiver=lapsed, state=EXPIRED, findings=1),
            WaiverUse(waiver=idle, state=NOT_NEEDED, findings=0),
        ),
        lost=("16", "<b>17</b>"),
        notes=("plates/old/notes.tif: no spread takes it.",),
    )


def under_way() -> BatchResult:
    """The same, but half of it waits."""
    whole = two_dozen()
    rows = whole.rows[:12] + tuple(
        SpreadRow(name=one.name, state=WAITING) for one in whole.rows[12:]
    )
    return replace(whole, complete=False, rows=rows, inks=totals(rows))


def all_pass(amount: int = 5) -> BatchResult:
    rows = tuple(row(f"{k:03}", PASS, seed=k) for k in range(1, amount + 1))
    return BatchResult(
        title="The Night Ferry", book="book.toml", complete=True, checks=table.names(),
        compared=False, rows=rows, inks=totals(rows), waivers=(),
    )  # fmt: skip


def large(amount: int = 2000) -> BatchResult:
    """Many spreads, a seventh of them with findings, a few that cannot be read."""
    rows = []
    for k in range(1, amount + 1):
        name = f"{k:04}"
        if k % 97 == 0:
            rows.append(broken(name))
        elif k % 7 == 0:
            found = [too_much_ink(name, number) for number in range(1, 1 + k % 12)]
            found.append(pale_night(name, len(found) + 1))
            shown = [ShownFinding(finding=one, is_new=k % 21 == 0) for one in found]
            rows.append(row(name, FAIL, *shown, seed=k))
        elif k % 11 == 0:
            night = ShownFinding(finding=pale_night(name, verdict=UNSURE))
            rows.append(row(name, UNSURE, night, seed=k))
        else:
            rows.append(row(name, PASS, seed=k))
    return compared(replace(all_pass(1), rows=tuple(rows), inks=totals(rows)))


def compared(result: BatchResult) -> BatchResult:
    """The same, compared with a last run of the same checks."""
    return replace(result, compared=True, checks_before=result.checks)
