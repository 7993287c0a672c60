"""Colours of stills that carry a profile of another colour space than sRGB: phones' Display P3.

A profile (ICC.1, ISO 15076-1) says what the samples mean. Little CMS, by way of Pillow, brings
them to sRGB, whose primaries are those of BT.709: relative to the white of either.
"""

from __future__ import annotations

import io
from typing import Any

import numpy as np
from numpy.typing import NDArray

Pixels = NDArray[Any]

ALIKE = 2
"""Codes of 8 bits up to which a profile is sRGB: those of cameras differ by rounding."""


def to_srgb(pixels: Pixels, profile: bytes | None) -> tuple[Pixels, str]:
    """Bring samples to sRGB; return them and, in words, what was done.

    Parameters
    ----------
    pixels : (H, W), (H, W, 3) or (H, W, 4) uint8 or uint16
    profile : bytes or None
        As it stands in the file.

    Returns
    -------
    pixels
        The very same where the profile is of sRGB, or of no R'G'B'.
    said : str
        A clause; empty where nothing was done.
    """
    if not profile or pixels.ndim == 2 or profile[16:20] != b"RGB ":
        return pixels, ""
    from PIL import Image, ImageCms

    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        name = ImageCms.getProfileDescription(source).strip()
        change = ImageCms.buildTransform(source, ImageCms.createProfile("sRGB"), "RGB", "RGB")
        steps = np.linspace(0, 255, 6).astype(np.uint8)
        tried = np.stack(np.meshgrid(steps, steps, steps), -1).reshape(1, -1, 3)
        turned = np.asarray(ImageCms.applyTransform(Image.fromarray(tried), change))
        if np.abs(turned.astype(np.int16) - tried).max() <= ALIKE:
            return pixels, ""
        if pixels.dtype != np.uint8:
            return (
                pixels,
                f"has 16 bits in the colours of {name}, taken as those of BT.709: export sRGB",
            )
        colour = Image.fromarray(np.ascontiguousarray(pixels[..., :3]))
        found = np.asarray(ImageCms.applyTransform(colour, change))
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return pixels, "has a damaged colour profile, which is left out"
    return np.concatenate(
        [found, pixels[..., 3:]], -1
    ), f"had the colours of {name}; they are brought to those of BT.709"
