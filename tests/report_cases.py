"""Results of spreads built by code, for the tests of the report.

Everything here is invented: scenes drawn by numpy, inks and figures that only have to be plausible
together. No check is run; what a report says of a result is what is tested.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache
from hashlib import sha256
from io import BytesIO

import numpy as np
from PIL import Image

from inkmix.checks.check import Answer
from inkmix.checks.finding import (
    FAIL,
    MIX,
    NO_LIMIT,
    NOT_CHECKED,
    PASS,
    TAKE_OFF,
    UNSURE,
    Change,
    CurveStep,
    Finding,
    Remedy,
    Spot,
    Step,
)
from inkmix.checks.headline import headline
from inkmix.checks.night import answer as night_figures
from inkmix.checks.night.entry import Night
from inkmix.checks.night.facts import NIGHT, NightFacts
from inkmix.checks.orders.facts import NightOrder, ToneOrder
from inkmix.checks.reference.facts import ReferenceFacts, ReferencePixels
from inkmix.checks.tones import answer as tone_figures
from inkmix.checks.tones.entry import NamedTones
from inkmix.checks.tones.facts import NAMED_TONES, ToneFacts, TonePair
from inkmix.checks.tones.finder import Found
from inkmix.checks.total_ink.answer import answer_of as total_ink_answer
from inkmix.checks.total_ink.facts import TOTAL_INK, TotalInkFacts
from inkmix.checks.uses import ColourUse
from inkmix.jobs.answer import ConditionFacts, InkFacts, OpenValue, SheetFacts, SpreadResult
from inkmix.press.values import ProcessInk
from inkmix.sheet.geometry import Panel, Place, panels_in_a_row

INKS = {
    "Fog": (196, 205, 209),
    "Brass": (226, 178, 71),
    "Rowan": (205, 79, 49),
    "Fjord": (40, 72, 110),
    "Soot": (52, 48, 46),
}
MORE_INKS = {"Moss": (102, 121, 62), "Heather": (142, 104, 150), "Kelp": (54, 92, 84)}
PAPER = (246, 241, 229)
STRIP = (880.0, 150.0)
SPREAD = (300.0, 215.0)


def png(srgb8: np.ndarray) -> bytes:
    buffer = BytesIO()
    Image.fromarray(srgb8.astype(np.uint8)).save(buffer, "PNG", compress_level=1)
    return buffer.getvalue()


def scene(width: int, height: int, *, seed: int = 1) -> dict[str, np.ndarray]:
    """Ink amounts 0-1 of five plates: a night harbour in layers of hills over water."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[0:height, 0:width] / height
    grain = rng.normal(0, 0.035, (height, width))
    ridge = 0.45 + 0.08 * np.sin(3.1 * x) + 0.03 * np.sin(11 * x + 1) + 0.02 * np.sin(37 * x)
    land = 1 / (1 + np.exp(-(y - ridge) * 120))
    water = 1 / (1 + np.exp(-(y - 0.68 - 0.01 * np.sin(5 * x)) * 90))
    moon = np.exp(-(((x - 0.7 * width / height) ** 2 + (y - 0.2) ** 2) / 0.006))
    path = np.exp(-(((x - 0.7 * width / height) / (0.05 + 0.12 * (y - 0.6))) ** 2)) * water
    lamps = np.zeros_like(x)
    for spot in rng.uniform(0, width / height, 14):
        lamps += np.exp(-(((x - spot) ** 2 + (y - 0.62) ** 2) / 0.0004))
    plates = {
        "Fog": 0.5 - 0.4 * moon + 0.3 * water,
        "Brass": 0.15 + 0.8 * lamps + 0.3 * path + 0.25 * (1 - y) * (1 - land),
        "Rowan": 0.25 * land * (1 - water) + 0.7 * lamps * water,
        "Fjord": 0.55 * (1 - land) * (1 - moon) + 0.8 * land - 0.5 * path - 0.5 * lamps,
        "Soot": 0.25 * (1 - moon) * (1 - y) + 0.75 * land - 0.2 * water - 0.6 * path - 0.5 * lamps,
    }
    return {ink: np.clip(tone + grain, 0, 1) for ink, tone in plates.items()}


