"""Damage that keeps a file's structure: its parts dropped, doubled, swapped, resized, hurt inside.

A file is split into parts by the structure that its standard names, one part is
changed, and the whole is put together again, so that damage comes further than
the first check. Sizes and check sums are made right again, or left wrong.
"""

import io
import random
import struct
import zipfile
import zlib
from collections.abc import Callable

from hostile.blobs import EXTREMES, hurt
from hostile.project import png_chunk

Part = tuple[bytes, bytes]
"""Name and content."""


def png(rng: random.Random, data: bytes) -> bytes:
    """Chunks of a PNG (PNG 3rd edition, 5.3), with right or wrong check sums."""
    parts: list[Part] = []
    at = 8
    while at + 12 <= len(data):
        (size,) = struct.unpack_from(">I", data, at)
        parts.append((data[at + 4 : at + 8], data[at + 8 : at + 8 + size]))
        at += 12 + size
    if rng.random() < 0.15:
        parts.insert(rng.randrange(1, len(parts)), _png_extra(rng))
        return data[:8] + b"".join(png_chunk(*part) for part in parts)
    if rng.random() < 0.2:  # samples that decode to other lengths, with all sums right
        rows = zlib.decompress(b"".join(body for kind, body in parts if kind == b"IDAT"))
        packed = zlib.compress(hurt(rng, rows))
        first = next(n for n, part in enumerate(parts) if part[0] == b"IDAT")
        parts = [part for part in parts if part[0] != b"IDAT"]
        parts.insert(first, (b"IDAT", packed))
        return data[:8] + b"".join(png_chunk(*part) for part in parts)
    parts, changed = _shuffled(rng, parts)
    right = rng.random() < 0.6
    return data[:8] + b"".join(
        png_chunk(kind, body, None if right or n != changed else rng.getrandbits(32))
        for n, (kind, body) in enumerate(parts)
    )


def _png_extra(rng: random.Random) -> Part:
    """Texts and profiles that unfold to much more than they are."""
    bomb = zlib.compress(b"A" * rng.choice([100, 10_000_000]))
    return rng.choice(
        [
            (b"zTXt", b"keyer\0\0" + bomb),
            (b"iTXt", b"keyer\0\1\0\0\0" + bomb),
            (b"iCCP", b"profile\0\0" + bomb),
            (b"tEXt", b"keyer\0{\x1b[31m"),
            (b"eXIf", b"MM\0*\0\0\0\x08" + rng.randbytes(20)),
            (b"tRNS", rng.randbytes(rng.choice([1, 2, 6, 256]))),
            (b"gAMA", struct.pack(">I", rng.choice(EXTREMES))),
            (b"acTL", struct.pack(">II", rng.choice(EXTREMES), 0)),
        ]
    )


def riff(rng: random.Random, data: bytes) -> bytes:
    """Chunks of a RIFF file: WAV, AVI, WebP (Multimedia Programming Interface 1.0)."""
    parts: list[Part] = []
    at = 12
    while at + 8 <= len(data):
        (size,) = struct.unpack_from("<I", data, at + 4)
        parts.append((data[at : at + 4], data[at + 8 : at + 8 + size]))
        at += 8 + size + size % 2
    parts, changed = _shuffled(rng, parts)
    body = b""
    for n, (kind, content) in enumerate(parts):
        wrong = n == changed and rng.random() < 0.3
        size = rng.choice(EXTREMES) if wrong else len(content)
        body += kind + struct.pack("<I", size) + content + b"\0" * (len(content) % 2)
    return data[:4] + struct.pack("<I", len(body) + 4) + data[8:12] + body


_BOXES = {b"moov", b"trak", b"mdia", b"minf", b"stbl", b"edts"}


def boxes(rng: random.Random, data: bytes) -> bytes:
    """Boxes of an MP4 or MOV file (ISO/IEC 14496-12), at any depth."""
    parts: list[Part] = []
    at = 0
    while at + 8 <= len(data):
        (size,) = struct.unpack_from(">I", data, at)
        if not 8 <= size <= len(data) - at:
            break
        parts.append((data[at + 4 : at + 8], data[at + 8 : at + size]))
        at += size
    if not parts:
        return hurt(rng, data)
    inner = [n for n, (kind, _) in enumerate(parts) if kind in _BOXES]
    wrong = None
    if inner and rng.random() < 0.85:
        n = rng.choice(inner)
        parts[n] = (parts[n][0], boxes(rng, parts[n][1]))
    else:
        parts, changed = _shuffled(rng, parts)
        wrong = changed if rng.random() < 0.3 else None
    return b"".join(
        struct.pack(">I", rng.choice(EXTREMES) if n == wrong else 8 + len(body)) + kind + body
        for n, (kind, body) in enumerate(parts)
    )


