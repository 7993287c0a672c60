"""One row rendered: the bytes of its files, and what the checks say.

Rows that differ in their titles alone share an opened scene; only the rows of
pixels that the titles touch are worked out, by the one renderer, and only
those bands are compressed anew.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from keyer.batch.bands import HeldBands, Pixels
from keyer.batch.clip_row import clip_files, part_files
from keyer.batch.job import Filled, Job
from keyer.batch.scene import Scene, title_fields
from keyer.batch.small import SmallPixels
from keyer.kinds.arrays import Planes
from keyer.kinds.verdicts import Verdict
from keyer.pixel.colour.load import to_array
from keyer.render.effect import Effect
from keyer.render.levels import Level
from keyer.render.shown_title import on_air, poses_of, shown_title
from keyer.render.sinks.pictures import cut_out, picture, rows_seen
from keyer.sheet.sheet import Overlay
from keyer.titles.checks import Reading, check_title, hardest, readings
from keyer.titles.layers import Drawn
from keyer.titles.moving import TimedTitle

KEPT_SCENES = 3


@dataclass(frozen=True)
class Made:
    """A row's files, what the checks found of them, and their small picture.

    Attributes
    ----------
    files : tuple of (suffix, bytes)
    verdicts : tuple of Verdict
    notes : tuple of str
    frame : int
        Of the sheet: the one that a still shows, and that the checks looked at.
    small : (h, w, 3) uint8 or None
        The first file's picture for a contact sheet, of stills where the job wants it.
    parts : mapping
        Frames of in, hold and out, and whether the hold loops; empty for other results.
    """

    files: tuple[tuple[str, bytes], ...]
    verdicts: tuple[Verdict, ...]
    notes: tuple[str, ...]
    frame: int
    small: SmallPixels | None = None
    parts: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class _Strip:
    """Whole bands of a still, all that its encoder does not hold."""

    encoder: HeldBands
    pixels: Pixels
    window: tuple[int, int]

    def file(self) -> bytes:
        return self.encoder.encode(self.pixels, *self.window)


class RowRenderer:
    """Renders the rows of a job, keeping scenes open from row to row."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self._scenes: OrderedDict[tuple[Any, ...], Scene] = OrderedDict()

    def render(self, cells: Mapping[str, str]) -> Made:
        """Render the picture, the pair of pictures, or the clip of one row.

        Parameters
        ----------
        cells : mapping
            Column to text.

        Raises
        ------
        KeyerError
            If the row does not hold.
        """
        filled = self.job.filled(cells)
        scene = self._scene(filled)
        for name, fields in title_fields(filled).items():
            scene.plan.retitle(name, fields)
        frame = scene.plan.frame(scene.index)
        small = None
        parts: dict[str, Any] = {}
        if self.job.stored.form == "parts":
            files, parts = part_files(scene, self.job.stored.kind)
        elif self.job.stored.form == "clip":
            files = clip_files(scene, self.job.stored.kind)
        else:
            over = self.job.stored.kind == "over"
            strips = [_over(scene, frame)] if over else _apart(scene, frame)
            files = [strip.file() for strip in strips]
            small = _small(scene, self.job, strips[0])
        named = tuple(zip(self.job.stored.suffixes, files, strict=True))
        drawn = _drawn(scene)
        return Made(named, tuple(_checked(scene, drawn)), _notes(drawn), scene.index, small, parts)

    def _scene(self, filled: Filled) -> Scene:
        key = filled.variables
        if key in self._scenes:
            self._scenes.move_to_end(key)
        else:
            self._scenes[key] = Scene(self.job, filled)
        while len(self._scenes) > KEPT_SCENES:
            self._scenes.popitem(last=False)[1].close()
        return self._scenes[key]

    def close(self) -> None:
        """Let go of every file."""
        for scene in self._scenes.values():
            scene.close()
        self._scenes.clear()


