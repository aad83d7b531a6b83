"""Name and digest of an embedded colour profile. Profiles are reported, never applied."""

import hashlib
import io

from PIL import ImageCms

_DIGEST_LETTERS = 8


def profile_label(data: bytes | None) -> str | None:
    """Profile bytes as name and digest in brackets; None without a profile."""
    if not data:
        return None
    digest = hashlib.sha256(data).hexdigest()[:_DIGEST_LETTERS]
    return f"{_name(data)} ({digest})"


def _name(data: bytes) -> str:
    try:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(data))
        return ImageCms.getProfileDescription(profile).strip() or "profile without name"
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return "unreadable profile"
