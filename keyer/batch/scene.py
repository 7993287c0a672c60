"""What stays the same from row to row: the sheet opened, its picture without titles, its digest."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from PIL import features

from keyer.batch.job import Filled, Job, sheet_titles
from keyer.batch.png_bands import LEVEL, PngBands
from keyer.errors import SettingError
from keyer.kinds.picture import Planes, RgbPicture
from keyer.kinds.version import __version__
from keyer.pixel.load import load, to_array
from keyer.render.lettering import title_parts
from keyer.render.patterns import pattern_files
from keyer.render.plan import Plan
from keyer.render.session import Session
from keyer.render.sinks.pictures import picture
from keyer.sheet.load import load_sheet
from keyer.sheet.sheet import Overlay, Sheet
from keyer.sheet.source import File
from keyer.titles.lines import style_faces

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
    """Take the titles off a sheet."""
    names = sheet_titles(sheet)
    overlays = tuple(o for o in sheet.overlays if o.source not in names)
    sources = {name: source for name, source in sheet.sources.items() if name not in names}
    return dataclasses.replace(sheet, overlays=overlays, sources=sources)


def still_frame(job: Job, sheet: Sheet) -> int:
    """Find the frame of which a still is made.

    Returns
    -------
    int
        The frame asked for, or the first on which the last title is fully in.

    Raises
    ------
    TimeError
        If it lies outside the sheet.
    """
    if job.at is not None:
        return sheet.frame(job.at)
    titles = sheet_titles(sheet)
    starts = [o.start + o.enter.length for o in sheet.overlays if o.source in titles]
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
        self.sheet = filled_sheet(job, filled)
        self._session = Session(_CACHE_BYTES)
        self.plan = Plan(self.sheet, self._session)
        self.index = still_frame(job, self.sheet)
        names = sheet_titles(self.sheet)
        self.overlays: list[Overlay] = [
            o for o in self.sheet.overlays if o.source in names and o.key is None
        ]
        self._over: PngBands | None = None
        self._behind: Planes | None = None
        self._bare: RgbPicture | None = None
        self._blank: dict[int, PngBands] = {}
        self.titles = {f"overlays[{overlay.index}]" for overlay in self.overlays}

    def bare(self) -> RgbPicture:
        """Work out the picture without its titles, once."""
        if self._bare is None:
            frame = self.plan.frame(self.index).without(self.titles)
            self._bare = picture(frame, self.plan.evaluator, self.plan.depth, threads=1)
        return self._bare

    def behind(self) -> Planes:
        """R'G'B' of the picture without its titles, for the measures."""
        if self._behind is None:
            self._behind = load(self.bare())
        return self._behind

    def over(self) -> PngBands:
        """Hold the encoder of full pictures."""
        if self._over is None:
            self._over = PngBands(to_array(self.bare()))
        return self._over

    def blank(self, channels: int) -> PngBands:
        """Hold the encoder of pictures that are clear but for the titles."""
        if channels not in self._blank:
            video = self.sheet.format
            shape = (video.height, video.width, channels)[: 2 if channels == 1 else 3]
            self._blank[channels] = PngBands(np.zeros(shape, np.uint8))
        return self._blank[channels]

    def close(self) -> None:
        """Let go of every file."""
        self._session.close()


@lru_cache(maxsize=4096)
def _file_digest(path: Path, _size: int, _time: int) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def file_digest(path: Path) -> str:
    """SHA-256 of a file, or of a folder's or sequence's files; empty if it is missing."""
    if path.is_file():
        status = path.stat()
        return _file_digest(path, status.st_size, status.st_mtime_ns)
    parts = sorted(path.parent.glob(_wild(path.name))) if path.parent.is_dir() else []
    found = [f"{part.name}:{file_digest(part)}" for part in parts if part.is_file()]
    return hashlib.sha256("\n".join(found).encode()).hexdigest() if found else ""


def _wild(name: str) -> str:
    """Turn the number of a sequence's name into a pattern for all of its files."""
    import re

    return re.sub(r"%0?\d*d|#+|\d+(?=\.[^.]+$)", "*", name.replace("[", "[[]"))


def libraries() -> dict[str, str]:
    """Versions of what draws: other ones may draw other pixels."""
    return {
        "keyer": __version__,
        "numpy": np.__version__,
        **{name: features.version(name) or "" for name in ("pil", "freetype2", "raqm", "harfbuzz")},
    }


def scene_digest(job: Job, sheet: Sheet) -> str:
    """Digest of all that a row's picture rests on, but for the values of its titles.

    Parameters
    ----------
    job : Job
    sheet : Sheet
        With the row's variables.

    Returns
    -------
    str
        SHA-256, hexadecimal.
    """
    titles = {}
    for name, title in sheet_titles(sheet).items():
        design, _, _ = title_parts(title)
        faces = {
            face.path: file_digest(Path(face.path))
            for style in design.design.styles.values()
            for face in style_faces(style, design.folder)
        }
        titles[name] = [design.digest, title.allow_flash, sorted(faces.values())]
    files = {
        name: file_digest(source.content.path)
        for name, source in sheet.sources.items()
        if isinstance(source.content, File)
    }
    files |= {str(path): file_digest(path) for path in pattern_files(sheet)}
    return _digest(
        {
            "libraries": libraries(),
            "sheet": _without_titles(sheet.data, titles),
            "titles": titles,
            "files": files,
            "kind": job.kind,
            "form": job.form,
            "frame": still_frame(job, sheet),
            "level": LEVEL,
        }
    )


def _without_titles(data: Mapping[str, Any], titles: Mapping[str, Any]) -> dict[str, Any]:
    """Drop the titles' own fields: they are counted row by row."""
    bare = dict(data)
    bare["sources"] = {n: s for n, s in dict(data.get("sources", {})).items() if n not in titles}
    return bare


def row_key(scene: str, filled: Filled) -> str:
    """Digest of all that a row's picture rests on.

    Parameters
    ----------
    scene : str
        From `scene_digest`.
    filled : Filled
    """
    return _digest([scene, filled.fields])


def _digest(value: Any) -> str:
    text = json.dumps(value, sort_keys=True, ensure_ascii=False, default=str)
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


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
    if job.kind == "over":
        return
    if sheet.light == "linear":
        msg = (
            f'kind {job.kind} needs light = "video" in [sheet]: it is laid on coded values, where '
            'a sheet that mixes light (light = "linear") looks otherwise. Or render kind over.'
        )
        raise SettingError(msg)
    index = still_frame(job, sheet)
    titles = sheet_titles(sheet)
    if not any(o.source in titles and o.seen(index) for o in sheet.overlays):
        msg = f"at must be a time at which a title is seen, got frame {index}."
        raise SettingError(msg)
