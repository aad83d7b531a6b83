"""`inkmix mix`: the mixes that come nearest to colours, or go darkest."""

import json
import os
import re
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkmix.base.errors import Fault, UsageError
from inkmix.base.inputs import opened_input
from inkmix.base.quoting import nearest
from inkmix.cli.arguments import Command, InputPath
from inkmix.cli.common import BOOK_FILE, BOOK_NEEDED, load_book, put, put_json, say, told_count
from inkmix.colour.written import HUES, told_cast

if TYPE_CHECKING:
    from inkmix.base.arrays import FloatArray
    from inkmix.colour.written import ToldColour
    from inkmix.mixes.answer import Answer, Terms
    from inkmix.mixes.values import Aims
    from inkmix.press.condition import PressCondition

FEW = 6
"""Up to so many colours all their mixes are shown; of more, the best of each."""

MOST = 5
"""Mixes of a colour, or darkest ones, where nobody says how many."""


@click.command(cls=Command, context_settings={"ignore_unknown_options": True})
@click.argument("colours", nargs=-1, metavar="[COLOUR]...", type=click.UNPROCESSED)
@click.option(
    "--book",
    "book_path",
    type=InputPath(BOOK_NEEDED),
    default=Path("."),
    help="The book, or its folder, whose inks, paper and press are meant.  [default: here]",
)
@click.option(
    "--from",
    "file",
    type=InputPath("a file of colours, one a line,", allow_dash=True),
    help="Colours from a file, one a line, or from - (stdin).",
)
@click.option("--step", type=float, default=5, show_default=True, help="Steps of tones, %.")
@click.option("--limit", type=float, help="Greatest total ink, %, instead of the book's.")
@click.option("--inks", help="Only these inks, parted by commas.")
@click.option(
    "--most",
    type=click.IntRange(1, 50),
    help=f"Mixes a colour.  [default: {MOST}; of more than {FEW} colours the best]",
)
@click.option("--darkest", is_flag=True, help="The darkest mixes, for no colour.")
@click.option(
    "--cast",
    metavar="CAST",
    help=f"Of the darkest: neutral, {', '.join(HUES)}, a hue of 0-360 degrees, or A,B.",
)
@click.option("--double-hit", is_flag=True, help="Let the darkest ink print twice in the darkest.")
@click.option("--json", "as_json", is_flag=True, help="Write JSON to stdout.")
def mix(
    colours: tuple[str, ...],
    book_path: Path,
    file: Path | None,
    step: float,
    limit: float | None,
    inks: str | None,
    most: int | None,
    darkest: bool,
    cast: str | None,
    double_hit: bool,
    as_json: bool,
) -> None:
    """Find the best mixes of a book's inks for colours, under the ink limit.

    COLOUR is #rrggbb, #rgb or rgb(r, g, b), as on a screen whose white is the paper; Lab(L, a, b)
    or three numbers, absolute under D50; or a pixel, picture.png@x,y. A file holds one a line,
    "name = colour" if it has a name.

    The exact mix is shown first, then mixes in steps, of differing inks: nearest first, fewer inks
    where mixes come equally near (within dE00 0.3).
    """
    _refuse_unknown_options(colours)
    asked = _Asked(step_pct=step, limit_pct=limit, inks=inks, most=most, as_json=as_json)
    if darkest:
        _refuse_colours(colours, file)
        _darkest(_ground(book_path, asked), cast, double_hit)
        return
    _refuse_darkest_options(cast, double_hit)
    told = _told(colours, file)
    _nearest(_ground(book_path, asked), told)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """What the options say of mixes."""

    step_pct: float
    limit_pct: float | None
    inks: str | None
    most: int | None
    as_json: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ground:
    """What mixes are made of, and how they may be."""

    condition: "PressCondition"
    aims: "Aims"
    terms: "Terms"
    asked: _Asked