def printed(plates: dict[str, np.ndarray], *, paper: tuple[int, int, int], gain: float) -> bytes:
    """Layers multiplied, with a crude gain: only something to look at."""
    picture = np.array(paper) / 255 * np.ones((*next(iter(plates.values())).shape, 3))
    for ink, tone in plates.items():
        solid = np.array((INKS | MORE_INKS)[ink]) / 255
        picture = picture * (1 - tone[..., None] ** gain * (1 - solid))
    floor = 0.19 if gain < 1 else 0.0
    return png(255 * (floor + (1 - floor) * picture))


@cache
def pictures(width: int, height: int) -> dict[str, bytes]:
    """The pair, the plan and each plate in its ink."""
    plates = scene(width, height)
    drawn = {
        f"plate {ink}": printed({ink: tone[::2, ::2]}, paper=PAPER, gain=0.8)
        for ink, tone in plates.items()
    }
    predicted = printed(plates, paper=PAPER, gain=0.85)
    total = sum(plates.values()) / 5
    grey = np.repeat((255 - 200 * total)[::2, ::2, None], 3, axis=2)
    return {
        "screen": printed(plates, paper=(255, 255, 255), gain=1.0),
        "print": predicted,
        "plan": predicted,
        "total ink": png(grey),
    } | drawn


def ink_facts(name: str, *, file: str | None, picture: str | None) -> InkFacts:
    return InkFacts(
        name=name, known="ramp", source="swatches, The Night Ferry (invented)", opacity=0.0,
        opacity_from="told", character=(), solid_lab=(32.0, 4.0, -21.0),
        solid_srgb8=(INKS | MORE_INKS)[name],
        file=file, digest=sha256(name.encode()).hexdigest() if file else None,
        width_px=6976, height_px=1228, bits=8, ppi=200.0, screened=False,
        mean_tone_pct=31.2, mean_coverage_pct=38.4, max_tone_pct=100.0, inked_area_pct=82.5,
        profile=None, notes=(), picture=picture,
    )  # fmt: skip


def condition(**changes: object) -> ConditionFacts:
    facts = ConditionFacts(
        paper="night-ferry/uncoated", paper_class="uncoated", paper_lab=(95.1, 0.6, 4.2),
        paper_srgb8=PAPER, paper_source="invented for The Night Ferry",
        process="sheet-fed offset", level="ramps", error_de00=2.1, error_L=1.4,
        process_inks=(ProcessInk(name="Soot", colour="black", in_common=True),),
        spots=("Fjord", "Rowan", "Brass", "Fog"), cautions=(), hints=(), unproven=(),
    )  # fmt: skip
    return replace(facts, **changes)  # type: ignore[arg-type]


def sheet(panels: tuple[Panel, ...], size: tuple[float, float]) -> SheetFacts:
    width, height = size
    return SheetFacts(
        width_px=round((width + 6) / 25.4 * 200), height_px=round((height + 6) / 25.4 * 200),
        ppi=200.0, width_mm=width, height_mm=height, bleed_mm=3.0, panels=panels,
    )  # fmt: skip


def place(panel: int | None, x: float, y: float, width: float, height: float) -> Place:
    left = 110.0 * (panel - 1) if panel else 0.0
    return Place(
        panel=f"panel {panel}" if panel else None,
        panels=(f"panel {panel}",) if panel else (), x_mm=x, y_mm=y, width_mm=width,
        height_mm=height, sheet_x_mm=left + x, sheet_y_mm=y,
    )  # fmt: skip


def spot(where: Place, *, value: float) -> Spot:
    return Spot(
        place=where, rows_px=(0, 10), cols_px=(0, 10), value=value,
        area_mm2=0.6 * where.width_mm * where.height_mm,
    )  # fmt: skip


