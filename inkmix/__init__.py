"""inkmix: what spot inks will print where they overlap, and whether the plates can go to press.

The functions here are those of the commands: values in, values out. Each is loaded when it is first
asked for, so that `import inkmix` takes no time.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from inkmix.batch.book import check_book as check_book
    from inkmix.batch.mend import mend_book as mend_book
    from inkmix.demo.write import write_demo as write_demo
    from inkmix.jobs.adopting.adopt import adopt_inks as adopt_inks
    from inkmix.jobs.books import book_as_printed as book_as_printed
    from inkmix.jobs.books import read_book as read_book
    from inkmix.jobs.calibrating.averages import write_averages as write_averages
    from inkmix.jobs.calibrating.calibrate import calibrate_book as calibrate_book
    from inkmix.jobs.check import check_spread as check_spread
    from inkmix.jobs.inks.entries import inks_at_hand as inks_at_hand
    from inkmix.jobs.inks.entries import inks_of_book as inks_of_book
    from inkmix.jobs.mix import mix_colours as mix_colours
    from inkmix.jobs.mix import mix_darkest as mix_darkest
    from inkmix.jobs.mix import mix_ground as mix_ground
    from inkmix.jobs.orders import orders_of_book as orders_of_book
    from inkmix.jobs.overprints.sheet import sheet_of_book as sheet_of_book
    from inkmix.jobs.palettes.choose import PaletteRequest as PaletteRequest
    from inkmix.jobs.palettes.choose import choose_inks as choose_inks
    from inkmix.jobs.printing.preview import preview_spread as preview_spread
    from inkmix.jobs.printing.print_pictures import Pictures as Pictures
    from inkmix.jobs.printing.print_pictures import predict_spread as predict_spread
    from inkmix.jobs.score import score_chart as score_chart
    from inkmix.jobs.start import start_book as start_book
    from inkmix.pages.calibration.write import write_calibration as write_calibration
    from inkmix.pages.report.write import write_report as write_report
    from inkmix.pages.testform.write import write_testform as write_testform

__version__ = "0.1.0"

_HOMES = {
    "PaletteRequest": "inkmix.jobs.palettes.choose",
    "Pictures": "inkmix.jobs.printing.print_pictures",
    "adopt_inks": "inkmix.jobs.adopting.adopt",
    "book_as_printed": "inkmix.jobs.books",
    "calibrate_book": "inkmix.jobs.calibrating.calibrate",
    "check_book": "inkmix.batch.book",
    "check_spread": "inkmix.jobs.check",
    "choose_inks": "inkmix.jobs.palettes.choose",
    "inks_at_hand": "inkmix.jobs.inks.entries",
    "inks_of_book": "inkmix.jobs.inks.entries",
    "mend_book": "inkmix.batch.mend",
    "mix_colours": "inkmix.jobs.mix",
    "mix_darkest": "inkmix.jobs.mix",
    "mix_ground": "inkmix.jobs.mix",
    "orders_of_book": "inkmix.jobs.orders",
    "predict_spread": "inkmix.jobs.printing.print_pictures",
    "preview_spread": "inkmix.jobs.printing.preview",
    "read_book": "inkmix.jobs.books",
    "score_chart": "inkmix.jobs.score",
    "sheet_of_book": "inkmix.jobs.overprints.sheet",
    "start_book": "inkmix.jobs.start",
    "write_averages": "inkmix.jobs.calibrating.averages",
    "write_calibration": "inkmix.pages.calibration.write",
    "write_demo": "inkmix.demo.write",
    "write_report": "inkmix.pages.report.write",
    "write_testform": "inkmix.pages.testform.write",
}
"""The module of every public name; type checkers read the imports above, which a test compares."""

__all__ = [*_HOMES]


def __getattr__(name: str) -> object:
    """A public function, loaded now (PEP 562)."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    globals()[name] = found = getattr(import_module(_HOMES[name]), name)
    return found


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
