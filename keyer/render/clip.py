"""A sheet as a clip: sources decoded, frames composed and pictures coded, all at once.

Three stages, each in a thread of its own, hand frames on through queues of two:
what is held does not grow with the length of the clip.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import cast

import numpy as np

from keyer.kinds.arrays import Floats
from keyer.media.animated import ANIMATED, AnimatedWriter
from keyer.media.clip_write import ClipWriter
from keyer.media.codecs import CODECS, CodecName
from keyer.media.files import PathLike
from keyer.media.loudness import Loudness, LoudnessMeter
from keyer.media.sound import to_samples
from keyer.render.clip_job import ClipJob, clip_job
from keyer.render.clip_pictures import clip_pictures
from keyer.render.clip_shape import Shape
from keyer.render.plan import Plan
from keyer.render.sound import SheetMix
from keyer.sheet.sheet import Sheet

Progress = Callable[[int, int], None]


@dataclass(frozen=True)
class ClipReport:
    """What `render_clip` wrote: frames, codec, sound and notices.

    Attributes
    ----------
    output : Path
    shape : Shape
    frames : int
    timecode : str
        Of the first picture.
    loudness : Loudness or None
        Of the sound; None without any.
    seconds : float
        That it took.
    notices : tuple of str
    """

    output: Path
    shape: Shape
    frames: int
    timecode: str
    loudness: Loudness | None
    seconds: float
    notices: tuple[str, ...]


def clip_writer(job: ClipJob, *, deep: bool) -> ClipWriter:
    """Begin the file of a clip that is no animated picture.

    Parameters
    ----------
    job : ClipJob
    deep : bool
        Whether a codec without loss keeps 16 bits instead of 8.
    """
    shape = job.shape
    return ClipWriter(
        job.output,
        shape.width,
        shape.height,
        shape.rate,
        codec=cast("CodecName", shape.codec),
        pixel_aspect=shape.pixel_aspect,
        matrix=job.sheet.format.matrix,
        deep=deep,
        timecode=job.timecode,
        sound=bool(job.sounds),
        fields=shape.fields,
        files=job.files,
    )


def _writer(job: ClipJob, *, deep: bool) -> ClipWriter | AnimatedWriter:
    shape = job.shape
    if shape.codec in ANIMATED:
        return AnimatedWriter(job.output, shape.width, shape.height, shape.rate, job.files)
    return clip_writer(job, deep=deep)


class ClipSound:
    """The mix of a clip, read in step with its pictures and measured as it passes."""

    def __init__(self, job: ClipJob) -> None:
        self._job, self._silent = job, 0
        self._rate = job.sheet.format.rate
        self._mix = SheetMix(job.sheet, list(job.sounds), to_samples(job.first, self._rate))
        self._meter = LoudnessMeter()

    def through(self, pictures: int) -> Floats:
        """Return the samples up to the end of so many pictures, from where the last ones ended.

        Returns
        -------
        (2, n) float32
            Silence under a slate, which the meter does not hear.
        """
        job = self._job
        frame = job.first - job.led + pictures * job.shape.step
        if frame <= job.first:
            end = to_samples(frame - job.first + job.led, self._rate)
            block = np.zeros((2, end - self._silent), np.float32)
            self._silent = end
            return block
        block = self._mix.until(min(frame, job.last))
        self._meter.hear(block)
        return block

    def loudness(self) -> Loudness:
        """How loud it was."""
        return self._meter.result()

    def close(self) -> None:
        """Let go of every file."""
        self._mix.close()


def render_clip(
    sheet: Sheet,
    output: PathLike,
    *,
    codec: str | None = None,
    start: str | float | None = None,
    end: str | float | None = None,
    scale: float | None = None,
    interlace: bool = False,
    slate: bool = False,
    textless: bool = False,
    force: bool = False,
    threads: int | None = None,
    progress: Progress | None = None,
) -> ClipReport:
    """Render a sheet, or a part of it, as a clip.

    Parameters
    ----------
    sheet : Sheet
    output : path
        Ends in .mp4, .mov, .mkv, .mxf, .gif or .webp. Written whole or not at all.
    codec : str, optional
        One of `keyer.media.codecs.CODECS`, `gif` or `webp`; default: the usual one
        of the file's kind (`keyer.render.clip_shape.USUAL`).
    start, end : str, int or float, optional
        Times in the sheet; `end` is the first frame no longer rendered.
    scale : float, optional
        Percent of the sheet's size.
    interlace : bool
        Weave each two frames into the fields of one picture, at half the rate.
    slate : bool
        Put a slate with a clock before it, of `keyer.render.slate.SECONDS`; sound
        is silent there.
    textless : bool
        Leave the titles out.
    force : bool
        Overwrite the output.
    threads : int, optional
        For composing; default: every core. The result does not depend on it.
    progress : callable, optional
        Told after each picture how many are done, and of how many.

    Returns
    -------
    ClipReport

    Raises
    ------
    SheetError, InputFileError, TimeError, SettingError, NoBackingError, OutputError
    """
    job = clip_job(
        sheet,
        output,
        codec=codec,
        start=start,
        end=end,
        scale=scale,
        interlace=interlace,
        slate=slate,
        textless=textless,
        force=force,
    )
    return render_job(job, threads=threads, progress=progress)


def render_job(
    job: ClipJob, *, threads: int | None = None, progress: Progress | None = None
) -> ClipReport:
    """Render what is settled already.

    Parameters
    ----------
    job : ClipJob
    threads, progress
        As in `render_clip`.

    Raises
    ------
    SheetError, InputFileError, SettingError, NoBackingError, OutputError
    """
    began = time.monotonic()
    with ExitStack() as stack:
        plan = stack.enter_context(Plan(job.sheet))
        sound = ClipSound(job) if job.sounds else None
        if sound:
            stack.callback(sound.close)
        pictures = stack.enter_context(clip_pictures(job, plan, threads=threads))
        writer = _writer(job, deep=plan.depth is np.uint16)
        stack.enter_context(writer)
        for done, picture in enumerate(pictures, 1):
            writer.write(picture)
            if sound and isinstance(writer, ClipWriter):
                writer.write_sound(sound.through(done))
            if progress:
                progress(done, job.count)
        loudness = sound.loudness() if sound else None
        notices = (*plan.notices, *job.notices, *opacity_lost(plan, job.shape))
    return clip_report(job, loudness, time.monotonic() - began, notices)


def clip_report(
    job: ClipJob, loudness: Loudness | None, seconds: float, notices: Iterable[str]
) -> ClipReport:
    """Report a clip that was made.

    Parameters
    ----------
    job : ClipJob
    loudness : Loudness or None
    seconds : float
        That it took.
    notices : iterable of str
    """
    told = (*notices, *_too_loud(loudness))
    return ClipReport(job.output, job.shape, job.count, job.timecode, loudness, seconds, told)


def opacity_lost(plan: Plan, shape: Shape) -> Iterator[str]:
    """Say that a base is clear in places, and the codec cannot keep it."""
    codec = CODECS.get(cast("CodecName", shape.codec))
    names = [] if codec is not None and codec.alpha else plan.cues.clear_grounds(plan.evaluator)
    if names:
        yield (
            f"{', '.join(names)}: clear in places, and {shape.codec} keeps no alpha; it lies over"
            " black. A .mov of prores-4444 keeps it."
        )


def _too_loud(loudness: Loudness | None) -> list[str]:
    peak = loudness.true_peak_dbtp if loudness else None
    if peak is None or peak <= 0:
        return []
    notice = (
        f"the sound peaks at {peak:+.1f} dBTP, above full scale, and will be distorted. "
        f"Set its level {peak + 1:.0f} dB lower; EBU R 128 allows -1 dBTP."
    )
    return [notice]
