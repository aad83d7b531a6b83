"""The recipe of a mended book: by it the same corrections are made on fresh exports of the plates.

A file of its own format: `recipe.json` in the folder of the mended book, made of the dataclasses
here and of what each check keeps. It is read as strictly as a book.
"""

import json
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any

from inkmix.base.errors import Fault, UsageError
from inkmix.base.inputs import read_input
from inkmix.base.json_document import Program, json_bytes, plain
from inkmix.base.json_values import MisfitError, value_of
from inkmix.checks import table

FORMAT = 1
DIGITS = 9  # of heights and limits: the same correction comes of it
_MOST_BYTES = 50_000_000
"""Of a recipe: 5,000 spreads of twenty nights take 40 MB."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptCorrection:
    """One correction.

    Parameters
    ----------
    check : str
        Name of the check that asked for it.
    name : str
        Name of the area; empty for the whole sheet.
    lights : int or None
        Lights that stayed as drawn.
    lights_lost, texture_pct
        Lights that turned dark, and texture that stayed; None where nothing is kept of it.
    recipe : dataclass
        What the check keeps.
    """

    check: str
    name: str
    lights: int | None
    recipe: Any
    lights_lost: int | None = None
    texture_pct: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadRecipe:
    """All corrections of one spread, in the order in which they are made."""

    spread: str
    corrections: tuple[KeptCorrection, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BookRecipe:
    """All corrections of a book, and its inks by then, in lay-down order."""

    title: str
    inks: tuple[str, ...]
    spreads: tuple[SpreadRecipe, ...]

    def of(self, spread: str) -> SpreadRecipe:
        """What it says of a spread; no correction where it says nothing."""
        nothing = SpreadRecipe(spread=spread, corrections=())
        return next((one for one in self.spreads if one.spread == spread), nothing)

    def with_searched(
        self, searched: Sequence[SpreadRecipe], checks: Collection[str], *, spreads: Iterable[str]
    ) -> "BookRecipe":
        """What a search found in place of what was kept of these checks; all else stays.

        `spreads` are those of the book now, in its order.
        """
        found = {one.spread: one.corrections for one in searched}
        ranks = {check.name: rank for rank, check in enumerate(table.by_rank())}
        kept = []
        for name in spreads:
            older = self.of(name).corrections
            stay = [one for one in older if name not in found or one.check not in checks]
            all_of = sorted((*stay, *found.get(name, ())), key=lambda one: ranks[one.check])
            kept.append(SpreadRecipe(spread=name, corrections=tuple(all_of)))
        return replace(self, spreads=tuple(one for one in kept if one.corrections))


def recipe_bytes(recipe: BookRecipe, *, name: str) -> bytes:
    """The recipe as UTF-8 text; same recipe, same bytes."""
    document = {"format": FORMAT, "program": Program(), **_members(recipe)}
    said = {key: plain(value, digits=DIGITS) for key, value in document.items()}
    return json_bytes(said, name=name)


def read_recipe(path: Path) -> BookRecipe:
    """The recipe in a file.

    Raises
    ------
    UsageError
        Where there is none that can be read, saying where in it.
    """
    try:
        document = json.loads(read_input(path, most_bytes=_MOST_BYTES))
        if not isinstance(document, dict):
            raise MisfitError("", "is no recipe of inkmix")
        _refuse_other_formats(document)
        return _recipe_of(document)
    except OSError as error:
        found = error.strerror or str(error)
        raise UsageError(Fault(where=str(path), found=f"cannot be read ({found})")) from error
    except (ValueError, RecursionError) as error:
        raise UsageError(_fault(path, error)) from error


def _fault(path: Path, error: Exception) -> Fault:
    where = f"{path}: {error.where}" if isinstance(error, MisfitError) and error.where else path
    found = error.found if isinstance(error, MisfitError) else "is no JSON"
    expected = "a recipe.json is needed, as `inkmix mend` writes it"
    do = "name the one in the folder of the mended book, or mend anew, without --again"
    return Fault(where=str(where), found=found, expected=expected, do=do)


def _refuse_other_formats(document: Mapping[str, Any]) -> None:
    told = document.get("format")
    if told != FORMAT or isinstance(told, bool):
        known = isinstance(told, int) and told > FORMAT
        newer = "is of a newer format than this inkmix reads" if known else "is no recipe of inkmix"
        raise MisfitError("", newer)


def _recipe_of(document: Mapping[str, Any]) -> BookRecipe:
    spreads = value_of(list[Mapping[str, Any]], document.get("spreads"), "spreads")
    return BookRecipe(
        title=value_of(str, document.get("title"), "title"),
        inks=value_of(tuple[str, ...], document.get("inks"), "inks"),
        spreads=tuple(_spread(said, f"spreads[{k}]") for k, said in enumerate(spreads)),
    )


def _spread(said: Mapping[str, Any], where: str) -> SpreadRecipe:
    made = f"{where}.corrections"
    listed = value_of(list[Mapping[str, Any]], said.get("corrections"), made)
    return SpreadRecipe(
        spread=value_of(str, said.get("spread"), f"{where}.spread"),
        corrections=tuple(_kept(one, f"{made}[{k}]") for k, one in enumerate(listed)),
    )


def _kept(said: Mapping[str, Any], where: str) -> KeptCorrection:
    kinds = {check.name: check.recipe() for check in table.CHECKS}
    check = value_of(str, said.get("check"), f"{where}.check")
    kind = kinds.get(check)
    if kind is None:
        raise MisfitError(f"{where}.check", f"{check!r} is no check that mends plates")
    return KeptCorrection(
        check=check,
        name=value_of(str, said.get("name"), f"{where}.name"),
        lights=value_of(int | None, said.get("lights"), f"{where}.lights"),
        recipe=value_of(kind, said.get("recipe"), f"{where}.recipe"),
        lights_lost=value_of(int | None, said.get("lights_lost"), f"{where}.lights_lost"),
        texture_pct=value_of(float | None, said.get("texture_pct"), f"{where}.texture_pct"),
    )


def _members(recipe: BookRecipe) -> dict[str, Any]:
    return {item.name: getattr(recipe, item.name) for item in fields(recipe)}
