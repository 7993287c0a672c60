"""What a decoder and the check sums say of a damaged picture or clip, and what `keyer` shows.

A picture that differs from the good one while damage was reported is a wrong
picture shown in silence. Damage that no decoder can notice is nobody's fault.
"""

import hashlib
import struct
import zlib
from contextlib import suppress
from pathlib import Path

import av
import numpy as np

from keyer.errors import KeyerError
from keyer.kinds.picture import Picture

Shown = list[tuple[int, bytes]]
"""Number and digest of pictures."""


def content(picture: Picture) -> bytes:
    """Digest of a picture's planes."""
    digest = hashlib.sha256()
    for name in ("planes", "luma", "cb", "cr", "alpha"):
        part = getattr(picture, name, None)
        if part is not None:
            digest.update(np.ascontiguousarray(part).tobytes())
    return digest.digest()


def shown(path: Path, order: str) -> Shown:
    """Read a source as `keyer` does: on and on, or back and forth."""
    from keyer.media.source import open_source

    found: Shown = []
    with suppress(KeyerError):
        source = open_source(path)
        try:
            count = source.props.frames or 1
            indices = list(range(min(count, 40)))
            for index in indices if order == "on" else [*indices[::-3], *indices[::2]]:
                try:
                    found.append((index, content(source.read(index))))
                except KeyerError:
                    if order == "on":
                        break
        finally:
            source.close()
    return found


def png_report(data: bytes) -> str:
    """Check the sums of a PNG (PNG 3rd edition, 5.3 and 10.1); empty if all are right."""
    at, rows, kinds = 8, b"", []
    while at + 12 <= len(data):
        (size,) = struct.unpack_from(">I", data, at)
        kind, body = data[at + 4 : at + 8], data[at + 8 : at + 8 + size]
        if at + 12 + size > len(data):
            return "a chunk breaks off"
        (crc,) = struct.unpack_from(">I", data, at + 8 + size)
        shows = not kind[:1].islower() or kind == b"tRNS"
        if shows and crc != zlib.crc32(kind + body):
            return f"check sum of {kind!r}"
        rows += body if kind == b"IDAT" else b""
        kinds.append(kind)
        at += 12 + size
        if kind == b"IEND":
            break
    if kinds[-1:] != [b"IEND"]:
        return "no end"
    unpacker, size = zlib.decompressobj(), 0
    try:
        for n in range(len(rows)):
            size += len(unpacker.decompress(rows[n : n + 1]))
    except zlib.error as error:
        # whoever has all rows of the picture reads no further, and comes to no sum at the end
        return "" if size > _sample_bytes(data) else str(error)
    return "" if unpacker.eof else "samples end too soon"


def _sample_bytes(data: bytes) -> int:
    """Bytes of the rows of a PNG, each behind its filter's (PNG 3rd edition, 7.2 and 9.1)."""
    width, height, bits, colour = struct.unpack_from(">IIBB", data, 16)
    channels = {2: 3, 4: 2, 6: 4}.get(colour, 1)
    return int(height * (1 + (width * bits * channels + 7) // 8))


def decoder_report(path: Path) -> tuple[str, set[bytes]]:
    """Decode a file alone in one thread, and listen.

    Returns
    -------
    str
        The first thing that the decoder says is wrong, or empty.
    set of bytes
        Digests of the pictures that rest on what was reported, or that the decoder marks as
        corrupt itself: from there to the next picture that can be decoded alone.
    """
    from keyer.media.frames import picture_of, read_tags

    said, wrong, right = "", set(), set()
    level = av.logging.get_level()
    av.logging.set_level(av.logging.ERROR)
    av.logging.set_skip_repeated(False)
    try:
        with av.logging.Capture() as log, av.open(f"file:{path}") as container:
            stream = container.streams.video[0]
            stream.codec_context.thread_count = 1
            stream.codec_context.options = {"err_detect": "crccheck"}
            heard = len(log)
            tainted: set[int | None] = set()
            bad = shaken = False
            for packet in container.demux(stream):
                if packet.is_keyframe:
                    bad = False
                frames, error = [], ""
                try:
                    frames = packet.decode()
                except av.error.FFmpegError as failure:
                    error = str(failure)
                if error or len(log) > heard:
                    said = said or error or log[heard][2]
                    bad, heard = True, len(log)
                if bad:
                    tainted.add(packet.pts)
                for frame in frames:
                    # A frame comes out some packets after its own, so its mark says nothing of
                    # this packet: what it casts doubt on is itself, and those shown after it.
                    shaken = frame.is_corrupt or (shaken and not frame.key_frame)
                    said = said or ("a frame is marked as corrupt" if frame.is_corrupt else "")
                    with suppress(KeyerError):
                        tags = read_tags(path.name, stream.codec_context, frame)
                        found = content(picture_of(frame, tags))
                        (wrong if shaken or frame.pts in tainted else right).add(found)
    except (av.error.FFmpegError, OSError, ValueError, IndexError) as error:
        said = said or str(error)
    finally:
        av.logging.set_level(level)
    return said, wrong - right


def silent(damaged: Path, good: Path) -> str:
    """Say what wrong picture is shown though its damage is reported; empty if none is."""
    if good.suffix in {".jpg", ".tif", ".webp", ".heic", ".avif"}:
        return ""  # their formats have no check sums
    known = {found for _, found in shown(good, "on")}
    for order in ("on", "back and forth"):
        strange = [(n, found) for n, found in shown(damaged, order) if found not in known]
        if not strange:
            continue
        if good.suffix == ".png":
            report, wrong = png_report(damaged.read_bytes()), {found for _, found in strange}
        else:
            report, wrong = decoder_report(damaged)
        if report:
            for n, found in strange:
                if found in wrong:
                    why = " ".join(report.split())
                    return f"picture {n}, read {order}, is wrong in silence: {why}"
    return ""
