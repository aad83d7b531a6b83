"""Where the files lie that come with the package, beside its own text."""

from pathlib import Path

import inkmix
from inkmix.base.errors import Fault, SwatchError


def swatches_folder() -> Path:
    """The folder of the swatches: inside an installed package, beside the package in a checkout."""
    package = Path(inkmix.__file__).parent
    for folder in (package / "_swatches", package.parent / "swatches"):
        if (folder / "SOURCES.md").is_file():
            return folder
    found = "the folder of the swatches is not there"
    raise SwatchError(Fault(where="inkmix", found=found, do="install the package again"))
