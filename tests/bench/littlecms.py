"""LittleCMS with five channels, through its C library: a profile of the press model, and its use.

The profile is made by the library itself: a table of 13 nodes a channel to Lab, without curves.
"""

import ctypes
import ctypes.util
import sysconfig
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkmix.base.ordered_threads import in_order

NODES = 13
DEFAULT, NODES_17 = 0, 17 << 16  # flags; the second is cmsFLAGS_GRIDPOINTS(17)

_CHANNELS = 5
_RELATIVE = 1  # relative colorimetric: nothing is done about black points
_CHUNK_NODES = 1 << 11
_POINTER = ctypes.c_void_p
_RETURNS_POINTER = (
    "cmsCreateProfilePlaceholder",
    "cmsPipelineAlloc",
    "cmsStageAllocCLut16bit",
    "cmsCreate_sRGBProfile",
    "cmsCreateTransform",
)


class PressModel(Protocol):
    """What the profile is computed from."""

    def lab(self, tone_pct: ArrayLike) -> NDArray[np.float64]:
        """Lab D50 of tone values in %, (..., 5) -> (..., 3)."""
        ...


def library() -> ctypes.CDLL | None:
    """The C library, of Pillow's wheel or of the system; None where neither is there."""
    bundled = sorted(Path(sysconfig.get_path("platlib")).glob("[Pp]illow.libs/liblcms2*"))
    path = str(bundled[0]) if bundled else ctypes.util.find_library("lcms2")
    if path is None:
        return None
    lcms = ctypes.CDLL(path)
    for name in _RETURNS_POINTER:
        getattr(lcms, name).restype = _POINTER
    return lcms


def table_lab16(model: PressModel) -> NDArray[np.uint16]:
    """Lab (NODES**5, 3) of the press model as profiles encode it, first ink slowest."""
    count = NODES**_CHANNELS
    chunks = [range(at, min(at + _CHUNK_NODES, count)) for at in range(0, count, _CHUNK_NODES)]

    def lab_of(chunk: range) -> NDArray[np.float64]:
        grid = np.stack(np.unravel_index(np.array(chunk), (NODES,) * _CHANNELS), axis=-1)
        return model.lab(grid * (100 / (NODES - 1)))

    lab = np.concatenate(list(in_order(lab_of, chunks)))
    encoded = (lab + np.array([0, 128, 128])) / np.array([100, 255, 255]) * 65535
    return np.ascontiguousarray(np.rint(np.clip(encoded, 0, 65535)).astype(np.uint16))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Transform:
    """Five interleaved 8-bit channels to 8-bit sRGB."""

    lcms: ctypes.CDLL
    handle: Any

    def into(self, pixels: NDArray[np.uint8], out: NDArray[np.uint8]) -> None:
        """Colours (N, 3) of ink amounts (N, 5), both contiguous."""
        count = ctypes.c_uint32(len(pixels))
        self.lcms.cmsDoTransform(
            self.handle, pixels.ctypes.data_as(_POINTER), out.ctypes.data_as(_POINTER), count
        )


def make_transform(lcms: ctypes.CDLL, lab16: NDArray[np.uint16], flags: int) -> Transform:
    """A transform out of a table of the press, by flags DEFAULT or NODES_17."""
    press, srgb = _profile(lcms, lab16), _POINTER(lcms.cmsCreate_sRGBProfile())
    inks, rgb = _format(19, _CHANNELS), _format(4, 3)  # PT_MCH5, PT_RGB
    handle = lcms.cmsCreateTransform(press, inks, srgb, rgb, _RELATIVE, flags)
    if handle is None:
        raise RuntimeError("LittleCMS makes no transform of five channels")
    return Transform(lcms=lcms, handle=_POINTER(handle))


def converting(transform: Transform, windows: NDArray[np.uint8]) -> Callable[[], NDArray[np.uint8]]:
    """Convert planes (windows, inks, pixels); they are interleaved before time is taken."""
    pixels = np.ascontiguousarray(windows.transpose(0, 2, 1))

    def run() -> NDArray[np.uint8]:
        out = np.empty((*pixels.shape[:2], 3), np.uint8)
        for window, target in zip(pixels, out, strict=True):
            transform.into(window, target)
        return out

    return run


def _format(colour_space: int, channels: int) -> int:
    """One byte a channel, interleaved."""
    return colour_space << 16 | channels << 3 | 1


def _profile(lcms: ctypes.CDLL, lab16: NDArray[np.uint16]) -> Any:
    profile = _POINTER(lcms.cmsCreateProfilePlaceholder(None))
    lcms.cmsSetProfileVersion(profile, ctypes.c_double(4.3))
    lcms.cmsSetDeviceClass(profile, _signature("prtr"))
    lcms.cmsSetColorSpace(profile, _signature("5CLR"))
    lcms.cmsSetPCS(profile, _signature("Lab "))
    pipeline = _POINTER(lcms.cmsPipelineAlloc(None, _CHANNELS, 3))
    nodes = lab16.ctypes.data_as(_POINTER)  # copied by the library
    stage = _POINTER(lcms.cmsStageAllocCLut16bit(None, NODES, _CHANNELS, 3, nodes))
    is_made = lcms.cmsPipelineInsertStage(pipeline, 1, stage)  # cmsAT_END
    if not is_made or not lcms.cmsWriteTag(profile, _signature("A2B0"), pipeline):
        raise RuntimeError("LittleCMS makes no profile of five channels")
    return profile


def _signature(four: str) -> int:
    return int.from_bytes(four.encode("ascii"), "big")