def _small(scene: Scene, job: Job, strip: _Strip) -> SmallPixels | None:
    """Make a still small for a contact sheet."""
    if not job.small:
        return None
    return scene.small(job.small).replaced(strip.pixels, strip.window[0])


def _over(scene: Scene, frame: Effect) -> _Strip:
    """Lay the titles over the picture."""
    encoder, evaluator = scene.over(), scene.plan.evaluator
    window = encoder.widened(*rows_seen(frame.only(scene.titles), evaluator))
    found = picture(frame, evaluator, scene.depth, window=window, threads=1)
    return _Strip(encoder, to_array(found), window)


def _apart(scene: Scene, frame: Effect) -> list[_Strip]:
    """Make the titles apart from the picture."""
    titles, evaluator = frame.only(scene.titles), scene.plan.evaluator
    alpha, depth = scene.stored.kind == "alpha", scene.stored.depth()
    encoder = scene.blank(4 if alpha else 3)
    window = encoder.widened(*rows_seen(titles, evaluator))
    colour, key = cut_out(titles, evaluator, window)
    if alpha:
        colour = colour * key if scene.stored.premultiplied else colour
        pixels = [codes(np.concatenate([colour, key[np.newaxis]]), depth)]
        encoders = [encoder]
    else:
        pixels = [codes(colour * key, depth), codes(key[np.newaxis], depth)[..., 0]]
        encoders = [encoder, scene.blank(1)]
    return [_Strip(packer, plane, window) for packer, plane in zip(encoders, pixels, strict=True)]


def codes(planes: Planes, depth: type[np.uint8 | np.uint16] = np.uint8) -> Pixels:
    """Round planes to whole codes, channels last.

    Parameters
    ----------
    planes : (C, H, W) float32, nominal 0..1
    depth : uint8 or uint16

    Returns
    -------
    (H, W, C) uint8 or uint16
    """
    white = np.float32(np.iinfo(depth).max)
    found = np.clip(planes * white + np.float32(0.5), 0, white).astype(depth)
    return np.ascontiguousarray(found.transpose(1, 2, 0))


@dataclass(frozen=True)
class _Shown:
    """A title on the still, where it is laid and where the picture shows it."""

    level: Level
    overlay: Overlay
    title: TimedTitle
    drawn: Drawn


def _drawn(scene: Scene) -> list[_Shown]:
    found = []
    for level, overlay, _ in scene.shown:
        title, own = level.plan(scene.plan).title(overlay.source), level.own(scene.index)
        if title is not None and overlay.seen(own):
            drawn = title.at(own - overlay.start, overlay.stop - overlay.start)
            placed = shown_title(level, drawn, poses_of(level, overlay, scene.index))
            found.append(_Shown(level, overlay, title, placed))
    return found


def _checked(scene: Scene, shown: list[_Shown]) -> list[Verdict]:
    verdicts = []
    rate = scene.sheet.format.rate
    for one in shown:
        overlay = one.overlay
        ends = overlay.enter.length, overlay.leave.length
        own = readings(one.title, overlay.stop - overlay.start, ends)
        read = [
            on_air(one.level, part, overlay.start) or Reading(part.words, 0, -1) for part in own
        ]
        reading = hardest(read, rate)
        verdicts += check_title(
            one.drawn,
            _behind(scene, one),
            safe=one.title.design.safe,
            rules=scene.sheet.title_rules,
            text=reading.words,
            on_screen=reading.seconds(rate),
        )
    return verdicts


def _behind(scene: Scene, one: _Shown) -> Planes | None:
    """Work out what lies behind a title; that of titles of the sheet itself stays the same."""
    if one.level.outer is None:
        return scene.behind()
    path = f"{one.level.sheet.prefix}overlays[{one.overlay.index}]"
    below = one.level.behind(scene.plan, scene.index, path)
    return None if below is None else picture(below, scene.plan.evaluator, np.float32).planes


def _notes(shown: list[_Shown]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(note for one in shown for note in one.drawn.notes))
