"""A reader of MXF from the standards alone: KLV (SMPTE ST 336) and what ST 377-1 puts into it.

Keys and tags are from memory of those standards; libav's reader has no part in it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from struct import unpack

_SET = bytes.fromhex("060e2b34025301010d01010101")
_PARTITION = bytes.fromhex("060e2b34020501010d010201")
_ESSENCE = bytes.fromhex("060e2b34010201010d010301")
_CDCI, _TIMECODE, _MATERIAL = 0x28, 0x14, 0x36


@dataclass
class Mxf:
    """What was found: the pattern's label, elements by item type, and the sets' properties."""

    pattern: bytes = b""
    pictures: int = 0
    sounds: int = 0
    descriptor: dict[int, bytes] = field(default_factory=dict)
    timecode: dict[int, bytes] = field(default_factory=dict)
    umid: bytes = b""


def triplets(data: bytes):
    """Yield key and value one after the other; lengths are BER."""
    at = 0
    while at + 17 <= len(data):
        key, first = data[at : at + 16], data[at + 16]
        at += 17
        length = first
        if first & 0x80:
            count = first & 0x7F
            length = int.from_bytes(data[at : at + count], "big")
            at += count
        yield key, data[at : at + length]
        at += length


def local_set(value: bytes) -> dict[int, bytes]:
    """Properties of a local set by their two-byte tags."""
    found, at = {}, 0
    while at + 4 <= len(value):
        tag, length = unpack(">HH", value[at : at + 4])
        found[tag] = value[at + 4 : at + 4 + length]
        at += 4 + length
    return found


def read_mxf(data: bytes) -> Mxf:
    """Read a whole file."""
    found = Mxf()
    for key, value in triplets(data):
        if key.startswith(_PARTITION) and key[13] in {2, 3, 4} and len(value) >= 80:
            found.pattern = value[64:80]
        elif key.startswith(_ESSENCE):
            found.pictures += key[12] == 0x15
            found.sounds += key[12] == 0x16
        elif key.startswith(_SET):
            properties = local_set(value)
            if key[14] == _CDCI:
                found.descriptor = properties
            elif key[14] == _TIMECODE and not found.timecode:
                found.timecode = properties
            elif key[14] == _MATERIAL:
                found.umid = properties.get(0x4401, b"")
    return found


def number(value: bytes) -> int:
    """An unsigned number, big end first."""
    return int.from_bytes(value, "big")
