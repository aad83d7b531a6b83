"""The predicted print against a reference picture of the whole, at the size of an overview.

Arrays in, numbers and a map out; reading, scaling and painting are done elsewhere.
"""

from dataclasses import dataclass

import numpy as np

from inkmix.arrays import FloatArray, read_only
from inkmix.checks.facts import ReferenceFacts
from inkmix.colorimetry import delta_e00
from inkmix.errors import Fault, PictureError


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReferenceResult:
    """Facts, and the colour difference of every pixel, (rows, cols), dE00."""

    facts: ReferenceFacts
    de00: FloatArray


def compare_with_reference(
    predicted_lab: FloatArray,
    reference_lab: FloatArray,
    *,
    file: str,
    map_ppi: float,
    picture: str,
) -> ReferenceResult:
    """Colour differences between two pictures of one size.

    Parameters
    ----------
    predicted_lab, reference_lab : (rows, cols, 3) ndarray
        D50, 2 degree; the reference on the same paper.
    picture : str
        Key under which the map will be shown.

    Raises
    ------
    PictureError
        If the sizes differ.
    """
    if predicted_lab.shape != reference_lab.shape:
        raise PictureError(_size_fault(predicted_lab, reference_lab, file))
    de00 = read_only(delta_e00(predicted_lab, reference_lab))
    facts = ReferenceFacts(
        file=file,
        mean_de00=float(de00.mean()),
        p95_de00=float(np.percentile(de00, 95)),
        max_de00=float(de00.max()),
        map_ppi=map_ppi,
        picture=picture,
    )
    return ReferenceResult(facts=facts, de00=de00)


def _size_fault(predicted: FloatArray, reference: FloatArray, file: str) -> Fault:
    return Fault(
        where=file,
        found=f"{reference.shape[1]} x {reference.shape[0]} px",
        expected=f"the overview has {predicted.shape[1]} x {predicted.shape[0]} px",
        do="give a reference picture of the same proportions as the plates",
    )