def bell(middle: float, spread: float, *, start: int, stop: int, step: int = 1):
    """A histogram that adds up to 100 %."""
    values = np.arange(start, stop, step)
    share = np.exp(-(((values - middle) / spread) ** 2))
    share = 100 * share / share.sum()
    return tuple((float(v), float(round(s, 4))) for v, s in zip(values, share, strict=True))


def total_ink(verdict: str, *, limit: float | None, highest: float) -> TotalInkFacts:
    bars = bell(170, 75, start=0, stop=int(highest) + 1, step=10)
    over = sum(share for start, share in bars if limit is not None and start >= limit)
    return TotalInkFacts(
        verdict=verdict, limit_pct=limit, whose="process default", max_pct=highest,
        over_area_mm2=over * 1320.0, over_area_pct=over, areas=2 if over else 0,
        specks=17 if over else 0, min_area_mm2=1.0, histogram=bars,
    )  # fmt: skip


def night(name: str, verdict: str, *, limit: float | None, value: float) -> NightFacts:
    return NightFacts(
        name=name, verdict=verdict, mask="the picture masks/" + name + ".png", area_mm2=18240.0,
        lightest_L=limit, share_pct=95.0,
        reached_pct=None if limit is None else 99.2 if value < limit else 61.5, value_L=value,
        value_density=1.21, error_L=1.4, median_L=value - 3.2, darkest_L=value - 5.1,
        histogram=bell(value - 2.8, 2.2, start=int(value) - 9, stop=int(value) + 8),
    )  # fmt: skip


def tone(name: str, verdict: str, *, de00: float, mix: dict[str, float]) -> ToneFacts:
    shift = round(de00 * 4)
    return ToneFacts(
        name=name, verdict=verdict, mix_pct=mix, intended="#3a2c4d relative to paper white",
        intended_lab=(21.5, 13.0, -18.0), intended_srgb8=(58, 44, 77),
        predicted_lab=(26.0, 10.5, -14.2), predicted_srgb8=(58 + shift, 44 + shift, 77),
        out_of_srgb=False, total_ink_pct=sum(mix.values()), de00=de00, tolerance_de00=4.0,
        error_de00=1.1,
    )  # fmt: skip


OPEN = (
    OpenValue(
        what="ink limit", value="300 %", whose="process default",
        why="total ink, and how dark night may become",
    ),
    OpenValue(
        what="tone value increase of Rowan", value="19 % at 50 %", whose="process default",
        why="every tint that holds Rowan",
    ),
    OpenValue(
        what="order of the inks", value="Fog, Brass, Rowan, Fjord, Soot", whose="guessed",
        why="overlaps of Fog, which is partly opaque",
    ),
)  # fmt: skip
METHOD = (
    "Each ink’s density is taken from its measured ramp; solids multiply, with additivity failure "
    "and trapping; halftones mix after Neugebauer and Yule-Nielsen.",
    "The number in a plate is its tone value; embedded profiles are not applied.",
)
NOT_LOOKED_AT = (
    "register, trapping and spreads",
    "text and hair lines",
    "haze from scans and tones too light to print",
)


def tone_order(*, ask: bool) -> ToneOrder:
    """Harbour dusk with Rowan printed first."""
    change = "harbour dusk clearly redder, dE00 4.2 (unsure instead of fail)"
    return ToneOrder(
        name="harbour dusk", mix_pct={"Rowan": 60, "Fjord": 80}, ink="Rowan", to="first",
        passes=("Fjord",), lab=(26.0, 10.5, -14.2), srgb8=(78, 54, 85),
        other_lab=(27.0, 14.5, -13.2), other_srgb8=(92, 50, 80), de00=4.2, verdict=FAIL,
        other_verdict=UNSURE, ask=ask, change=change,
        sentence=f"Rowan printed first instead of third: {change}",
    )  # fmt: skip


