"""What every command asks of its command line before it begins.

A value is given once and is not empty; a path names nothing that cannot be read or must not be
replaced; an option that says nothing beside another one is refused, never passed over. What the
values mean is known by the commands.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click
from click.core import ParameterSource

from inkmix.base.arguments import Range
from inkmix.base.errors import Fault, UsageError
from inkmix.base.inputs import special_kind
from inkmix.base.quoting import quoted

RENAMED = {"--paper-white": "--adapt-to-paper"}
"""Options that have another name now; the old one is refused with the new."""

BOOK_NEEDED = "a book.toml, or the folder that holds one,"


def check_choice(
    command: Callable[..., Any], *, only: str = "Run these checks alone", skip: str = "Leave out"
) -> Callable[..., Any]:
    """The options that choose among the checks, and how their help begins."""
    only = f"{only}, of {{checks}}; separate names with commas."
    skip = f"{skip} these checks; separate names with commas."
    command = click.option("--skip", cls=_OfChecks, help=skip)(command)
    return click.option("--only", cls=_OfChecks, help=only)(command)


class _OfChecks(click.Option):
    """An option that takes names of checks; its help lists them, and loads them only then."""

    def get_help_record(self, ctx: click.Context) -> tuple[str, str] | None:
        """Both columns of its help."""
        from inkmix.checks import table

        self.help = (self.help or "").replace("{checks}", table.written())
        return super().get_help_record(ctx)


def chosen_checks(only: str | None, skip: str | None) -> frozenset[str] | None:
    """Names of the checks to run; None for all.

    Raises
    ------
    UsageError
        For names that no check has, or where none is left.
    """
    from inkmix.checks import table

    if only is None and skip is None:
        return None
    return table.chosen(_names_in(only, "--only"), _names_in(skip, "--skip"))


def _names_in(words: str | None, option: str) -> list[str]:
    if words is None:
        return []
    names = [name.strip() for name in words.split(",")]
    if not any(names):
        expected = "names of checks, separated by commas, are needed"
        raise UsageError(Fault(where=option, found="names no check", expected=expected))
    return [name for name in names if name]


class InputPath(click.Path):
    """A path that is read; `needed` says what should be there."""

    def __init__(self, needed: str, *, allow_dash: bool = False) -> None:
        super().__init__(path_type=Path, allow_dash=allow_dash)
        self.needed = needed

    def faults(self, name: str, path: Path) -> Iterator[Fault]:
        """What can be said against it before it is opened; that it is missing is said later."""
        kind = special_kind(path)
        if kind is not None and str(path) != "-":
            expected = f"{self.needed} is needed"
            yield Fault(where=str(path), found=f"is {kind}", expected=expected)


class OutputPath(click.Path):
    """A path that is written: a file, or with `folder` a folder for several."""

    def __init__(self, *, folder: bool = False) -> None:
        super().__init__(path_type=Path)
        self.folder = folder

    def faults(self, name: str, path: Path) -> Iterator[Fault]:
        """What can be said against it before anything is written there."""
        kind = special_kind(path)
        what = "a folder" if self.folder else "a file"
        if str(path) == "-":
            if self.folder:
                found, expected = "stands for no folder", f"{name} takes several files"
                do = "write a folder's name"
                yield Fault(where=str(path), found=found, expected=expected, do=do)
        elif kind is not None:
            found, expected = f"is {kind}", f"{name} needs the name of {what}"
            do = "choose another name; no device, pipe or socket is replaced or written to"
            yield Fault(where=str(path), found=found, expected=expected, do=do)
        elif self.folder and path.is_symlink() and not path.exists():
            found, expected = "is a link that leads nowhere", f"{name} needs the name of {what}"
            do = "remove the link, or choose another name"
            yield Fault(where=str(path), found=found, expected=expected, do=do)
        elif not self.folder and path.is_dir():
            found, expected = "is a folder", f"{name} needs the name of a file"
            yield Fault(where=str(path), found=found, expected=expected, do="add a file name")


class Command(click.Command):
    """A command whose command line is looked at as a whole."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Values of all parameters.

        Raises
        ------
        UsageError
            With all that is given twice or empty, and all paths that cannot be.
        """
        if not ctx.resilient_parsing:
            self._refuse_old_names(args)
            self._refuse_slips(ctx, list(args))
        rest = super().parse_args(ctx, args)
        if not ctx.resilient_parsing:
            self._refuse_paths(ctx)
        return rest

    def _refuse_old_names(self, args: list[str]) -> None:
        mine = {name for param in self.params for name in param.opts}
        faults = [
            Fault(where=old, found="has another name now", do=f"write {RENAMED[old]}")
            for old in dict.fromkeys(args)
            if RENAMED.get(old) in mine
        ]
        if faults:
            raise UsageError(faults)

    def _refuse_slips(self, ctx: click.Context, args: list[str]) -> None:
        raw, _, order = self.make_parser(ctx).parse_args(args=args)
        if raw.get("help"):
            return
        faults = [*_given_twice(order), *_empty(self.params, raw)]
        if faults:
            raise UsageError(faults)

    def _refuse_paths(self, ctx: click.Context) -> None:
        faults = [
            fault
            for param in self.params
            if isinstance(param.type, InputPath | OutputPath)
            for path in _paths(ctx.params.get(param.name or ""))
            for fault in param.type.faults(name_of(param), path)
        ]
        if faults:
            raise UsageError(faults)


def name_of(param: click.Parameter) -> str:
    """A parameter as people write it: --paper, or BOOK."""
    long = [name for name in param.opts if name.startswith("--")]
    if isinstance(param, click.Option):
        return (long or param.opts)[0]
    return (param.name or "").upper()


def refuse_beside(
    ctx: click.Context, options: Mapping[str, str], *, beside: str, do: str = "leave it out"
) -> None:
    """Refuse options that were given and say nothing here.

    Parameters
    ----------
    options : mapping of str to str
        Names of parameters, each with the reason why it says nothing.
    beside : str
        What they stand beside.

    Raises
    ------
    UsageError
        With all of them.
    """
    names = {param.name: name_of(param) for param in ctx.command.params}
    given = [name for name in options if was_given(ctx, name)]
    if given:
        raise UsageError(
            Fault(
                where=names[name],
                found=f"is given together with {beside}",
                expected=options[name],
                do=do,
            )
            for name in given
        )


def was_given(ctx: click.Context, name: str) -> bool:
    """Whether a parameter stands on the command line."""
    return ctx.get_parameter_source(name) is ParameterSource.COMMANDLINE


def _given_twice(order: Sequence[click.Parameter]) -> Iterator[Fault]:
    """Of two values the first would be passed over; a switch cannot be more than on."""
    for param, times in Counter(order).items():
        single = isinstance(param, click.Option) and not param.multiple and not param.is_flag
        if single and times > 1:
            found = "is given twice" if times == 2 else f"is given {times} times"
            several = isinstance(param, _OfChecks) or getattr(param, "callback", None) is names_in
            do = "separate names with commas" if several else ""
            yield Fault(where=name_of(param), found=found, expected="it takes one value", do=do)


def _empty(params: Iterable[click.Parameter], raw: Mapping[str, Any]) -> Iterator[Fault]:
    """Most often a variable of a shell that holds nothing; as a path it would mean this folder."""
    for param in params:
        values = raw.get(param.name or "")
        if "" in (values if isinstance(values, list | tuple) else [values]):
            found, do = "is empty", "write a value, or leave it out"
            yield Fault(where=name_of(param), found=found, do=do)


def _paths(value: Any) -> Iterator[Path]:
    for one in value if isinstance(value, tuple) else (value,):
        if isinstance(one, Path):
            yield one


def within(allowed: Range) -> Callable[[object, object, float | None], float | None]:
    """What refuses a number outside of the range, no number included, before anything is done."""

    def checked(ctx: object, param: object, number: float | None) -> float | None:
        if number is not None:
            allowed.refuse(number)
        return number

    return checked


def names_in(ctx: object, param: click.Parameter, text: str | None) -> tuple[str, ...]:
    """Names separated by commas, each once; none where the option is not given.

    Raises
    ------
    UsageError
        For a name that is missing between commas.
    """
    if text is None:
        return ()
    names = tuple(name.strip() for name in text.split(","))
    if not all(names):
        expected = "names separated by commas are needed"
        raise UsageError(Fault(where=name_of(param), found=quoted(text), expected=expected))
    return tuple(dict.fromkeys(names))


@dataclass(frozen=True, slots=True, kw_only=True)
class PairWords:
    """What is said of texts like NAME=VALUE that cannot be; `twice` has a place for each word."""

    needed: str
    twice: str


SWAPS = PairWords(
    needed="OLD=NEW is needed: an ink of the book, and the ink to print it in",
    twice="{} is swapped twice, for {} and for {}",
)
ADOPTED = PairWords(
    needed="OURS=THEIRS is needed: an ink of the book, and what the other book calls it",
    twice="{} is named twice, for {} and for {}",
)
COLOURS = PairWords(
    needed="NAME=SWATCH or NAME=#rrggbb is needed", twice="{} is given twice, as {} and as {}"
)


def ink_pairs(texts: Iterable[str], *, words: PairWords, option: str = "--ink") -> dict[str, str]:
    """What --ink says, or an option of its kind: a value by the name of an ink, in their order.

    Raises
    ------
    UsageError
        With every text of another form, and every ink that occurs twice.
    """
    pairs: dict[str, str] = {}
    faults = []
    for text in texts:
        name, sign, value = (part.strip() for part in text.partition("="))
        if not (name and sign and value):
            faults.append(Fault(where=option, found=quoted(text), expected=words.needed))
        elif name in pairs:
            found = words.twice.format(name, pairs[name], value)
            faults.append(Fault(where=option, found=found, do="choose one of them"))
        else:
            pairs[name] = value
    if faults:
        raise UsageError(faults)
    return pairs
