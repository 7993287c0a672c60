"""Decide a television effect before the control room is booked.

The public functions take and return numpy arrays, rows x columns x channels.
They are loaded when first used, so that `import keyer` costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from keyer.kinds.version import __version__ as __version__

if TYPE_CHECKING:
    from keyer.kinds.field import Modifiers
    from keyer.kinds.settings import KeySettings
    from keyer.render.arrays import (
        chroma_key,
        cut_out,
        measure_matte,
        measure_spill,
        mix,
        survey_backing,
        wipe,
    )
    from keyer.render.clip import render_clip
    from keyer.render.still import render_still
    from keyer.sheet.load import load_sheet

_HOMES = {
    "KeySettings": "keyer.kinds.settings",
    "Modifiers": "keyer.kinds.field",
    "chroma_key": "keyer.render.arrays",
    "cut_out": "keyer.render.arrays",
    "load_sheet": "keyer.sheet.load",
    "measure_matte": "keyer.render.arrays",
    "measure_spill": "keyer.render.arrays",
    "mix": "keyer.render.arrays",
    "render_clip": "keyer.render.clip",
    "render_still": "keyer.render.still",
    "survey_backing": "keyer.render.arrays",
    "wipe": "keyer.render.arrays",
}

__all__ = [
    "KeySettings",
    "Modifiers",
    "chroma_key",
    "cut_out",
    "load_sheet",
    "measure_matte",
    "measure_spill",
    "mix",
    "render_clip",
    "render_still",
    "survey_backing",
    "wipe",
]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        msg = f"module 'keyer' has no attribute {name!r}"
        raise AttributeError(msg)
    return getattr(import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    return __all__
