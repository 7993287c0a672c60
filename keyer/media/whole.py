"""Whether a file is whole, where its reader does not mind."""

from __future__ import annotations

_TRAILER = 0x3B


def gif_is_whole(data: bytes) -> bool:
    """Whether a GIF goes on to its end mark (GIF89a, 17 to 27).

    Parameters
    ----------
    data : bytes
        The whole file.
    """
    try:
        at = 13 + _colour_table(data[10])
        while True:
            match data[at]:
                case 0x21:  # an extension: its label, then blocks
                    at = _blocks_end(data, at + 2)
                case 0x2C:  # an image: place and size, colours, the codes' width, then blocks
                    at = _blocks_end(data, at + 11 + _colour_table(data[at + 9]))
                case mark:
                    return mark == _TRAILER
    except IndexError:
        return False


def _colour_table(packed: int) -> int:
    """Bytes of a colour table, whose size is in the lowest bits of a packed field."""
    return 3 << (packed & 7) + 1 if packed & 0x80 else 0


def _blocks_end(data: bytes, at: int) -> int:
    """Pass blocks that each begin with their size, up to an empty one."""
    while data[at]:
        at += data[at] + 1
    return at + 1