def _ground(path: Path, asked: _Asked) -> _Ground:
    from inkmix.book.meant.condition import resolve_condition, resolve_limits
    from inkmix.mixes.answer import Terms
    from inkmix.mixes.constraints import constraints_of
    from inkmix.mixes.values import Aims

    book = load_book(_known(path))
    condition = resolve_condition(book)
    limit = resolve_limits(book, condition.paper).ink_limit_pct
    limit_pct, whose = (None, "") if limit is None else (limit.value, limit.whose)
    if asked.limit_pct is not None:
        limit_pct, whose = asked.limit_pct, "asked"
    aims = Aims(
        ink_limit_pct=limit_pct,
        step_pct=asked.step_pct,
        least_pct=condition.process.min_tone_pct,
        inks=_names(asked.inks),
    )
    constraints_of(condition, aims)  # refuses before colours are read
    terms = Terms(
        inks=tuple(ink.name for ink in condition.inks),
        paper=condition.paper.name,
        process=condition.process.name,
        ink_limit_pct=limit_pct,
        whose=whose,
        step_pct=aims.step_pct,
        least_pct=aims.least_pct,
        doubts=(
            *(f"{name} is known only by a screen colour" for name in condition.hints),
            *condition.unproven,
        ),
    )
    return _Ground(condition=condition, aims=aims, terms=terms, asked=asked)


def _known(path: Path) -> Path:
    """The path of the book, if there is one."""
    file = path / BOOK_FILE if path.is_dir() else path
    if not file.exists():
        do = "name a book with --book, or write one with `inkmix start FOLDER`"
        raise UsageError(Fault(where=str(file), found="there is no book file", do=do))
    return path


def _names(text: str | None) -> tuple[str, ...] | None:
    return None if text is None else tuple(name.strip() for name in text.split(","))


def _told(arguments: tuple[str, ...], file: Path | None) -> "tuple[ToldColour, ...]":
    """The colours of the command line, then those of the file; all that is wrong at once."""
    from inkmix.colour.written import FORMS, told_arguments, told_colours

    faults: list[Fault] = []
    told: list[ToldColour] = []
    try:
        told += told_arguments(arguments)
    except UsageError as error:
        faults += error.faults
    if file is not None:
        try:
            told += told_colours(_read(file), where="stdin" if str(file) == "-" else str(file))
        except UsageError as error:
            faults += error.faults
    if faults:
        raise UsageError(faults)
    if not told:
        expected = f"a colour is needed, written {FORMS}; a file with --from; or --darkest"
        raise UsageError(Fault(where="mix", found="nothing is asked for", expected=expected))
    return tuple(told)


def _read(file: Path) -> bytes:
    from inkmix.colour.written import MAX_BYTES

    if str(file) == "-":
        return sys.stdin.buffer.read(MAX_BYTES + 1)
    try:
        with opened_input(file) as stream:
            return stream.read(MAX_BYTES + 1)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise UsageError(Fault(where=str(file), found=f"cannot be read ({reason})")) from None


def _refuse_unknown_options(arguments: tuple[str, ...]) -> None:
    """Numbers below 0 look like options to the parser, so all that do get here."""
    for text in arguments:
        if re.match(r"--?[A-Za-z]", text):
            options = [name for option in mix.params for name in option.opts]
            near = nearest(text.partition("=")[0], options)
            raise click.NoSuchOption(text, possibilities=[near] if near else [])


def _refuse_colours(colours: tuple[str, ...], file: Path | None) -> None:
    given = [*(["colours"] if colours else []), *(["--from"] if file is not None else [])]
    if given:
        expected = "the darkest mixes are looked for without a colour"
        raise UsageError(
            Fault(
                where=one, found="beside --darkest", expected=expected, do="leave one of them out"
            )
            for one in given
        )


def _refuse_darkest_options(cast: str | None, double_hit: bool) -> None:
    given = [
        name for name, on in (("--cast", cast is not None), ("--double-hit", double_hit)) if on
    ]
    if given:
        raise UsageError(
            Fault(
                where=name,
                found="stands without --darkest",
                do="add --darkest, or leave it out",
            )
            for name in given
        )


def _nearest(ground: _Ground, told: "tuple[ToldColour, ...]") -> None:
    from inkmix.book.meant.colours import absolute_labs
    from inkmix.mixes.words import LEGEND, terms_sentence

    labs = absolute_labs(told, ground.condition.paper)
    for line in (terms_sentence(ground.terms), LEGEND, *_doubt_lines(ground.terms)):
        if not ground.asked.as_json:
            say(line)
    answers = _answers(ground, told, labs)
    if ground.asked.as_json:
        _write_json(ground.terms, answers)
    else:
        in_full = len(told) <= FEW or ground.asked.most is not None
        _write_table(ground.terms, answers, told, in_full=in_full)


def _doubt_lines(terms: "Terms") -> Iterator[str]:
    for doubt in terms.doubts:
        yield f"note: {doubt}"