def night_order() -> NightOrder:
    """The sea with Soot printed last."""
    change = "night sea lighter, L* 37.6 where the book's order reaches 36.4"
    return NightOrder(
        name="sea", ink="Soot", to="last", passes=("Fjord",), value_L=36.4, other_L=37.6,
        verdict=FAIL, other_verdict=FAIL, ask=False, change=change,
        sentence=f"Soot printed last instead of first: {change}",
    )  # fmt: skip


def strip_result() -> SpreadResult:
    """Eight panels, five inks, nothing wrong."""
    panels = panels_in_a_row(8, width_mm=110.0, height_mm=150.0)
    return _result(panels, STRIP, pictures(1300, 228))


def spread_result() -> SpreadResult:
    """A plain spread without panels, nothing wrong."""
    return _result((), SPREAD, pictures(760, 548))


def revised(base: SpreadResult, **changes: object) -> SpreadResult:
    """The result with other fields; those of checks by their names in report.json."""
    facts = {**base.facts, **{name: changes.pop(name) for name in base.facts if name in changes}}
    return replace(base, answers=answers(**facts), **changes)  # type: ignore[arg-type]


def answers(
    total_ink: TotalInkFacts,
    nights: tuple[NightFacts, ...],
    tones: tuple[ToneFacts, ...],
    pairs: tuple[TonePair, ...] = (),
    tone_uses: tuple[ColourUse, ...] = (),
) -> tuple[Answer, ...]:
    """What the three checks say where these are their figures."""
    return total_ink_answer(total_ink), night_answer(nights), tones_answer(tones, pairs, tone_uses)


def night_answer(nights: Sequence[NightFacts]) -> Answer:
    return night_figures.answer_of(nights) if nights else Night().not_asked()


def tones_answer(
    tones: Sequence[ToneFacts],
    pairs: Sequence[TonePair] = (),
    uses: tuple[ColourUse, ...] = (),
) -> Answer:
    found = Found(uses=uses, cells={})
    return tone_figures.answer_of(tones, pairs, found) if tones else NamedTones().not_asked()


def _result(
    panels: tuple[Panel, ...], size: tuple[float, float], drawn: dict[str, bytes]
) -> SpreadResult:
    files = {ink: f"plates/night-03/{ink}.tif" for ink in INKS}
    verdicts = {TOTAL_INK: PASS, NIGHT: PASS, NAMED_TONES: PASS}
    return SpreadResult(
        title="The Night Ferry", spread="night-03", verdict=PASS,
        sentence=headline(verdicts, ()), condition=condition(), sheet=sheet(panels, size),
        inks=tuple(
            ink_facts(ink, file=files[ink], picture=f"plate {ink}") for ink in INKS
        ),
        answers=answers(
            total_ink=total_ink(PASS, limit=300.0, highest=271.0),
            nights=(night("sea", PASS, limit=36.0, value=33.1),),
            tones=(
                tone("harbour dusk", PASS, de00=1.4, mix={"Rowan": 60, "Fjord": 80}),
                tone("lamplight", PASS, de00=2.2, mix={"Brass": 85, "Rowan": 20}),
                tone("wet quay", PASS, de00=0.9, mix={"Fog": 40, "Fjord": 55, "Soot": 30}),
            ),
        ),
        findings=(), out_of_srgb_pct=0.4,
        screen_difference="On a screen the darkest tenth of this spread looks 9.2 L* darker than "
        "it should print.",
        ask_printer=OPEN, not_checked=NOT_LOOKED_AT, method=METHOD,
        digests={file: sha256(file.encode()).hexdigest() for file in files.values()},
        pictures=drawn,
    )  # fmt: skip


