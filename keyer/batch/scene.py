"""What stays the same from row to row: the sheet opened, its picture without titles."""

from __future__ import annotations

import dataclasses

import numpy as np

from keyer.batch.bands import HeldBands
from keyer.batch.job import Filled, Job, sheet_titles, titles_over
from keyer.batch.parts import parts_of
from keyer.batch.small import Shrink, SmallPictures
from keyer.errors import SettingError
from keyer.kinds.arrays import Planes
from keyer.kinds.picture import RgbPicture
from keyer.pixel.colour.load import load, to_array
from keyer.render.lettering import passes, settled
from keyer.render.plan import Plan
from keyer.render.session import Session
from keyer.render.sinks.pictures import picture
from keyer.sheet.load import load_sheet
from keyer.sheet.sheet import Sheet

_CACHE_BYTES = 96 << 20
"""Kept by each of the processes that work side by side."""


def filled_sheet(job: Job, filled: Filled) -> Sheet:
    """Read a job's sheet with a row's variables and the values of its titles.

    Raises
    ------
    SheetError, InputFileError
        If the sheet does not hold with these variables.
    """
    sheet = load_sheet(job.path, variables=dict(filled.variables))
    sources = dict(sheet.sources)
    for name, fields in filled.fields:
        content = dataclasses.replace(sheet_titles(sheet)[name], fields=fields)
        sources[name] = dataclasses.replace(sources[name], content=content)
    return dataclasses.replace(sheet, sources=sources)


def without_titles(sheet: Sheet) -> Sheet:
    """Return a sheet without its titles: neither their overlays nor their sources."""
    names = sheet_titles(sheet)
    over = {top.index for _, _, top in titles_over(sheet)}
    overlays = tuple(o for o in sheet.overlays if o.index not in over)
    sources = {name: source for name, source in sheet.sources.items() if name not in names}
    return dataclasses.replace(sheet, overlays=overlays, sources=sources)


def still_frame(job: Job, sheet: Sheet) -> int:
    """Return the frame of the sheet that a row's still shows.

    Returns
    -------
    int
        The frame asked for, or the first on which the last title is fully in, of one that
        crawls or rolls the middle of its time.

    Raises
    ------
    TimeError
        If it lies outside the sheet.
    """
    if job.at is not None:
        return sheet.frame(job.at)
    starts: list[int] = []
    for level, overlay, _ in titles_over(sheet):
        first, stop = settled(level.sheet, overlay)
        if passes(level.sheet, overlay):
            first = (first + stop) // 2
        starts += [first] if level.outer is None else level.frames(first, stop - 1, whole=True)[:1]
    return min(max(starts, default=0), sheet.length - 1)


class Scene:
    """A sheet opened for rows that differ in their titles alone.

    Parameters
    ----------
    job : Job
    filled : Filled
        Of the first such row.

    Raises
    ------
    KeyerError
        If the sheet, a file or a title does not hold.
    """

    def __init__(self, job: Job, filled: Filled) -> None:
        self.stored = job.stored
        self.sheet = filled_sheet(job, filled)
        self.coding = job.stored.coding(self.sheet.format.pixel_aspect)
        self._session = Session(_CACHE_BYTES)
        self.plan = Plan(self.sheet, self._session)
        self.index = still_frame(job, self.sheet)
        self.depth = job.stored.depth(self.plan.depth)
        """Of finished pictures."""
        self.shown = list(titles_over(self.sheet))
        """What shows titles: level, overlay in it, overlay of the sheet."""
        self._over: HeldBands | None = None
        self._behind: Planes | None = None
        self._bare: RgbPicture | None = None
        self._blank: dict[int, HeldBands] = {}
        self._small: SmallPictures | None = None
        self.titles = {f"overlays[{top.index}]" for _, _, top in self.shown}

    def bare(self) -> RgbPicture:
        """Work out the picture without its titles, once."""
        if self._bare is None:
            frame = self.plan.frame(self.index).without(self.titles)
            self._bare = picture(frame, self.plan.evaluator, self.depth, threads=1)
        return self._bare

    def behind(self) -> Planes:
        """R'G'B' of the picture without its titles, for the measures."""
        if self._behind is None:
            self._behind = load(self.bare())
        return self._behind

    def over(self) -> HeldBands:
        """Hold the encoder of full pictures."""
        if self._over is None:
            self._over = HeldBands(to_array(self.bare()), self.coding)
        return self._over

    def blank(self, channels: int) -> HeldBands:
        """Hold the encoder of pictures that are clear but for the titles."""
        if channels not in self._blank:
            video = self.sheet.format
            shape = (video.height, video.width, channels)[: 2 if channels == 1 else 3]
            self._blank[channels] = HeldBands(np.zeros(shape, self.stored.depth()), self.coding)
        return self._blank[channels]

    def small(self, largest: int) -> SmallPictures:
        """Hold the small form of what all rows' first files share."""
        if self._small is None:
            video, kind = self.sheet.format, self.stored.kind
            shape = (video.height, video.width, 4 if kind == "alpha" else 3)
            bare = to_array(self.bare()) if kind == "over" else np.zeros(shape, np.uint8)
            shrink = Shrink(
                video.height,
                video.width,
                float(video.pixel_aspect),
                largest,
                premultiplied=self.stored.premultiplied,
            )
            self._small = SmallPictures(bare, shrink)
        return self._small

    def close(self) -> None:
        """Let go of every file."""
        self._session.close()


def title_fields(filled: Filled) -> dict[str, dict[str, str]]:
    """Values of the titles, as mappings."""
    return {name: dict(fields) for name, fields in filled.fields}


def refuse_unfit(sheet: Sheet, job: Job) -> None:
    """Refuse a sheet that cannot give its titles apart, where they are wanted so.

    Raises
    ------
    SettingError
        If no title is seen on the still; or if the sheet mixes light, of which
        no fill and key make the picture again: a keyer adds coded values up.
    """
    if job.stored.form == "parts":
        parts_of(sheet)
    if job.stored.kind == "over":
        return
    if sheet.light == "linear":
        msg = (
            f'kind {job.stored.kind} needs light = "video" in [sheet]: a mixer lays it over a '
            'picture in coded values, which looks different from light = "linear". Or render kind '
            "over."
        )
        raise SettingError(msg)
    index = still_frame(job, sheet)
    if not any(one.seen(level.own(index)) for level, one, _ in titles_over(sheet)):
        msg = f"at must be a time at which a title is seen, got frame {index}."
        raise SettingError(msg)
