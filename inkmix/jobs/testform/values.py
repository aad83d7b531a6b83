"""A test form as values: what testform.json holds, and what its plates are drawn from."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from inkmix.base.json_document import UNTOLD
from inkmix.export.forms.drawing import FormDrawing
from inkmix.export.forms.write import FormPlate
from inkmix.press.condition import PressCondition

Triple = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedPatch:
    """A patch on the sheet.

    Parameters
    ----------
    number : int
        From 1 along the rows, as printed below it.
    place : str
        Letter of its row and number in the row.
    kind : str
        paper, ramp, over black, over complement, overprint, dark, named tone or tint.
    why : str
        What it is printed for.
    copy : int
        1 for the first patch of this mix, 2 for the first repeat of it.
    x_mm, y_mm, width_mm, height_mm : float
        From the plate's top left corner.
    tone_pct : mapping of str to float
        Tone value of each ink, as the plates hold it.
    lab : tuple of float
        Predicted, CIELAB, D50, 2 degree, absolute.
    """

    number: int
    place: str
    kind: str
    why: str
    copy: int
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    tone_pct: Mapping[str, float]
    lab: Triple


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerMark:
    """A mark by which a program finds the form: a square of the darkest ink with a square hole.

    Parameters
    ----------
    corner : str
        top left, top right, bottom left or bottom right.
    x_mm, y_mm, width_mm, height_mm : float
        From the plate's top left corner.
    has_core : bool
        Whether a smaller square stands in the hole: in the top left one alone.
    """

    corner: str
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    has_core: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownField:
    """A field beside a corner, for a camera: bare paper or a tint of the darkest ink.

    Its tone values are among those of the ink's ramp.
    """

    corner: str
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    tone_pct: Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkPlace:
    """A register mark, or a target of lines or gaps.

    Parameters
    ----------
    kind : str
        register, lines or gaps.
    inks : tuple of str
        Of lines one; of gaps the ink on the left and that on the right; of a register mark the ink
        of the left and upper arms, and that of the others.
    x_mm, y_mm, width_mm, height_mm : float
        From the plate's top left corner.
    sizes_mm : tuple of float
        Widths of the lines or gaps, in whole pixels of the plates.
    """

    kind: str
    inks: tuple[str, ...]
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    sizes_mm: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateOfForm:
    """The file of a plate, from the form's folder down, and the inks that print it."""

    file: str
    inks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Gain:
    """What is known once so many patches are measured beside paper and ramps.

    Parameters
    ----------
    patches : int
    expected_de00 : float
        Mean over the book's mixtures of the error within which 95 % of prints are expected.
    """

    patches: int
    expected_de00: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TestForm:
    """A test form.

    Parameters
    ----------
    title : str
        Of the book.
    is_small : bool
        Whether it is a strip for the edge of a sheet.
    width_mm, height_mm : float
        Of the plates.
    ppi : float
        Resolution of the plates.
    inks : tuple of str
        In lay-down order.
    darkest_ink : str
        Prints words, corners and known fields.
    ink_limit_pct : float or None
        Nothing on the form has more; None where nobody said one.
    shuffled_by : int or None
        Seed of the random order; None where patches of a kind stand together.
    repeats : int
        How often paper, solids and some mixes are printed.
    repeats_apart_mm : float or None
        Two patches of one mix are at least so far from each other; None without repeats.
    plates : tuple of PlateOfForm
    patches : tuple of PlacedPatch
    corners : tuple of CornerMark
    fields : tuple of KnownField
    marks : tuple of MarkPlace
    over_limit : tuple of tuple of str
        Inks of solid overprints that are above the ink limit, and left out.
    without_room : mapping of str to int
        How many patches of a kind were left out since the sheet has no room for them.
    mixtures : tuple of str
        The mixtures of the book that gains are about.
    expected_de00 : float or None
        Of them as the book is now; None where there are none.
    gains : tuple of Gain
        By number of patches; the last is this form.
    notes : tuple of str
        What was taken for granted and should be said.
    """

    __test__ = False  # no test, though its name begins so

    title: str
    is_small: bool
    width_mm: float
    height_mm: float
    ppi: float
    inks: tuple[str, ...]
    darkest_ink: str
    ink_limit_pct: float | None
    shuffled_by: int | None
    repeats: int
    repeats_apart_mm: float | None
    plates: tuple[PlateOfForm, ...]
    patches: tuple[PlacedPatch, ...]
    corners: tuple[CornerMark, ...]
    fields: tuple[KnownField, ...]
    marks: tuple[MarkPlace, ...]
    over_limit: tuple[tuple[str, ...], ...]
    without_room: Mapping[str, int]
    mixtures: tuple[str, ...]
    expected_de00: float | None
    gains: tuple[Gain, ...]
    notes: tuple[str, ...]
    condition: PressCondition = field(metadata={UNTOLD: True})
    drawing: FormDrawing = field(metadata={UNTOLD: True})
    files: tuple[FormPlate, ...] = field(metadata={UNTOLD: True})