def findings() -> tuple[Finding, ...]:
    """Findings of every check, failing and unsure."""
    return (
        Finding(
            check=NIGHT, name="sea", verdict=FAIL, unit="L*", value=36.4, limit=30.0, error=1.4,
            sentence="The lightest twentieth of night “sea” prints at L* 36.4, where 30 is the "
            "lightest allowed.",
            place=place(3, 12.0, 88.0, 74.0, 51.0), rows_px=(700, 1110), cols_px=(1800, 2380),
            area_mm2=1830.0, area_pct=38.5, picture="close sea",
            spots=(
                spot(place(3, 12.0, 88.0, 74.0, 51.0), value=36.9),
                spot(place(5, 70.0, 110.0, 22.0, 14.0), value=34.2),
            ),
            remedies=(
                Remedy(
                    do="Darken the pale parts of sea by smooth tone curves, each only as far "
                    "as it needs: up to 22 points more Soot and 20 more Fjord.",
                    loses="1 light turns dark: the share leaves no room for more.",
                    gains="Asked: 95 % of the area at L* 30 or darker. Reached: 96 % of it (95 % "
                    "of it even at L* 29.3). 2 lights stay as drawn.",
                    advice="Do the remedy for total ink after it.",
                    curves=(
                        CurveStep(plate="Soot", area="sea", most_pct=22.0,
                                  heights_pct=(0.0, 55.0, 90.0, 98.0, 100.0)),
                        CurveStep(plate="Fjord", area="sea", most_pct=20.0,
                                  heights_pct=(0.0, 45.0, 75.0, 90.0, 100.0)),
                    ),
                    fade_mm=1.5, lights_kept=2, lights_lost=1, texture_pct=84.0, reaches_L=29.3,
                    reaches_total_pct=262.0, solves=True,
                ),
                Remedy(
                    do="A second hit of Soot would reach L* 27.8.", reaches_L=27.8,
                ),
            ),
        ),
        Finding(
            check=TOTAL_INK, name="area 1", verdict=FAIL, unit="%", value=341.0, limit=300.0,
            sentence="Total ink reaches 341 % in the hull of the ferry.", whose="process default",
            place=place(6, 31.0, 70.0, 42.0, 18.0), area_mm2=412.0, area_pct=0.31,
            remedies=(
                Remedy(
                    do="Take up to 45 points of Fog off where total ink is over 300 %.",
                    loses="The colour there changes by dE00 0.8 on average, 1.9 at most.",
                    gains="Total ink then reaches 299.6 %.",
                    steps=(Step(plate="Fog", operation=TAKE_OFF, amount_pct=45.0),),
                    reaches_total_pct=299.6, solves=True,
                    change=Change(mean_de00=0.8, p95_de00=1.6, most_de00=1.9),
                ),
            ),
        ),
        Finding(
            check=TOTAL_INK, name="area 2", verdict=FAIL, unit="%", value=309.0, limit=300.0,
            sentence="Total ink reaches 309 % on a mooring post.", whose="process default",
            place=place(6, 84.0, 101.0, 1.1, 2.0), area_mm2=1.6, area_pct=0.001,
        ),
        Finding(
            check=NAMED_TONES, name="harbour dusk", verdict=FAIL, unit="dE00", value=6.3,
            limit=4.0, error=1.1,
            sentence="“harbour dusk” prints lighter and redder than meant, dE00 6.3.",
            remedies=(
                Remedy(
                    do="Set it as Rowan 48 + Fjord 92; tried: dE00 1.2.",
                    steps=(
                        Step(plate="Rowan", operation=MIX, amount_pct=48.0),
                        Step(plate="Fjord", operation=MIX, amount_pct=92.0),
                    ),
                    reaches_de00=1.2, solves=True,
                ),
            ),
        ),
        Finding(
            check=NIGHT, name="sky", verdict=UNSURE, unit="L*", value=31.0, limit=30.0, error=1.4,
            sentence="The lightest twentieth of night “sky” is predicted at L* 31.0, within the "
            "expected error of 30.",
            place=place(2, -3.0, -3.0, 180.0, 40.0), area_mm2=220.0, area_pct=4.1,
        ),
    )  # fmt: skip


