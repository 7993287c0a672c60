"""A still as a source: the same picture at every time."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from functools import lru_cache
from pathlib import Path
from threading import Thread

from keyer.errors import InputFileError
from keyer.kinds.picture import RgbPicture
from keyer.kinds.plain_file import open_plain
from keyer.media.contract import SourceProps
from keyer.media.decode_still import decode_noted, still_kind


@lru_cache(maxsize=2)
def _picture(path: Path, stamp: tuple[int, ...]) -> tuple[RgbPicture, str]:  # noqa: ARG001  tells files apart
    """Decode a still; of two, a command may ask for the format first and for the picture then."""
    pixels, said = decode_noted(path)  # before the kernels, which take their time to load
    from keyer.pixel.colour.load import from_array

    return from_array(pixels, name=str(path)), said


def _stamp(path: Path) -> tuple[int, ...]:
    """Return what changes when a file does: size and times."""
    try:
        found = path.stat()
    except OSError:
        return ()
    return found.st_dev, found.st_ino, found.st_size, found.st_mtime_ns


def decode_ahead(paths: Iterable[Path]) -> None:
    """Decode stills that will be opened, at most two, while other things are done.

    Parameters
    ----------
    paths : iterable of Path
        What cannot be decoded is left to be found when it is opened.
    """

    def decode(path: Path) -> None:
        with suppress(InputFileError, OSError, MemoryError), open_plain(path) as file:
            if still_kind(file.read(16)):
                _picture(path, _stamp(path))

    for path in paths:
        Thread(target=decode, args=(path,), daemon=True).start()


class Still:
    """A still as a source: the same picture at every index."""

    def __init__(self, path: Path) -> None:
        self._picture, said = _picture(path, _stamp(path))
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
            notices=(f"{path} {said}.",) if said else (),
        )

    @property
    def props(self) -> SourceProps:
        """Size, depth and matrix of the still, known when it was opened."""
        return self._props

    def read(self, index: int) -> RgbPicture:  # noqa: ARG002  a still is the same at every time
        """Return the picture."""
        return self._picture

    def close(self) -> None:
        """Nothing is held open."""
