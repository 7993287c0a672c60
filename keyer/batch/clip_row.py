"""A row as a clip, over its picture, as key and fill, or with alpha: the sheet, or its parts.

H.264 over the picture, to look at; ProRes for the edit: 4444 with alpha, 422 HQ
for key and fill.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import ExitStack
from typing import Any

import numpy as np

from keyer.batch.parts import CLEAR, parts_of
from keyer.batch.scene import Scene
from keyer.batch.stored import PARTS, suffixes
from keyer.kinds.picture import RgbPicture
from keyer.media.clip_write import ClipWriter
from keyer.media.codecs import CodecName
from keyer.media.unfinished import unfinished_folder
from keyer.render.sinks.pictures import cut_out

_CODECS: dict[str, CodecName] = {"over": "h264", "alpha": "prores-4444", "keyfill": "prores-hq"}


def clip_files(scene: Scene, kind: str) -> list[bytes]:
    """Return a row's clip: every frame of its sheet, as the kind of batch asks.

    Parameters
    ----------
    scene : Scene
        With the row's titles.
    kind : {"over", "alpha", "keyfill"}

    Returns
    -------
    list of bytes
        A clip for each of the kind's suffixes.

    Raises
    ------
    OutputError
        If a clip cannot be written.
    """
    return _clips(scene, kind, range(scene.sheet.length))


def part_files(scene: Scene, kind: str) -> tuple[list[bytes], dict[str, Any]]:
    """Render a row's titles as in, hold and out.

    Parameters
    ----------
    scene : Scene
        With the row's titles.
    kind : {"alpha", "keyfill"}

    Returns
    -------
    files : list of bytes
        For each part a clip for each of the kind's suffixes.
    told : dict
        Frames of each part; "loops": whether the hold is one picture that may be shown for as
        long as one likes, a second of it here; else it moves, and is whole.

    Raises
    ------
    OutputError
        If a clip cannot be written.
    """
    parts = parts_of(scene.sheet)
    states = {scene.plan.frame(n).only(scene.titles).signature for n in parts.staying}
    second = round(scene.sheet.format.rate)
    staying = parts.staying[:1] * second if len(states) == 1 else parts.staying
    shown = dict(zip(PARTS, (parts.coming, staying, parts.going), strict=True))
    told: dict[str, Any] = {name[1:]: len(frames) for name, frames in shown.items()}
    files = [data for frames in shown.values() for data in _clips(scene, kind, frames)]
    return files, {**told, "loops": len(states) == 1}


def _clips(scene: Scene, kind: str, frames: Sequence[int]) -> list[bytes]:
    pictures = {"over": _over, "alpha": _alpha, "keyfill": _keyfill}[kind]
    video = scene.sheet.format
    with unfinished_folder() as folder:
        paths = [folder / f"row{suffix}" for suffix in suffixes("clip", kind)]
        writers = [
            ClipWriter(
                path,
                video.width,
                video.height,
                video.rate,
                codec=_CODECS[kind],
                pixel_aspect=video.pixel_aspect,
                matrix=video.matrix,
            )
            for path in paths
        ]
        with ExitStack() as stack:
            for writer in writers:
                stack.enter_context(writer)
            last, found = None, []
            for index in frames:
                if index != last:  # a hold is one picture
                    found = pictures(scene, index)
                last = index
                for writer, picture in zip(writers, found, strict=True):
                    writer.write(picture)
        return [path.read_bytes() for path in paths]


def _over(scene: Scene, index: int) -> list[RgbPicture]:
    return [scene.plan.picture(index, threads=1)]


def _alpha(scene: Scene, index: int) -> list[RgbPicture]:
    """Make straight colour with alpha of a premultiplied picture."""
    video = scene.sheet.format
    if index == CLEAR:
        size = video.height, video.width
        nothing = np.zeros((3, *size), np.float32), np.zeros(size, np.float32)
        return [RgbPicture(*nothing, video.matrix)]
    titles = scene.plan.frame(index).only(scene.titles)
    colour, key = cut_out(titles, scene.plan.evaluator, (0, video.height))
    return [RgbPicture(colour, key, video.matrix)]


def _keyfill(scene: Scene, index: int) -> list[RgbPicture]:
    """Make the two pictures for a mixer: premultiplied fill, and alpha as grey."""
    (colour,) = _alpha(scene, index)
    grey = np.repeat(np.asarray(colour.alpha)[np.newaxis], 3, axis=0)
    return [RgbPicture(colour.planes * grey, matrix=colour.matrix), RgbPicture(grey)]
