"""A sheet as a clip: sources decoded, frames composed and pictures coded, all at once.

Three stages, each in a thread of its own, hand frames on through queues of two:
what is held does not grow with the length of the clip.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import cast

import numpy as np

from keyer.errors import SettingError, TimeError
from keyer.kinds.arrays import Floats
from keyer.kinds.picture import Matrix, Picture, RgbPicture, YccPicture
from keyer.kinds.timing import frames_per_day, timecode
from keyer.media.animated import ANIMATED, AnimatedWriter
from keyer.media.clip_write import ClipWriter
from keyer.media.codecs import CODECS, CodecName
from keyer.media.files import Files, PathLike
from keyer.media.loudness import Loudness, LoudnessMeter
from keyer.media.sound import to_samples
from keyer.media.stretch import Stretch
from keyer.pixel.colour.encode_ycc import empty_ycc, encode
from keyer.pixel.compose.fit import resample
from keyer.pixel.compose.weave import FieldOrder, weave
from keyer.render.ahead import Ahead
from keyer.render.clip_shape import Shape, clip_shape
from keyer.render.evaluate import Ready
from keyer.render.graph import Node
from keyer.render.inputs import sheet_inputs
from keyer.render.plan import Plan
from keyer.render.sinks.coded import coded
from keyer.render.sinks.pictures import picture
from keyer.render.slate import Slate, slate_of, slate_pictures
from keyer.render.sound import SheetMix, duck_words, sheet_sound
from keyer.sheet.sheet import Sheet
from keyer.sheet.source import Clear
from keyer.sheet.textless import textless as without_text

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


def picture_for(
    plan: Plan, shape: Shape, node: Node, ready: Ready | None = None, threads: int | None = None
) -> Picture:
    """Work a frame out as the picture that the codec takes.

    Parameters
    ----------
    plan : Plan
    shape : Shape
    node : Node
        From `plan.frame`.
    ready : Ready, optional
        What is prepared already.
    threads : int, optional
        The result does not depend on it.

    Returns
    -------
    RgbPicture or YccPicture
    """
    video, evaluator = plan.sheet.format, plan.evaluator
    codec = CODECS.get(cast("CodecName", shape.codec))
    scaled = (shape.width, shape.height) != (video.width, video.height)
    if codec is not None and codec.sampling is not None and not codec.alpha and not scaled:
        out = empty_ycc(
            shape.width,
            shape.height,
            sampling=codec.sampling,
            bits=codec.bits,
            matrix=video.matrix,
        )
        coded(node, evaluator, out, threads=threads, ready=ready)
        return out
    alpha = codec is not None and codec.alpha
    exact = alpha or scaled or (codec is not None and codec.sampling is not None)
    depth = np.float32 if exact else plan.depth
    found = picture(node, evaluator, depth, alpha=alpha, threads=threads, ready=ready)
    return resample(found, shape.width, shape.height) if scaled else found


def _pictures(
    frames: Iterable[tuple[Node, Ready]], make: Callable[[Node, Ready], Picture]
) -> Iterator[Picture]:
    """Work frames out; what stays as it was is not worked out again."""
    before: bytes | None = None
    made: Picture | None = None
    for node, ready in frames:
        if made is None or node.signature != before:
            made, before = make(node, ready), node.signature
        yield made


def _slated(slate: Slate, shape: Shape, matrix: Matrix) -> Iterator[Picture]:
    """Give the pictures of a slate as the codec takes them, in the size of the clip."""
    codec = CODECS[cast("CodecName", shape.codec)]
    drawn: RgbPicture | None = None
    made: Picture | None = None
    for one in slate_pictures(slate):
        if made is None or one is not drawn:
            drawn, made = one, resample(one, shape.width, shape.height)
            if codec.sampling is not None:
                made = encode(
                    made, sampling=codec.sampling, bits=codec.bits, matrix=matrix, alpha=codec.alpha
                )
        yield made


def _woven(pictures: Iterable[Picture], order: FieldOrder) -> Iterator[Picture]:
    """Weave each two pictures into the fields of one; codecs that hold fields take coded planes."""
    two = cast("Iterator[YccPicture]", iter(pictures))
    for earlier, later in zip(two, two, strict=True):
        yield earlier if earlier is later else weave(earlier, later, order)


def _writer(
    sheet: Sheet,
    shape: Shape,
    output: Path,
    files: Files,
    *,
    deep: bool,
    first: int,
    sound: bool,
) -> ClipWriter | AnimatedWriter:
    if shape.codec in ANIMATED:
        return AnimatedWriter(output, shape.width, shape.height, shape.rate, files)
    return ClipWriter(
        output,
        shape.width,
        shape.height,
        shape.rate,
        codec=cast("CodecName", shape.codec),
        pixel_aspect=shape.pixel_aspect,
        matrix=sheet.format.matrix,
        deep=deep,
        timecode=_timecode(sheet, shape, first),
        sound=sound,
        fields=shape.fields,
        files=files,
    )


class _Sound:
    """The mix, read in step with the pictures and measured as it passes."""

    def __init__(self, stretches: list[Stretch], sheet: Sheet, first: int, led: int) -> None:
        self.began, self.rate, self.silent = first - led, sheet.format.rate, 0
        self.mix = SheetMix(sheet, stretches, to_samples(first, sheet.format.rate))
        self.meter = LoudnessMeter()

    def silence(self, frame: int) -> Floats:
        """Return the silence up to a frame before the first; the meter does not hear it."""
        end = to_samples(frame - self.began, self.rate)
        block = np.zeros((2, end - self.silent), np.float32)
        self.silent = end
        return block

    def until(self, frame: int) -> Floats:
        """Return the samples up to the beginning of a frame."""
        block = self.mix.until(frame)
        self.meter.hear(block)
        return block


def _span(sheet: Sheet, start: str | float | None, end: str | float | None) -> tuple[int, int]:
    first = 0 if start is None else sheet.frame(start, "from")
    last = sheet.length if end is None else sheet.frame(end, "to", end=True)
    if last <= first:
        msg = f"to must come after from, got frames {first} and {last}."
        raise TimeError(msg)
    return first, last


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
    began = time.monotonic()
    output = Path(output)
    files = Files(sheet_inputs(sheet), force=force)
    bare: tuple[str, ...] = ()
    if textless:
        sheet, bare = without_text(sheet)
    shape = clip_shape(
        sheet.format, output, codec, scale, clear=_of_nothing(sheet), interlace=interlace
    )
    first, last = _span(sheet, start, end)
    if shape.fields is not None:
        _even(sheet, first, last)
    files.write(output)
    stretches, notices = sheet_sound(sheet)
    notices += duck_words(sheet, stretches)
    numbers = range(first, last, 1 if shape.fields else shape.step)
    ahead = slate_of(sheet, first, last, textless=textless) if slate else None
    if ahead is not None and shape.codec in ANIMATED:
        demand = f"stands before clips, and {shape.codec} plays in a loop. Leave it out."
        raise SettingError(demand, "slate")
    led = 0 if ahead is None else ahead.frames
    count = len(range(first - led, last, shape.step))
    if stretches and shape.codec in ANIMATED:
        notices, stretches = [f"{shape.codec} holds no sound; it is left out."], []
    with ExitStack() as stack:
        plan = stack.enter_context(Plan(sheet))
        sound = _Sound(stretches, sheet, first, led) if stretches else None
        if sound:
            stack.callback(sound.mix.close)

        def make(node: Node, ready: Ready) -> Picture:
            return picture_for(plan, shape, node, ready, threads)

        frames = stack.enter_context(Ahead(plan.fetched(numbers)))
        made = _pictures(frames, make)
        if ahead is not None:
            made = chain(_slated(ahead, shape, sheet.format.matrix), made)
        pictures = stack.enter_context(
            Ahead(made if shape.fields is None else _woven(made, shape.fields))
        )
        deep = plan.depth is np.uint16
        writer = _writer(
            sheet, shape, output, files, deep=deep, first=first - led, sound=bool(sound)
        )
        stack.enter_context(writer)
        for done, picture in enumerate(pictures, 1):
            writer.write(picture)
            if sound and isinstance(writer, ClipWriter):
                heard = first - led + done * shape.step
                writer.write_sound(
                    sound.silence(heard) if heard <= first else sound.until(min(heard, last))
                )
            if progress:
                progress(done, count)
        loudness = sound.meter.result() if sound else None
        notices = [*plan.notices, *notices, *_opacity_lost(plan, shape), *_too_loud(loudness)]
        notices += [f"left out: {', '.join(bare)}."] if bare else []
    return ClipReport(
        output,
        shape,
        count,
        _timecode(sheet, shape, first - led),
        loudness,
        time.monotonic() - began,
        tuple(notices),
    )


def _even(sheet: Sheet, first: int, last: int) -> None:
    """See that frames can be taken two by two, the first of them on a whole timecode."""
    if (last - first) % 2 or (first + sheet.start) % 2:
        msg = (
            "interlace needs an even first frame and an even number of frames, got frames "
            f"{first} to {last}. Move from or to by a frame."
        )
        raise TimeError(msg)


def _timecode(sheet: Sheet, shape: Shape, first: int) -> str:
    """Timecode of the first picture; interlaced ones are counted at their own rate.

    A slate before midnight stands in the day before.
    """
    if shape.fields is None:
        day, drop = frames_per_day(sheet.format.rate, drop=sheet.drop), sheet.drop
        return timecode((first + sheet.start) % day, sheet.format.rate, drop=drop)
    day = frames_per_day(shape.rate, drop=sheet.drop)
    return timecode((first + sheet.start) // 2 % day, shape.rate, drop=sheet.drop)


def _of_nothing(sheet: Sheet) -> bool:
    shown = (sheet.sources[cue.source] for cue in sheet.cues if cue.source is not None)
    return any(isinstance(source.content, Clear) for source in shown)


def _opacity_lost(plan: Plan, shape: Shape) -> Iterator[str]:
    """Say that a base is clear in places, and the codec cannot keep it."""
    codec = CODECS.get(cast("CodecName", shape.codec))
    names = [] if codec is not None and codec.alpha else plan.cues.clear_grounds(plan.evaluator)
    if names:
        yield (
            f"{', '.join(names)}: clear in places, and {shape.codec} keeps no opacity; it lies over"
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
