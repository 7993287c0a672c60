"""Read the notes that a PNG carries beside its picture."""

from __future__ import annotations

import io
import struct
import warnings
import zlib
from pathlib import Path

from keyer.errors import InputFileError
from keyer.media.decode_still import read_bytes, still_kind

_MALFORMED = (OSError, SyntaxError, ValueError, EOFError, struct.error, zlib.error)
"""What Pillow raises on broken files."""


def read_notes(path: Path) -> dict[str, str]:
    """Read the texts of a PNG (PNG 3rd edition, 11.3.3: tEXt, zTXt and iTXt).

    Returns
    -------
    dict
        Keyword to text; of those that stand before the picture's data.

    Raises
    ------
    InputFileError
        If it is missing, broken, or no PNG.
    """
    from PIL.PngImagePlugin import PngImageFile

    data = read_bytes(path)
    if still_kind(data[:16]) != "PNG":
        msg = f"{path} is no PNG; only a PNG carries notes. Name the PNG that was written."
        raise InputFileError(msg)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            info = PngImageFile(io.BytesIO(data)).info
    except _MALFORMED as error:
        msg = f"{path} is a broken PNG ({error}). Copy it again."
        raise InputFileError(msg) from None
    return {str(name): str(text) for name, text in info.items() if isinstance(text, str)}
