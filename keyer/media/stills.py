"""A still as a source: the same picture at every time."""

from __future__ import annotations

from pathlib import Path

from keyer.kinds.picture import RgbPicture
from keyer.media.contract import SourceProps
from keyer.media.decode_still import decode_still


class Still:
    """A still as a source: the same picture at every index."""

    def __init__(self, path: Path) -> None:
        from keyer.pixel.load import from_array

        self._picture = from_array(decode_still(path), name=str(path))
        depth = 8 * self._picture.planes.itemsize
        has_alpha = self._picture.alpha is not None
        self._props = SourceProps(
            description=(
                f"still, {depth} bit{' with alpha' if has_alpha else ''}, "
                f"{self._picture.width} x {self._picture.height}"
            ),
            width=self._picture.width,
            height=self._picture.height,
            has_alpha=has_alpha,
            bits=depth,
        )

    @property
    def props(self) -> SourceProps:
        """What is known of it."""
        return self._props

    def read(self, index: int) -> RgbPicture:  # noqa: ARG002  a still is the same at every time
        """Return the picture."""
        return self._picture

    def close(self) -> None:
        """Nothing is held open."""
