"""How results are stored: which files a row has, their kind, depth and alpha."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np

from keyer.batch.bands import Coding
from keyer.batch.png_bands import PNG
from keyer.batch.tiff_bands import TiffCoding
from keyer.errors import SettingError
from keyer.kinds.ranges import one_of

KINDS = ("over", "keyfill", "alpha")
"""Over the picture; as key and fill; as one picture with alpha."""

FORMS = ("png", "tiff", "clip", "parts")
"""A still of each row; the whole sheet as a clip, or its titles as clips of in, hold and out."""

MOVING = ("clip", "parts")
"""Those that are clips."""

HOLD = "-hold"
PARTS = ("-in", HOLD, "-out")
"""What is put after a row's name for each part."""

DEPTHS = (8, 16)

_ENDINGS = {"png": ".png", "tiff": ".tif", "clip": ".mov", "parts": ".mov"}


def suffixes(form: str, kind: str) -> tuple[str, ...]:
    """Return what is put after a row's name for each of its files."""
    ending = ".mp4" if (form, kind) == ("clip", "over") else _ENDINGS[form]
    own = (f"-fill{ending}", f"-key{ending}") if kind == "keyfill" else (ending,)
    parts = PARTS if form == "parts" else ("",)
    return tuple(f"{part}{one}" for part in parts for one in own)


@dataclass(frozen=True)
class Stored:
    """How results are stored.

    Attributes
    ----------
    kind : {"over", "keyfill", "alpha"}
    form : {"png", "tiff", "clip", "parts"}
    bits : {8, 16} or None
        Of a still's samples; None: 8, and of a finished picture as many as its sources have.
    premultiplied : bool
        Whether the colours beside an alpha are multiplied by it.

    Raises
    ------
    SettingError
    """

    kind: str = "over"
    form: str = "png"
    bits: int | None = None
    premultiplied: bool = False

    def __post_init__(self) -> None:
        one_of("kind", self.kind, KINDS)
        one_of("format", self.form, FORMS)
        if self.bits is not None and self.bits not in DEPTHS:
            msg = f"depth must be 8 or 16, got {self.bits}."
            raise SettingError(msg)
        if self.form == "parts" and self.kind == "over":
            msg = (
                "format parts needs kind alpha or keyfill, got over: parts are laid over a picture "
                "where they are played."
            )
            raise SettingError(msg)
        if self.bits is not None and self.form in MOVING:
            msg = "depth is for stills; a clip has that of its codec. Leave it out."
            raise SettingError(msg)
        if self.premultiplied and self.kind != "alpha":
            msg = (
                f"premultiplied is for kind alpha, got {self.kind}. Leave it out: a fill is always "
                "premultiplied, and a finished picture has no alpha."
            )
            raise SettingError(msg)
        if self.premultiplied and self.form in MOVING:
            msg = "premultiplied is for stills (format tiff): clips have straight alpha."
            raise SettingError(msg)
        if self.premultiplied and self.form != "tiff":
            msg = (
                f"premultiplied needs format tiff, which says so in the file, got {self.form}. "
                "Alpha of a PNG is straight by its standard (PNG 3rd edition, 6.2)."
            )
            raise SettingError(msg)

    @property
    def suffixes(self) -> tuple[str, ...]:
        """What is put after a row's name for each of its files."""
        return suffixes(self.form, self.kind)

    def coding(self, pixel_aspect: Fraction = Fraction(1)) -> Coding:
        """Return how stills are coded."""
        return TiffCoding(self.premultiplied, pixel_aspect) if self.form == "tiff" else PNG

    def depth(self, own: type[np.uint8 | np.uint16] = np.uint8) -> type[np.uint8 | np.uint16]:
        """Return what the samples of stills are; `own` where nothing is asked for."""
        return {None: own, 8: np.uint8, 16: np.uint16}[self.bits]

    def as_dict(self) -> dict[str, Any]:
        """As plain data, for the manifest; empty for what is stored as ever."""
        alpha = {"alpha": "premultiplied" if self.premultiplied else "straight"}
        return {
            **({"bits": self.bits} if self.bits else {}),
            **(alpha if self.kind == "alpha" else {}),
        }
