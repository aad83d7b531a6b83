"""XML as elements that know their line; whatever could grow or reach out of the file is refused.

Here belongs what any XML of measurements shares. Document types are refused as a whole, so that no
entity is ever declared, expanded or fetched; size, depth and number of elements are bounded.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from xml.parsers import expat

from inkmix.base.errors import Fault, MeasurementError
from inkmix.base.quoting import clipped
from inkmix.colour.measured.tokens import MAX_BYTES

MAX_DEPTH = 50  # CxF3 goes to 10
MAX_ELEMENTS = 300_000  # 4,500 patches in four modes with all that a program writes of each

_ENDED = {
    expat.errors.codes[message]
    for message in (
        expat.errors.XML_ERROR_NO_ELEMENTS,
        expat.errors.XML_ERROR_UNCLOSED_TOKEN,
        expat.errors.XML_ERROR_PARTIAL_CHAR,
        expat.errors.XML_ERROR_UNCLOSED_CDATA_SECTION,
    )
}


@dataclass(slots=True)
class Element:
    """One element: its name without namespace, and what is in it."""

    name: str
    attributes: Mapping[str, str]
    line: int
    text: str = ""
    children: "list[Element]" = field(default_factory=list)

    def all(self, *path: str) -> "Iterator[Element]":
        """The elements at the end of a path of names."""
        if not path:
            yield self
            return
        for child in self.children:
            if child.name == path[0]:
                yield from child.all(*path[1:])

    def first(self, *path: str) -> "Element | None":
        """The first of them, or None."""
        return next(self.all(*path), None)

    def said(self, *path: str) -> str:
        """The text of the first of them; empty if there is none."""
        found = self.first(*path)
        return "" if found is None else found.text.strip()

    def within(self, name: str) -> "Iterator[Element]":
        """The elements of that name at any depth."""
        for child in self.children:
            if child.name == name:
                yield child
            yield from child.within(name)


def read_elements(data: bytes, *, where: str) -> Element:
    """The root element of an XML text.

    Raises
    ------
    MeasurementError
        It is too large or too deep, is cut off or no XML, or declares a document type.
    """
    if len(data) > MAX_BYTES:
        found = f"{len(data):,} bytes are more than the {MAX_BYTES:,} that a chart can need"
        raise MeasurementError(Fault(where=where, found=found, do="split the chart"))
    growing = _Growing(where)
    try:
        growing.parser.Parse(data, True)
    except expat.ExpatError as error:
        raise MeasurementError(_fault(error, where)) from None
    except (LookupError, ValueError) as error:  # of an encoding that Python does not know
        if isinstance(error, MeasurementError):
            raise
        found = f"the encoding cannot be read ({clipped(str(error))})"
        raise MeasurementError(Fault(where=where, found=found, do="save it as UTF-8")) from None
    return growing.root


class _Growing:
    """The tree while it is read."""

    def __init__(self, where: str) -> None:
        self.where, self.count = where, 0
        self.root = Element("", {}, 0)
        self.open: list[tuple[Element, list[str]]] = []  # with the pieces of their text
        self.parser = expat.ParserCreate(namespace_separator=" ")
        self.parser.buffer_text = True
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self._text
        self.parser.StartDoctypeDeclHandler = self._doctype

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        self.count += 1
        line = self.parser.CurrentLineNumber
        if len(self.open) >= MAX_DEPTH or self.count > MAX_ELEMENTS:
            much = f"more than {MAX_ELEMENTS:,} elements"
            deep = f"elements more than {MAX_DEPTH} deep"
            found = deep if len(self.open) >= MAX_DEPTH else much
            raise MeasurementError(Fault(where=f"{self.where}, line {line}", found=found))
        element = Element(_local(name), {_local(key): attributes[key] for key in attributes}, line)
        if self.open:
            self.open[-1][0].children.append(element)
        else:
            self.root = element
        self.open.append((element, []))

    def _end(self, name: str) -> None:
        element, pieces = self.open.pop()
        element.text = "".join(pieces)

    def _text(self, text: str) -> None:
        if not text.isspace():
            self.open[-1][1].append(text)

    def _doctype(self, *_: object) -> None:
        raise MeasurementError(
            Fault(
                where=f"{self.where}, line {self.parser.CurrentLineNumber}",
                found="a document type is declared",
                expected="CxF has none, and entities are not read",
                do="export the measurements again",
            )
        )


def _local(name: str) -> str:
    return name.rpartition(" ")[2]


def _fault(error: expat.ExpatError, where: str) -> Fault:
    """Words for what the parser says."""
    if error.code in _ENDED:
        return Fault(
            where=f"{where}, line {error.lineno}",
            found="the file ends before its elements are closed",
            do="the file is cut off: copy or export it again",
        )
    return Fault(
        where=f"{where}, line {error.lineno}, column {error.offset + 1}",
        found=f"this is no XML ({expat.ErrorString(error.code)})",
        do="export the measurements again",
    )
