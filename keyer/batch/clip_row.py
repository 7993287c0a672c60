"""A row as a clip: the whole sheet, over its picture, as key and fill, or with alpha.

H.264 over the picture, to look at; ProRes for the edit: 4444 with alpha, 422 HQ
for key and fill.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import ExitStack

import numpy as np

from keyer.batch.scene import Scene
from keyer.batch.stored import suffixes
from keyer.kinds.picture import RgbPicture
from keyer.media.clip_write import ClipWriter
from keyer.media.codecs import CodecName
from keyer.media.unfinished import unfinished_folder
from keyer.render.sinks.pictures import cut_out

_CODECS: dict[str, CodecName] = {"over": "h264", "alpha": "prores-4444", "keyfill": "prores-hq"}


def clip_files(scene: Scene, kind: str) -> list[bytes]:
    """Render every frame of a row's sheet.

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
        _write(writers, scene, pictures)
        return [path.read_bytes() for path in paths]


def _write(
    writers: list[ClipWriter], scene: Scene, pictures: Callable[[Scene, int], list[RgbPicture]]
) -> None:
    with ExitStack() as stack:
        for writer in writers:
            stack.enter_context(writer)
        for index in range(scene.sheet.length):
            for writer, picture in zip(writers, pictures(scene, index), strict=True):
                writer.write(picture)


def _over(scene: Scene, index: int) -> list[RgbPicture]:
    return [scene.plan.picture(index, threads=1)]


def _alpha(scene: Scene, index: int) -> list[RgbPicture]:
    """Make straight colour with alpha of a premultiplied picture."""
    titles, video = scene.plan.frame(index).only(scene.titles), scene.sheet.format
    colour, key = cut_out(titles, scene.plan.evaluator, (0, video.height))
    return [RgbPicture(colour, key, video.matrix)]


def _keyfill(scene: Scene, index: int) -> list[RgbPicture]:
    """Make the two pictures for a mixer: premultiplied fill, and alpha as grey."""
    (colour,) = _alpha(scene, index)
    grey = np.repeat(np.asarray(colour.alpha)[np.newaxis], 3, axis=0)
    return [RgbPicture(colour.planes * grey, matrix=colour.matrix), RgbPicture(grey)]
