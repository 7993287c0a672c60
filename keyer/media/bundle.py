"""Several small files in one: a ZIP archive (ISO/IEC 21320-1), read within a budget."""

from __future__ import annotations

import io
import zipfile
import zlib
from collections.abc import Mapping
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from keyer.errors import InputFileError

MOST_ENTRIES = 100_000
MOST_BYTES = 64 << 20
"""Of one entry once unpacked."""

_MOST_PIXELS = 1 << 24
_WHEN = (1980, 1, 1, 0, 0, 0)
"""Time of every entry, so that the same content is the same archive."""


def pack(entries: Mapping[str, bytes]) -> bytes:
    """Put files into an archive.

    Parameters
    ----------
    entries : mapping of str to bytes
        Content by name; what ends in `.json` or `.toml` is packed tighter.

    Returns
    -------
    bytes
        The same for the same entries.
    """
    memory = io.BytesIO()
    with zipfile.ZipFile(memory, "w") as archive:
        for name, data in entries.items():
            info = zipfile.ZipInfo(name, _WHEN)
            tight = name.endswith((".json", ".toml"))
            info.compress_type = zipfile.ZIP_DEFLATED if tight else zipfile.ZIP_STORED
            archive.writestr(info, data)
    return memory.getvalue()


class Bundle:
    """An archive that was packed, read entry by entry.

    Raises
    ------
    InputFileError
        If it cannot be read or is none.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        try:
            if not path.is_file():
                raise self._broken()
            self._archive = zipfile.ZipFile(path)
        except (OSError, zipfile.BadZipFile, ValueError, NotImplementedError) as error:
            if isinstance(error, InputFileError):
                raise
            raise self._broken() from None
        if len(self._archive.infolist()) > MOST_ENTRIES:
            raise self._broken()

    def close(self) -> None:
        """Let go of the file."""
        self._archive.close()

    def read(self, name: str) -> bytes:
        """Unpack an entry, its check sum looked at.

        Raises
        ------
        InputFileError
            If it is missing, damaged or larger than it may be.
        """
        try:
            with self._archive.open(name) as entry:
                data = entry.read(MOST_BYTES + 1)
        except (KeyError, OSError, RuntimeError, ValueError, EOFError, NotImplementedError,
                zipfile.BadZipFile, zlib.error):  # fmt: skip
            raise self._broken() from None
        if len(data) > MOST_BYTES:
            raise self._broken()
        return data

    def picture(self, name: str) -> NDArray[np.uint8]:
        """Unpack a small picture, (H, W, 3) uint8."""
        return read_small(self.read(name), self._broken())

    def _broken(self) -> InputFileError:
        msg = f"{self._path} is no approved version, or is damaged. Take the original file."
        return InputFileError(msg)


def read_small(data: bytes, broken: InputFileError) -> NDArray[np.uint8]:
    """Decode a small picture of an approved version, a WebP.

    Parameters
    ----------
    data : bytes
    broken : InputFileError
        The error to raise if `data` is damaged or too large.

    Returns
    -------
    (H, W, 3) uint8
    """
    from PIL import Image

    try:
        with Image.open(io.BytesIO(data), formats=["WEBP"]) as image:
            if image.width * image.height > _MOST_PIXELS:
                raise broken
            return np.asarray(image.convert("RGB"), np.uint8)
    except (OSError, ValueError, SyntaxError):
        raise broken from None


def write_small(pixels: NDArray[np.uint8]) -> bytes:
    """Code a small picture without loss, as WebP (RFC 9649).

    Parameters
    ----------
    pixels : (H, W, 3) uint8

    Returns
    -------
    bytes
        The same for the same picture.
    """
    from PIL import Image

    memory = io.BytesIO()
    Image.fromarray(pixels).save(memory, "WEBP", lossless=True, method=2, quality=50)
    return memory.getvalue()
