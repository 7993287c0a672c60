"""Versions of what decodes and draws: other ones may draw other pixels."""

from __future__ import annotations

from importlib.metadata import version

import numpy as np
from PIL import features

from keyer.kinds.version import __version__

_DRAWING = ("pil", "freetype2", "raqm", "harfbuzz")
_DECODING = ("av", "opencv-python-headless")


def libraries() -> dict[str, str]:
    """Return the version of each by its name, this program's among them."""
    return {
        "keyer": __version__,
        "numpy": np.__version__,
        **{name: version(name) for name in _DECODING},
        **{name: features.version(name) or "" for name in _DRAWING},
    }
