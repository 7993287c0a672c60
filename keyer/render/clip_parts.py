"""A clip in parts: each rendered by itself, anywhere, then joined without coding anything again.

A part holds the coded pictures of the whole clip from one that rests on none before it to the
next such one, without sound. Parts stand in a folder beside the clip whose name carries a digest of
all that its pictures rest on, so parts of another state of the sheet never meet.
"""

from __future__ import annotations

import hashlib
import json
import re
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, cast

import numpy as np

from keyer.errors import InputFileError, OutputError, SettingError
from keyer.media.codecs import CODECS, CodecName
from keyer.media.coded import coded_pictures
from keyer.media.files import Files
from keyer.media.unfinished import sweep
from keyer.media.write import write_bytes
from keyer.render.clip import ClipReport, ClipSound, clip_report, clip_writer, opacity_lost
from keyer.render.clip_job import ClipJob
from keyer.render.clip_pictures import clip_pictures
from keyer.render.lettering import title_parts
from keyer.render.libraries import libraries
from keyer.render.plan import Plan
from keyer.render.recipe import file_print, recipe_of, used_sources
from keyer.sheet.sheet import Sheet
from keyer.sheet.source import OtherSheet, Title
from keyer.titles.foresee import Foresight
from keyer.titles.ink import Canvas

if TYPE_CHECKING:
    from av.packet import Packet
    from av.video.stream import VideoStream

Progress = Callable[[int, int], None]

MOST = 999
_AGAIN = "Delete it, and run the same command again."
_PART = re.compile(r"part-\d{3}-of-\d{3}\.\w{3}(\.sha256)?")


@dataclass(frozen=True)
class Parts:
    """How a clip is cut.

    Attributes
    ----------
    job : ClipJob
    folder : Path
        Where the parts stand: beside the clip.
    spans : tuple of range
        Pictures of each part.
    """

    job: ClipJob
    folder: Path
    spans: tuple[range, ...]

    def path(self, number: int) -> Path:
        """Return the file of a part, counted from 1."""
        name = f"part-{number:03d}-of-{len(self.spans):03d}{self.job.output.suffix.lower()}"
        return self.folder / name

    def digest(self, number: int) -> Path:
        """Return the file with a part's SHA-256, as `sha256sum --check` reads it."""
        path = self.path(number)
        return path.with_name(f"{path.name}.sha256")

    def there(self, number: int) -> bool:
        """Whether a part is there; its digest is written last."""
        return self.path(number).is_file() and self.digest(number).is_file()

    def missing(self) -> list[int]:
        """Return the numbers of the parts that are not there."""
        return [number for number in range(1, len(self.spans) + 1) if not self.there(number)]