def jpeg(rng: random.Random, data: bytes) -> bytes:
    """Segments of a JPEG (ITU-T T.81, annex B)."""
    parts: list[Part] = []
    at = 2
    while data[at : at + 1] == b"\xff" and data[at + 1] != 0xDA:
        (size,) = struct.unpack_from(">H", data, at + 2)
        parts.append((data[at : at + 2], data[at + 4 : at + 2 + size]))
        at += 2 + size
    scan = data[at:]
    if rng.random() < 0.4:
        scan = hurt(rng, scan)
    else:
        parts, _ = _shuffled(rng, parts)
    head = b"".join(
        kind + struct.pack(">H", min(len(body) + 2, 0xFFFF)) + body for kind, body in parts
    )
    return data[:2] + head + scan


def sfnt(rng: random.Random, data: bytes) -> bytes:
    """Tables of a font (OpenType 1.9, organisation of an OpenType font)."""
    (count,) = struct.unpack_from(">H", data, 4)
    parts: list[Part] = []
    for n in range(count):
        kind, _, at, size = struct.unpack_from(">4sIII", data, 12 + 16 * n)
        parts.append((kind, data[at : at + size]))
    parts, _ = _shuffled(rng, parts)
    at = 12 + 16 * len(parts)
    head, body = data[:4] + struct.pack(">H", len(parts)) + data[6:12], b""
    for kind, content in parts:
        head += struct.pack(">4sIII", kind, 0, at + len(body), len(content))
        body += content + b"\0" * (-len(content) % 4)
    return head + body


def packed(rng: random.Random, data: bytes) -> bytes:
    """Members of a ZIP file: a workbook (ECMA-376), an approved version."""
    with zipfile.ZipFile(io.BytesIO(data)) as old:
        parts: list[Part] = [(name.encode(), old.read(name)) for name in old.namelist()]
    sheets = [n for n, (name, _) in enumerate(parts) if b"sheet1" in name or b"shared" in name]
    if sheets and rng.random() < 0.5:
        n = rng.choice(sheets)
        parts[n] = (parts[n][0], _xml(rng, parts[n][1]))
    else:
        parts, _ = _shuffled(rng, parts)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in dict(parts):
            info = zipfile.ZipInfo(name.decode("latin-1"))  # without the time of day
            new.writestr(info, dict(parts)[name])
    return out.getvalue()


def _xml(rng: random.Random, data: bytes) -> bytes:
    """Change a tag, an attribute or a text."""
    words = [b'"1"', b'"A1"', b"<v>", b"</row>", b"<c ", b't="s"', b't="n"', b"sheetData", b"<f>"]
    found = [word for word in words if word in data]
    if not found or rng.random() < 0.2:
        return hurt(rng, data)
    word = rng.choice(found)
    junk = [b"", b'"-1"', b'"99999999"', b'"XFE1"', b"&#0;", b"&a;", b"<v>1e999</v>", b't="e"']
    where = rng.randrange(data.count(word))
    pieces = data.split(word)
    left, right = word.join(pieces[: where + 1]), word.join(pieces[where + 1 :])
    return left + rng.choice(junk) + right


def _shuffled(rng: random.Random, parts: list[Part]) -> tuple[list[Part], int]:
    """Change one part; returns the parts and which one."""
    parts = list(parts)
    if not parts:
        return parts, 0
    n = rng.randrange(len(parts))
    kind, body = parts[n]
    match rng.choice(["hurt", "hurt", "hurt", "drop", "double", "swap", "empty", "name"]):
        case "hurt":
            parts[n] = (kind, hurt(rng, body))
        case "drop":
            del parts[n]
        case "double":
            parts.insert(n, parts[n])
        case "swap":
            m = rng.randrange(len(parts))
            parts[n], parts[m] = parts[m], parts[n]
        case "empty":
            parts[n] = (kind, b"")
        case "name":
            parts[n] = (hurt(rng, kind)[: len(kind)].ljust(len(kind), b"x"), body)
    return parts, n


STRUCTURES: dict[str, Callable[[random.Random, bytes], bytes]] = {
    ".png": png,
    ".webp": riff,
    ".wav": riff,
    ".avi": riff,
    ".mp4": boxes,
    ".mov": boxes,
    ".m4a": boxes,
    ".heic": boxes,
    ".avif": boxes,
    ".jpg": jpeg,
    ".otf": sfnt,
    ".xlsx": packed,
    ".zip": packed,
}


def damaged(rng: random.Random, name: str, data: bytes) -> bytes:
    """Damage a file, by its structure half of the time if it has one that is known."""
    suffix = name[name.rfind(".") :]
    if suffix in STRUCTURES and rng.random() < 0.5:
        return STRUCTURES[suffix](rng, data)
    return hurt(rng, data)