def failing() -> SpreadResult:
    """Everything fails, in a long strip."""
    base = strip_result()
    found = findings()
    verdicts = {TOTAL_INK: FAIL, NIGHT: FAIL, NAMED_TONES: FAIL}
    close = png(np.array(Image.open(BytesIO(base.pictures["print"])))[120:200, 300:440])
    return revised(
        base, verdict=FAIL, sentence=headline(verdicts, found), findings=found,
        total_ink=total_ink(FAIL, limit=300.0, highest=341.0),
        nights=(
            night("sea", FAIL, limit=30.0, value=36.4), night("sky", UNSURE, limit=30.0, value=31.0)
        ),
        tones=(
            tone("harbour dusk", FAIL, de00=6.3, mix={"Rowan": 60, "Fjord": 80}),
            *base.facts["tones"][1:],
        ),
        pairs=(TonePair(first="harbour dusk", second="wet quay", intended_de00=7.1,
                        predicted_de00=1.9),),
        tone_orders=(
            tone_order(ask=True), replace(tone_order(ask=False), name="wet quay", verdict=None,
                                          other_verdict=None),
        ),
        night_orders=(night_order(),),
        warnings=("plates/night-03/Fog.tif looks inverted against the other four.",),
        pictures=dict(base.pictures) | {"close sea": close},
    )  # fmt: skip


def unsure() -> SpreadResult:
    """The night lies inside the expected error."""
    base = spread_result()
    here = place(None, 40.0, 120.0, 90.0, 60.0)
    found = (replace(findings()[4], name="sea", place=here),)
    return revised(
        base, verdict=UNSURE, findings=found,
        nights=(night("sea", UNSURE, limit=32.0, value=33.0),),
        sentence=headline({TOTAL_INK: PASS, NIGHT: UNSURE, NAMED_TONES: PASS}, found),
    )  # fmt: skip


def nothing_asked() -> SpreadResult:
    """No limit, no night, no tones."""
    verdicts = {TOTAL_INK: NO_LIMIT, NIGHT: NOT_CHECKED, NAMED_TONES: NOT_CHECKED}
    return revised(
        spread_result(), orders_of_tones=False, verdict=NO_LIMIT,
        sentence=headline(verdicts, ()), nights=(), tones=(),
        total_ink=total_ink(NO_LIMIT, limit=None, highest=318.0), ask_printer=(), method=(),
        not_checked=("night: no area is named", "named tones: none are named", *NOT_LOOKED_AT),
    )  # fmt: skip


def eight_inks() -> SpreadResult:
    """Eight inks, the last three without pictures."""
    base = spread_result()
    more = tuple(
        ink_facts(ink, file=f"plates/night-03/{ink}.tif", picture=None) for ink in MORE_INKS
    )
    return replace(base, inks=base.inks + more)


LONG = "the long dark hour before the ferry comes back round the northern headland in rain"


def long_names() -> SpreadResult:
    """Names that fill lines, and words without a place to break."""
    base = failing()
    unbroken = "Nachtfährenhafenbeleuchtungsgegenlichtdunkelblau" * 2
    inks = (replace(base.inks[0], name=LONG, file=f"plates/{LONG}/{unbroken}.tif"), *base.inks[1:])
    tones = (replace(base.facts["tones"][0], name=unbroken, mix_pct={LONG: 60.0, unbroken: 80.0}),)
    nights = (replace(base.facts["nights"][0], name=LONG),)
    found = (replace(base.findings[0], name=LONG), replace(base.findings[3], name=unbroken))
    panels = tuple(replace(p, name=f"{p.name} {LONG}") for p in base.sheet.panels)
    return revised(
        base, inks=inks, tones=tones, nights=nights, findings=found, pairs=(), title=LONG,
        spread=unbroken, sheet=replace(base.sheet, panels=panels),
        digests={f"plates/{LONG}/{unbroken}.tif": "0" * 64},
        sentence=headline({NIGHT: FAIL, NAMED_TONES: FAIL}, found),
    )  # fmt: skip


