"""The chunks of a PNG: whether their check sums are right, and which of them are the still.

A decoder looks at some of the check sums only, and decoders do not agree on what
an animated PNG shows where one picture is wanted. Here it is decided once: every
check sum counts, and the still is the static image (PNG 3rd edition, 4.9), which
programs without animation show.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator
from typing import NamedTuple

SIGNATURE = b"\x89PNG\r\n\x1a\n"
_ANIMATION = {b"acTL", b"fcTL", b"fdAT"}


class Chunk(NamedTuple):
    """A chunk of a PNG: its type and where its data lie.

    Attributes
    ----------
    kind : bytes
        Four letters.
    start, end : int
        From its length to its check sum.
    """

    kind: bytes
    start: int
    end: int


def chunks(data: bytes) -> Iterator[Chunk]:
    """Yield the chunks of a PNG, its check sums looked at.

    Parameters
    ----------
    data : bytes
        The whole file.

    Yields
    ------
    Chunk
        Up to the end mark; what stands after it does not count.

    Raises
    ------
    ValueError
        If a check sum is wrong, or the file breaks off before its end mark.
    """
    at, view = len(SIGNATURE), memoryview(data)
    kind = b""
    while kind != b"IEND":
        if at + 12 > len(data):
            msg = "it ends too soon"
            raise ValueError(msg)
        (size,) = struct.unpack_from(">I", data, at)
        kind, end = data[at + 4 : at + 8], at + 12 + size
        if end > len(data):
            msg = "it ends too soon"
            raise ValueError(msg)
        if zlib.crc32(view[at + 4 : end - 4]) != struct.unpack_from(">I", data, end - 4)[0]:
            msg = f"a check sum is wrong, of {kind.decode('ascii', 'replace')!r}"
            raise ValueError(msg)
        yield Chunk(kind, at, end)
        at = end


def static_png(data: bytes) -> bytes:
    """Check a PNG and leave out what is there for its animation.

    Parameters
    ----------
    data : bytes
        The whole file.

    Returns
    -------
    bytes
        As it came if it holds no animation.

    Raises
    ------
    ValueError
        As `chunks` does.
    """
    found = list(chunks(data))
    kept = [chunk for chunk in found if chunk.kind not in _ANIMATION]
    if len(kept) == len(found):
        return data
    return SIGNATURE + b"".join(data[chunk.start : chunk.end] for chunk in kept)
