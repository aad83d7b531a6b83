"""How the pages of this house are set: templates of a package, escaped, breaks in their place."""

from collections.abc import Callable, Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from jinja2 import ChoiceLoader, Environment, FunctionLoader, PackageLoader, StrictUndefined
from markupsafe import Markup

from inkmix.base.plain_text import plain_text
from inkmix.pages.report import phrases
from inkmix.pages.report.template_code import TemplateCode
from inkmix.pages.tables import html_head


def finalized(value: object) -> object:
    """Plain text as it is set; escaping follows. Markup is ready already."""
    plain = isinstance(value, str) and not isinstance(value, Markup)
    return as_set(str(value)) if plain else value


def as_set(text: str) -> str:
    """Text of anybody as a page shows it: HTML cannot hold control characters, names can."""
    return phrases.unbroken(plain_text(text, keep="\t\n\r"))


def environment(
    package: str,
    filters: Mapping[str, Any],
    *,
    finalize: Callable[[object], object] = finalized,
    others: Callable[[str], str | None] = lambda name: None,
) -> Environment:
    """The templates of a package; whoever makes many pages keeps it, since it compiles them.

    `others` gives the text of templates that lie elsewhere, by name.
    """
    templates = Environment(
        loader=ChoiceLoader([FunctionLoader(others), PackageLoader(package)]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        finalize=finalize,
        bytecode_cache=TemplateCode("escaped, trimmed"),
    )
    templates.filters |= filters
    templates.globals["table_head"] = html_head
    return templates


@cache
def style(*names: str) -> Markup:
    """Style sheets of this house one after the other; no word of a user's is in them."""
    folder = files("inkmix.pages.report").joinpath("templates")
    return Markup("".join(folder.joinpath(name).read_text("utf-8") for name in names))