def _answers(
    ground: _Ground, told: "tuple[ToldColour, ...]", labs: "FloatArray"
) -> "Iterator[Answer]":
    """Answers in the order of the colours, as they are found."""
    from inkmix.mixes.answer import Answer
    from inkmix.mixes.helping import MOST_COLOURS, Helpers
    from inkmix.mixes.nearest import COLOURS_AT_ONCE, found_for_all

    most = ground.asked.most or (MOST if len(told) <= FEW else 1)
    helpers, helped = Helpers(ground.condition, ground.aims), 0
    with _told_count() as progress:
        found_all = found_for_all(ground.condition, labs, ground.aims, most=most)
        pairs = zip(told, found_all, strict=True)
        done = 0
        while block := tuple(islice(pairs, COLOURS_AT_ONCE)):
            far = [k for k, (_, found) in enumerate(block) if not found.reached.in_reach]
            far = far[: MOST_COLOURS - helped]
            helped += len(far)
            helps = dict(zip(far, helpers.help([block[k][1] for k in far]), strict=True))
            for k, (one, found) in enumerate(block):
                yield Answer(
                    text=one.text,
                    name=one.name,
                    where=one.where,
                    found=found,
                    helps=helps.get(k),
                    inks_tried=len(helpers.candidates) if k in helps else 0,
                )
            done += len(block)
            progress(done, len(told))


def _told_count() -> AbstractContextManager[Callable[[int, int], None]]:
    """Progress, unless the rows that appear on the terminal are progress enough."""
    return nullcontext(lambda done, of: None) if sys.stdout.isatty() else told_count("colours")


def _write_json(terms: "Terms", answers: "Iterable[Answer]") -> None:
    """The document, one colour a line, as they are found."""
    from inkmix.mixes.document import answer_document, terms_document

    opening = json.dumps(terms_document(terms), ensure_ascii=False)
    put_json(f'{opening[:-1]}, "colours": [')
    comma = ""
    for answer in answers:
        put_json(f"{comma}{json.dumps(answer_document(answer), ensure_ascii=False)}", whole=False)
        comma = ",\n"
    put_json("\n]}")


def _write_table(
    terms: "Terms",
    answers: "Iterable[Answer]",
    told: "tuple[ToldColour, ...]",
    *,
    in_full: bool,
) -> None:
    """A row a mix, or if not in full a row a colour; then what is out of reach."""
    from inkmix.mixes.words import SHOWN_HELPS, Table, answer_row, answer_rows, help_lines

    width = max(len(one.name or one.text) for one in told)
    table = Table(terms.inks, first="colour", width=width, fields=_fields())
    _put(table.head())
    sentences: list[str] = []
    for answer in answers:
        if in_full:
            for line in answer_rows(table, answer, terms):
                _put(line)
        else:
            _put(answer_row(table, answer, terms))
        sentences += help_lines(answer, most=SHOWN_HELPS if len(told) <= FEW else 1)
    for sentence in sentences:
        _put(sentence)


def _darkest(ground: _Ground, cast: str | None, double_hit: bool) -> None:
    from inkmix.mixes.darkest import darkest_mixes
    from inkmix.mixes.document import mix_document, terms_document
    from inkmix.mixes.words import (
        LEGEND_DARKEST,
        LEGEND_DOUBLE_HIT,
        Table,
        step_word,
        terms_sentence,
    )

    wanted = told_cast(cast)
    mixes = darkest_mixes(
        ground.condition,
        ground.aims,
        cast=wanted,
        most=ground.asked.most or MOST,
        double_hits=double_hit,
    )
    if ground.asked.as_json:
        asked = {"cast": cast, "double_hit": double_hit}
        found = {"darkest": [mix_document(one) for one in mixes]}
        document = {**terms_document(ground.terms), **asked, **found}
        put_json(json.dumps(document, ensure_ascii=False, indent=2))
        return
    for line in (terms_sentence(ground.terms), LEGEND_DARKEST, *_doubt_lines(ground.terms)):
        say(line)
    if double_hit:
        say(LEGEND_DOUBLE_HIT)
    inks = tuple(mixes[0].tone_pct) if mixes else ground.terms.inks
    table = Table(inks, first="rank", width=4, fields=_fields(), last=("error of L*",))
    _put(table.head())
    for rank, one in enumerate(mixes, start=1):
        _put(table.row(str(rank), step_word(ground.terms), one))


def _fields() -> bool:
    """Whether fields of colour may be shown."""
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR")


def _put(line: str) -> None:
    """A line of the table, on stdout."""
    put(line, colour=True)