def cut(job: ClipJob, count: int) -> Parts:
    """Cut a clip into parts.

    Returns
    -------
    Parts
        As even as the codec allows.

    Raises
    ------
    SettingError
        If the codec cannot be cut, or there are more parts than places to cut.
    KeyerError
        If a file of the sheet cannot be read.
    """
    codec = CODECS.get(cast("CodecName", job.shape.codec))
    if codec is None or not codec.group:
        names = ", ".join(name for name, one in CODECS.items() if one.group)
        demand = f"needs a codec whose pictures stand alone ({names}), got {job.shape.codec}."
        raise SettingError(demand, "parts")
    places = -(-job.count // codec.group)
    if not 1 <= count <= min(places, MOST):
        demand = f"must be in [1, {min(places, MOST)}] for {job.count} pictures, got {count}."
        raise SettingError(demand, "parts")
    edges = [
        min(int(Fraction(places * n, count) + Fraction(1, 2)) * codec.group, job.count)
        for n in range(count + 1)
    ]
    spans = tuple(range(a, b) for a, b in pairwise(edges))
    folder = job.output.with_name(f"{job.output.name}.parts-{_key(job)[:12]}")
    return Parts(job, folder, spans)


def _key(job: ClipJob) -> str:
    """Digest all that the pictures rest on."""
    shape, recipe = job.shape, recipe_of(job.sheet)
    told = {
        "sheet": [recipe.sheet, recipe.digest],
        "files": dict(recipe.files),
        "fonts": sorted(_stepping_in(job.sheet)),
        "libraries": libraries(),
        "shape": [shape.codec, shape.width, shape.height, str(shape.rate), shape.fields],
        "frames": [job.first, job.last],
        "slate": None if job.slate is None else repr(job.slate),
        "textless": sorted(job.sheet.shown()),
    }
    text = json.dumps(told, sort_keys=True, ensure_ascii=False, default=str)
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def _stepping_in(sheet: Sheet) -> Iterator[str]:
    """Digest the system's fonts that draw what those of titles lack: other machines have others."""
    video = sheet.format
    canvas = Canvas(video.width, video.height, float(video.pixel_aspect))
    for source in used_sources(sheet):
        match source.content:
            case Title() as title:
                design, fields, _ = title_parts(title)
                foresight = Foresight(design.design, canvas, design.folder)
                yield from map(file_print, foresight.stepping_in(fields))
            case OtherSheet(sheet=other):
                yield from _stepping_in(other)


def render_part(
    parts: Parts, number: int, *, threads: int | None = None, progress: Progress | None = None
) -> tuple[str, ...]:
    """Render one part; if it is there, nothing is done.

    Parameters
    ----------
    parts : Parts
    number : int
        From 1.
    threads : int, optional
        For composing; default: every core. The result does not depend on it.
    progress : callable, optional
        Told after each picture how many of the part are done, and of how many.

    Returns
    -------
    tuple of str
        Notices.

    Raises
    ------
    KeyerError
        If it cannot be rendered or written; the other parts stay.
    """
    if not 1 <= number <= len(parts.spans):
        demand = f"must be in [1, {len(parts.spans)}], got {number}."
        raise SettingError(demand, "part")
    span, path = parts.spans[number - 1], parts.path(number)
    if parts.there(number):
        return (f"{path} is there already.",)
    files = Files(force=True)  # another machine may make the same part, of the same bytes
    files.make_folder(parts.folder)
    job = replace(parts.job, output=path, files=files, sounds=())
    try:
        with (
            Plan(job.sheet) as plan,
            clip_pictures(job, plan, span, threads) as pictures,
            clip_writer(job, deep=plan.depth is np.uint16) as writer,
        ):
            for done, picture in enumerate(pictures, 1):
                writer.write(picture)
                if progress:
                    progress(done, len(span))
        write_bytes(parts.digest(number), f"{_sha256(path)}  {path.name}\n".encode(), files)
    except BaseException:
        with suppress(OSError):
            parts.folder.rmdir()  # it goes if no other part is in it
        raise
    return tuple(plan.notices)


def join(parts: Parts) -> ClipReport:
    """Join the parts of a clip, lay its sound, and remove them.

    Raises
    ------
    OutputError
        If a part is missing, or the clip cannot be written.
    InputFileError
        If a part does not hold its pictures.
    """
    began = time.monotonic()
    job = parts.job
    if missing := parts.missing():
        numbers = ", ".join(map(str, missing))
        msg = f"parts {numbers} of {len(parts.spans)} are not in {parts.folder}. Render them first."
        raise OutputError(msg)
    sound = ClipSound(job) if job.sounds else None
    try:
        with Plan(job.sheet) as plan, clip_writer(job, deep=plan.depth is np.uint16) as writer:
            for done, packet in enumerate(_coded(parts), 1):
                writer.write_coded(packet)
                if sound:
                    writer.write_sound(sound.through(done))
            notices = (*job.notices, *opacity_lost(plan, job.shape))
        loudness = sound.loudness() if sound else None
    finally:
        if sound:
            sound.close()
    clear(parts.folder)
    return clip_report(job, loudness, time.monotonic() - began, notices)


def _coded(parts: Parts) -> Iterator[Packet[VideoStream]]:
    """Yield the coded pictures of all parts, each of which holds what it should."""
    for number, span in enumerate(parts.spans, 1):
        path, found = parts.path(number), 0
        _refuse_changed(parts, number)
        for packet in coded_pictures(path):
            found += 1
            yield packet
        if found != len(span):
            msg = f"{path} holds {found} pictures instead of {len(span)}. {_AGAIN}"
            raise InputFileError(msg)


def _refuse_changed(parts: Parts, number: int) -> None:
    """Refuse a part whose bytes are not those that were written: few codecs would notice."""
    path = parts.path(number)
    try:
        wanted = parts.digest(number).read_text("ascii", "replace").split(" ")[0]
        same = _sha256(path) == wanted
    except OSError as error:
        msg = f"{path} cannot be read: {(error.strerror or str(error)).lower()}. {_AGAIN}"
        raise InputFileError(msg) from None
    if not same:
        msg = f"{path} is damaged: it has another SHA-256. {_AGAIN}"
        raise InputFileError(msg)


def _sha256(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def render_in_parts(
    parts: Parts, *, threads: int | None = None, progress: Progress | None = None
) -> ClipReport:
    """Render the parts that are missing, one after the other, and join all.

    Parameters
    ----------
    parts : Parts
    threads, progress
        As in `keyer.render.clip.render_clip`; told of the pictures that are coded.

    Raises
    ------
    KeyerError
        Finished parts stay, and are taken by the next run.
    """
    began = time.monotonic()
    missing = parts.missing()
    done = parts.job.count - sum(len(parts.spans[number - 1]) for number in missing)
    notices: dict[str, None] = {}
    for number in missing:
        before = done

        def told(pictures: int, _: int, before: int = before) -> None:
            if progress:
                progress(before + pictures, parts.job.count)

        notices |= dict.fromkeys(render_part(parts, number, threads=threads, progress=told))
        done += len(parts.spans[number - 1])
    report = join(parts)
    seconds = time.monotonic() - began
    return replace(report, seconds=seconds, notices=(*notices, *report.notices))


def clear(folder: Path) -> None:
    """Remove a folder of parts with what is ours in it; what is not stays."""
    with suppress(OSError):
        sweep(folder)
        for path in folder.iterdir():
            if _PART.fullmatch(path.name):
                path.unlink()
        folder.rmdir()


def others(parts: Parts) -> list[Path]:
    """Find folders with parts of the same clip from another state of its sheet."""
    output = parts.job.output
    name = re.compile(re.escape(output.name) + r"\.parts-[0-9a-f]{12}")
    with suppress(OSError):
        found = (path for path in output.parent.iterdir() if name.fullmatch(path.name))
        return sorted(path for path in found if path != parts.folder)
    return []
