"""The pictures of a clip as its codec takes them: drawn, scaled, woven; a slate before them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, contextmanager
from itertools import chain, islice
from typing import cast

import numpy as np

from keyer.kinds.picture import Matrix, Picture, RgbPicture, YccPicture
from keyer.media.codecs import CODECS, CodecName
from keyer.pixel.colour.encode_ycc import empty_ycc, encode
from keyer.pixel.compose.fit import resample
from keyer.pixel.compose.weave import FieldOrder, weave
from keyer.render.ahead import Ahead
from keyer.render.clip_job import ClipJob
from keyer.render.clip_shape import Shape
from keyer.render.evaluate import Ready
from keyer.render.graph import Node
from keyer.render.plan import Plan
from keyer.render.sinks.coded import coded
from keyer.render.sinks.pictures import picture
from keyer.render.slate import Slate, slate_pictures


@contextmanager
def clip_pictures(
    job: ClipJob, plan: Plan, span: range | None = None, threads: int | None = None
) -> Iterator[Iterator[Picture]]:
    """Work out the pictures of a clip, in threads of their own.

    Parameters
    ----------
    job : ClipJob
    plan : Plan
        Of its sheet.
    span : range, optional
        Which of its pictures; default: all of them.
    threads : int, optional
        For composing; default: every core. The result does not depend on it.
    """
    span = range(job.count) if span is None else span
    each = 1 if job.shape.fields is None else 2  # frames that make a picture
    begin, end = span.start * each, span.stop * each
    numbers = job.numbers[max(begin - job.led, 0) : max(end - job.led, 0)]

    def make(node: Node, ready: Ready) -> Picture:
        return picture_for(plan, job.shape, node, ready, threads)

    with ExitStack() as stack:
        frames = stack.enter_context(Ahead(plan.fetched(numbers)))
        made = _pictures(frames, make)
        if job.slate is not None and begin < job.led:
            slate = _slated(job.slate, job.shape, job.sheet.format.matrix)
            made = chain(islice(slate, begin, min(end, job.led)), made)
        fields = job.shape.fields
        yield stack.enter_context(Ahead(made if fields is None else _woven(made, fields)))


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
