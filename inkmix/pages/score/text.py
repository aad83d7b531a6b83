"""How a chart was scored, as text for a terminal."""

from collections.abc import Iterable, Mapping
from typing import Any

from inkmix.base.words import fixed, lightness, mix, number, percent
from inkmix.pages.tables import line

_LEFT = 30  # columns of the names of rows


def as_text(result: Mapping[str, Any]) -> str:
    """What was told, a table of differences, and the mixtures that are farthest off."""
    notes = [f"Note: {note}" for note in result["notes"]]
    blocks = (_told(result), _table(result), _inside(result), _worst(result), notes)
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _told(result: Mapping[str, Any]) -> Iterable[str]:
    """What the model was told, and what it took the inks for."""
    extra = f" and {result['extra']} of its mixtures besides" if result["extra"] else ""
    yield (
        f"{result['data_set']}: told {result['known']}{extra} on {result['paper']} paper, "
        f"{result['patches']} patches of two or more inks predicted"
    )
    says = {
        "told": "as told",
        "chart": "as the chart states",
        "proposed": "proposed, as it was not given; the printer knows",
    }[result["order_by"]]
    yield f"Lay-down order: {', '.join(result['order'])} ({says})"
    process = [ink for ink in result["inks"] if ink["process_ink"]]
    if process:
        names = ", ".join(
            ink["name"] if ink["name"] == ink["process_ink"]
            else f"{ink['name']} as {ink['process_ink']}"
            for ink in process
        )  # fmt: skip
        yield f"Process inks by their colour: {names}"
    for ink in result["inks"]:
        if ink["opacity"]:
            value, why = number(ink["opacity"]["value"], 2), ink["opacity"]["why"]
            yield f"Spot ink {ink['name']}: opacity {value} ({why})"


def _table(result: Mapping[str, Any]) -> Iterable[str]:
    """The differences, in rows."""
    dark, screen = result["dark"], result["screen_multiply"]
    yield _line("colour difference dE00", ("patches", "mean", "median", "95 %", "worst"))
    yield _line("all", (result["patches"], *_figures(result["de00"])))
    for part in result["by_inks"]:
        yield _line(f"  of {part['inks']} inks", (part["patches"], *_figures(part)))
    yield _line("as a screen shows it", ("", *_figures(screen["de00"])))
    yield ""
    yield _line("error of L*, darkest fifth", (dark["patches"], *_dark_figures(dark)))
    yield _line("as a screen shows it", ("", *_dark_figures(screen["dark"])))
    yield f"  (the darkest fifth are patches of {lightness(dark['lightest_L'])} and below)"


def _inside(result: Mapping[str, Any]) -> Iterable[str]:
    """How often the stated error held."""
    inside = result["inside"]
    yield (
        "Within the stated error, which is meant to hold for 95 of 100 patches: "
        f"dE00 {percent(100 * inside['de00'])},"
    )
    dark = percent(100 * inside["dark_L"])
    yield f"L* {percent(100 * inside['L'])}, L* of the darkest fifth {dark}"


def _worst(result: Mapping[str, Any]) -> Iterable[str]:
    """The mixtures farthest off."""
    yield "Farthest off:"
    widths = (6, 8, 3, -21, -21, -1)
    yield line(widths, "dE00", "stated", "", "L* a* b* measured", "predicted", "tone values, %")
    for one in result["worst"]:
        labs = (_lab(one["lab_measured"]), _lab(one["lab_predicted"]))
        off = (fixed(one["de00"], 2), fixed(one["expected_de00"], 2))
        yield line(widths, *off, "", *labs, mix(one["tone_pct"]))


def _lab(lab: Iterable[float]) -> str:
    return line((6, 6, 6), *map(fixed, lab))


def _figures(part: Mapping[str, float]) -> tuple[float, ...]:
    return tuple(part[name] for name in ("mean", "median", "p95", "max"))


def _dark_figures(dark: Mapping[str, float]) -> tuple[float | str, ...]:
    return dark["mean_abs_dL"], "", dark["p95_abs_dL"], ""


def _line(name: str, cells: Iterable[float | int | str]) -> str:
    """A row of the table: counts whole, differences to two places."""
    shown = [fixed(cell, 2) if isinstance(cell, float) else str(cell) for cell in cells]
    return line((-_LEFT, *(9 for _ in shown)), name, *shown)