def hostile() -> SpreadResult:
    """Markup in every name that a person can give."""
    script = "<script>alert('ink')</script>"
    base = failing()
    inks = (replace(base.inks[0], name=script, source=script, notes=(script,)), *base.inks[1:])
    panels = (replace(base.sheet.panels[0], name=script), *base.sheet.panels[1:])
    found = tuple(replace(f, name=script, sentence=script) for f in base.findings)
    return revised(
        base, title=script, spread=script, inks=inks, findings=found,
        nights=tuple(replace(n, name=script, mask=script) for n in base.facts["nights"]),
        tones=tuple(replace(t, name=script, intended=script) for t in base.facts["tones"]),
        pairs=(replace(base.facts["pairs"][0], first=script),),
        warnings=(script,), method=(script,),
        not_checked=(script,), ask_printer=(replace(OPEN[0], what=script, value=script),),
        condition=condition(paper=script, process=script, unproven=(script,), hints=(script,)),
        sheet=replace(base.sheet, panels=panels), screen_difference=script, sentence=script,
    )  # fmt: skip


def unproven() -> SpreadResult:
    """A process outside the evidence and an ink known by a screen colour only."""
    base = spread_result()
    why = ("the process stencil duplicator", "Rowan is fluorescent")
    facts = condition(
        process="stencil duplicator", level="screen colour", error_de00=9.4, error_L=5.2,
        hints=("Rowan",), unproven=why,
    )  # fmt: skip
    inks = tuple(
        replace(ink, known="screen colour", character=("fluorescent",)) if ink.name == "Rowan"
        else ink for ink in base.inks
    )  # fmt: skip
    verdicts = {TOTAL_INK: NO_LIMIT, NIGHT: UNSURE, NAMED_TONES: UNSURE}
    here = place(None, 40.0, 120.0, 90.0, 60.0)
    said = "Night “sea” is predicted at L* 33.1 against 36; unproven on this process."
    sky = findings()[4]
    found = (
        replace(sky, name="sea", place=here, value=33.1, limit=36.0, error=5.2, sentence=said),
    )
    return revised(
        base, verdict=UNSURE, condition=facts, inks=inks, sentence=headline(verdicts, found),
        findings=found, tones=tuple(replace(t, verdict=UNSURE) for t in base.facts["tones"]),
        total_ink=total_ink(NO_LIMIT, limit=None, highest=271.0),
        nights=(night("sea", UNSURE, limit=36.0, value=33.1),),
    )  # fmt: skip


def absent_plate() -> SpreadResult:
    """Rowan has no plate in this spread."""
    base = spread_result()
    empty = replace(
        ink_facts("Rowan", file=None, picture=None), mean_tone_pct=0.0, mean_coverage_pct=0.0,
        max_tone_pct=0.0, inked_area_pct=0.0, notes=("absent: taken as empty, as the book says",),
    )  # fmt: skip
    return replace(base, inks=tuple(empty if i.name == "Rowan" else i for i in base.inks))


def with_reference() -> SpreadResult:
    """Compared with a reference picture of the whole."""
    base = spread_result()
    facts = ReferenceFacts(
        file="reference/night-03.png", mean_de00=3.1, p95_de00=7.9, max_de00=18.2, map_ppi=36.0,
        picture="total ink",
        pixels=ReferencePixels(ppi=600.0, mean_de00=4.4, p95_de00=11.6, max_de00=41.3),
    )  # fmt: skip
    return replace(base, reference=facts)


CASES: dict[str, Callable[[], SpreadResult]] = {
    "all pass": strip_result,
    "failing": failing,
    "unsure": unsure,
    "nothing asked": nothing_asked,
    "eight inks": eight_inks,
    "long names": long_names,
    "hostile": hostile,
    "unproven": unproven,
    "absent plate": absent_plate,
    "with reference": with_reference,
}
