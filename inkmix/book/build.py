"""Checked book data to the values of values.py.

Everything here may rely on types and ranges; what could be wrong was refused before.
"""

import unicodedata
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from inkmix.book.double_hits import first_hits
from inkmix.book.values import (
    PRINTER,
    USER,
    Book,
    DensityReading,
    InkSpec,
    NamedTone,
    NightArea,
    PaperSpec,
    PlatesSpec,
    PressSpec,
    RulePart,
    StripSpec,
    Told,
    Waiver,
)

Data = Mapping[str, Any]  # one table of the file, every key present, None or [] where not given


def build_book(data: Data, *, path: Path, notes: tuple[str, ...]) -> Book:
    """The book of this data, its overrides left aside."""
    return Book(
        path=path,
        folder=path.parent,
        title=data["title"],
        paper=_paper(data["paper"]),
        inks=_inks(data["inks"]),
        press=_press(data["press"]),
        plates=_plates(data["plates"]),
        strip=_strip(data["strip"]) if data["strip"] else None,
        min_area_mm2=data["total_ink"]["min_area_mm2"],
        nights=tuple(_night(night) for night in data["night"]),
        tones=tuple(_tone(tone) for tone in data["tones"]),
        reference=data["reference"]["picture"] if data["reference"] else None,
        notes=notes,
        waivers=tuple(_waiver(waiver) for waiver in data["waive"]),
    )


def in_one_form(names: Iterable[str]) -> tuple[str, ...]:
    """Names of spreads composed, as plates are found by them."""
    return tuple(unicodedata.normalize("NFC", name) for name in names)


def _numbers(values: list[float] | None) -> Any:
    """Tuple of a list whose length was checked."""
    return None if values is None else tuple(float(value) for value in values)


def _paper(data: Data) -> PaperSpec:
    return PaperSpec(
        swatch=data["swatch"],
        lab=_numbers(data["lab"]),
        xyz100=_numbers(data["xyz"]),
        srgb=data["srgb"],
        measurements=data["measurements"],
        paper_class=data["class"],
        tinted=data["tinted"],
        guessed=data["guessed"],
        gsm=data["gsm"],
        caliper_mm=data["caliper_mm"],
        grain=data["grain"],
    )


def _inks(inks: list[Data]) -> tuple[InkSpec, ...]:
    hits = first_hits(inks)
    return tuple(_ink(ink, hits[ink["name"]]) for ink in inks)


def _ink(data: Data, hit_of: str | None) -> InkSpec:
    return InkSpec(
        name=data["name"],
        swatch=data["swatch"],
        lab=_numbers(data["lab"]),
        xyz100=_numbers(data["xyz"]),
        density=DensityReading(**data["density"]) if data["density"] else None,
        srgb=data["srgb"],
        measurements=data["measurements"],
        guessed=data["guessed"],
        column=data["column"],
        tone_value_increase_pct=data["tone_value_increase_pct"],
        opacity=data["opacity"],
        character=frozenset(data["character"]),
        polarity=data["polarity"],
        channel=data["channel"],
        plate=data["plate"],
        hit_of=hit_of,
        angle_deg=data["angle_deg"],
        ruling_lpi=data["ruling_lpi"],
        press_pass=data["pass"],
    )


def _press(data: Data) -> PressSpec:
    confirmed = frozenset(data["confirmed_by_printer"])

    def told(name: str) -> Told | None:
        whose = PRINTER if name in confirmed else USER
        return None if data[name] is None else Told(value=data[name], whose=whose)

    return PressSpec(
        process=data["process"],
        ink_limit_pct=told("ink_limit_pct"),
        edge_growth_mm=told("edge_growth_mm"),
        overprints=data["overprints"],
        confirmed_by_printer=confirmed,
    )


def _plates(data: Data) -> PlatesSpec:
    return PlatesSpec(
        pattern=data["pattern"],
        ppi=data["ppi"],
        absent=data["absent"],
        channels=tuple(data["channels"]),
        page=data["page"],
    )


def _strip(data: Data) -> StripSpec:
    width_mm, height_mm = data["panel_mm"]
    return StripSpec(
        panels=data["panels"],
        panel_width_mm=float(width_mm),
        panel_height_mm=float(height_mm),
        bleed_mm=data["bleed_mm"],
        sides=in_one_form(data["sides"]),
    )


def _night(data: Data) -> NightArea:
    return NightArea(
        name=data["name"],
        mask=data["mask"],
        mask_shows=data["mask_shows"],
        rect_mm=_numbers(data["rect_mm"]),
        rule=tuple(RulePart(**part) for part in data["rule"] or ()),
        lightest_L=data["lightest_L"],
        share_pct=data["share_pct"],
        spreads=in_one_form(data["spreads"]),
    )


def _tone(data: Data) -> NamedTone:
    return NamedTone(
        name=data["name"],
        mix_pct=dict(data["mix"]),
        intended_srgb=data["intended"],
        intended_lab=_numbers(data["lab"]),
        tolerance_de00=data["tolerance_de00"],
    )


def _waiver(data: Data) -> Waiver:
    spread = data["spread"]
    return Waiver(
        spread=None if spread is None else in_one_form([spread])[0],
        check=data["check"],
        name=data["name"],
        rests_on=data["rests_on"],
        reason=data["reason"].strip(),
        by=data["by"].strip(),
    )
