"""Damage to bytes, whatever they mean: as disks, networks and bad memory do it."""

import random
import struct
from collections.abc import Callable

Bytes = Callable[[random.Random, bytes], bytes]

EXTREMES = (0, 1, 0x7F, 0x80, 0xFF, 0x7FFF, 0x8000, 0xFFFF, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF)


def flip(rng: random.Random, data: bytes) -> bytes:
    """Turn one to four bits over."""
    changed = bytearray(data)
    for _ in range(rng.randint(1, 4)):
        changed[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
    return bytes(changed)


def overwrite(rng: random.Random, data: bytes) -> bytes:
    """Put noise, or one byte again and again, in the place of a stretch."""
    at = rng.randrange(len(data))
    length = rng.choice([1, 4, 16, 64, 512, 4096])
    noise = rng.randbytes(length) if rng.random() < 0.5 else bytes([rng.randrange(256)]) * length
    return data[:at] + noise[: len(data) - at] + data[at + length :]


def cut(rng: random.Random, data: bytes) -> bytes:
    """Break off, anywhere or a little before the end."""
    if rng.random() < 0.3:
        return data[: len(data) - rng.randint(1, 12)]
    return data[: rng.randrange(len(data))]


def drop(rng: random.Random, data: bytes) -> bytes:
    """Leave a stretch out."""
    at = rng.randrange(len(data))
    return data[:at] + data[at + rng.choice([1, 2, 16, 188, 1000]) :]


def insert(rng: random.Random, data: bytes) -> bytes:
    """Put noise in between."""
    at = rng.randrange(len(data))
    return data[:at] + rng.randbytes(rng.choice([1, 2, 16, 188, 1000])) + data[at:]


def repeat(rng: random.Random, data: bytes) -> bytes:
    """Say a stretch twice, or something after the end."""
    at = rng.randrange(len(data))
    part = data[at : at + rng.choice([1, 8, 64, 512])]
    return data[:at] + part + data[at:] if rng.random() < 0.7 else data + data[:at]


def number(rng: random.Random, data: bytes) -> bytes:
    """Put an extreme number where one may stand."""
    form = rng.choice([">B", ">H", "<H", ">I", "<I"])
    size = struct.calcsize(form)
    if len(data) <= size:
        return data + b"\0"
    at = rng.randrange(len(data) - size)
    near = struct.unpack_from(form, data, at)[0] + rng.choice([-1, 1, 256])
    value = rng.choice([*EXTREMES, near]) % (1 << 8 * size)
    return data[:at] + struct.pack(form, value) + data[at + size :]


def nothing(rng: random.Random, data: bytes) -> bytes:
    """Nothing at all, zeros, or something else entirely."""
    return rng.choice([b"", b"\0" * len(data), data[:8], b"<html>not found</html>\n", b"\n"])


ANY: tuple[Bytes, ...] = (flip, flip, flip, overwrite, cut, drop, insert, repeat, number, number)


def hurt(rng: random.Random, data: bytes) -> bytes:
    """Damage bytes in one way, seldom in several."""
    if not data or rng.random() < 0.02:
        return nothing(rng, data)
    for _ in range(1 if rng.random() < 0.8 else 3):
        data = rng.choice(ANY)(rng, data) or b"\0"
    return data
