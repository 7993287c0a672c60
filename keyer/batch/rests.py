"""What a row's picture rests on, as digests: told apart, so that what differs can be named."""

from __future__ import annotations

import hashlib
import json
import os
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from keyer.batch.bands import LEVEL
from keyer.batch.job import Filled, Job, sheet_titles
from keyer.batch.scene import (
    filled_sheet,
    refuse_unfit,
    still_frame,
    title_fields,
    without_titles,
)
from keyer.documents.reach import Reach
from keyer.errors import KeyerError, SettingError
from keyer.kinds.plain_file import open_plain
from keyer.render.inputs import sheet_inputs
from keyer.render.lettering import title_parts
from keyer.render.libraries import libraries
from keyer.render.patterns import pattern_files
from keyer.render.plan import Plan
from keyer.render.recipe import source_files
from keyer.sheet.load import load_sheet
from keyer.sheet.sheet import Sheet
from keyer.sheet.source import File, OtherSheet
from keyer.titles.foresee import Foresight
from keyer.titles.ink import Canvas
from keyer.titles.lines import style_faces


@dataclass(frozen=True)
class Rests:
    """Digests of all that a row's picture is made from: sheet, cells, files, program.

    Attributes
    ----------
    scene : mapping
        What it shares with other rows of its sheet: a part to its digest.
    fields : str
        Digest of what stands in the titles.
    stepping_in : str
        Digest of the system's fonts that draw what the design's own lack; empty for none.
    pictures : mapping
        Title source and field, with a point between, to the SHA-256 of the picture in it.
    """

    scene: Mapping[str, str]
    fields: str
    stepping_in: str = ""
    pictures: Mapping[str, str] = field(default_factory=dict)

    @property
    def key(self) -> str:
        """One digest of it all: SHA-256, hexadecimal."""
        shown = [dict(self.pictures)] if self.pictures else []
        return digest_of([dict(self.scene), self.fields, self.stepping_in, *shown])

    def differences(self, other: Rests) -> list[str]:
        """Return the names of the parts in which two digests differ."""
        names = dict.fromkeys([*self.scene, *other.scene])
        found = [name for name in names if self.scene.get(name) != other.scene.get(name)]
        found += ["what stands in the titles"] if self.fields != other.fields else []
        found += ["pictures of the row"] if self.pictures != other.pictures else []
        fonts = self.stepping_in != other.stepping_in
        return [*found, "fonts of the system that step in"] if fonts else found


@dataclass(frozen=True)
class Known:
    """What all rows of one sheet share: digests of its parts, and foresights of its titles.

    Attributes
    ----------
    scene : mapping
        What all of its rows rest on: a part to its digest.
    foresights : mapping
        Of its titles.
    """

    scene: Mapping[str, str]
    foresights: Mapping[str, Foresight]

    def rests(self, filled: Filled) -> Rests:
        """Digest all that the picture of a faultless row is made from."""
        fonts = {
            path
            for title, fields in title_fields(filled).items()
            for path in self.foresights[title].stepping_in(fields)
        }
        helping = digest_of(sorted(map(file_digest, fonts))) if fonts else ""
        files = self.files(filled)
        shown = {f"{title}.{name}": file_digest(file) for title, name, file in files}
        named = {(title, name) for title, name, _ in files}
        texts = tuple(
            (title, tuple(one for one in values if (title, one[0]) not in named))
            for title, values in filled.fields
        )
        return Rests(self.scene, digest_of(texts), helping, shown)

    def files(self, filled: Filled) -> list[tuple[str, str, Path]]:
        """List the pictures that stand in a row's titles: title source, field and file."""
        return [
            (title, name, (self.foresights[title].folder or Path()) / fields[name])
            for title, fields in title_fields(filled).items()
            for name in self.foresights[title].design.picture_fields()
            if fields.get(name)
        ]


class Sheets:
    """The sheets of a job with the rows' variables, each read and checked once.

    Attributes
    ----------
    inputs : dict of Path
        Files that the sheets are read from and show.
    """

    def __init__(self, job: Job) -> None:
        self.job = job
        self.inputs: dict[Path, None] = {}
        self._known: dict[tuple[object, ...], Known | str] = {}
        self._own: set[Path] | None = None
        """Files that the sheet itself shows."""

    def known(self, filled: Filled) -> Known | str:
        """Return a sheet that holds, or what is wrong with it."""
        if filled.variables not in self._known:
            self._known[filled.variables] = self._read(filled)
        return self._known[filled.variables]

    def _read(self, filled: Filled) -> Known | str:
        try:
            sheet = filled_sheet(self.job, filled)
            refuse_unfit(sheet, self.job)
            self._refuse_outside(sheet)
            foresights = dict(_foresights(sheet))
            Plan(without_titles(sheet)).close()  # are its files and patterns there?
            self.inputs |= dict.fromkeys(sheet_inputs(sheet))
            return Known(scene_parts(self.job, sheet), foresights)
        except KeyerError as error:
            return " ".join(str(error).split("\n"))

    def _refuse_outside(self, sheet: Sheet) -> None:
        """Refuse files that a row, and not the sheet, looks for outside the sheet's folder."""
        home = self.job.path.parent.absolute()
        if self._own is None:
            self._own = {file.path for _, file in _files(load_sheet(self.job.path))}
        for name, file in _files(sheet):
            if file.path not in self._own and not Reach(home, home).holds(file.path):
                written = file.written or str(file.path)
                msg = (
                    f"source {name} must be a file in {home} or below, got {written!r:.80}. "
                    "Copy it there."
                )
                raise SettingError(msg)


def _files(sheet: Sheet) -> Iterator[tuple[str, File]]:
    for name, source in sheet.sources.items():
        if isinstance(source.content, File):
            yield name, source.content


def _foresights(sheet: Sheet) -> Iterator[tuple[str, Foresight]]:
    video = sheet.format
    canvas = Canvas(video.width, video.height, float(video.pixel_aspect))
    for name, title in sheet_titles(sheet).items():
        design, _, _ = title_parts(title)
        yield name, Foresight(design.design, canvas, design.folder)


@lru_cache(maxsize=4096)
def _file_digest(path: Path, _size: int, _time: int) -> str:
    with open_plain(path) as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def file_digest(path: Path) -> str:
    """SHA-256 of a file, or of a folder's or sequence's files; empty if it is missing."""
    if path.is_file():
        status = path.stat()
        return _file_digest(path, status.st_size, status.st_mtime_ns)
    if path.is_dir():
        parts: Iterable[Path] = sorted(path.iterdir())
    else:
        parts = sorted(path.parent.glob(_wild(path.name))) if path.parent.is_dir() else []
    found = [f"{part.name}:{file_digest(part)}" for part in parts if part.is_file()]
    return (
        hashlib.sha256("\n".join(found).encode("utf-8", "surrogateescape")).hexdigest()
        if found
        else ""
    )


def _wild(name: str) -> str:
    """Turn the number of a sequence's name into a pattern for all of its files."""
    return re.sub(r"%0?\d*d|#+|\d+(?=\.[^.]+$)", "*", name.replace("[", "[[]"))


def scene_parts(job: Job, sheet: Sheet) -> dict[str, str]:
    """Gather what a row's picture rests on, but for what stands in its titles.

    Parameters
    ----------
    job : Job
    sheet : Sheet
        With the row's variables.

    Returns
    -------
    dict
        What a part is, in words, to its SHA-256.
    """
    titles = {name: title_parts(title)[0] for name, title in sheet_titles(sheet).items()}
    fonts = {
        file_digest(Path(face.path))
        for design in titles.values()
        for style in design.design.styles.values()
        for face in style_faces(style, design.folder)
    }
    flash = {name: title.allow_flash for name, title in sheet_titles(sheet).items()}
    pictures = {
        name: file_digest(source.content.path)
        for name, source in sheet.sources.items()
        if isinstance(source.content, File)
    }
    pictures |= {
        os.path.relpath(path, sheet.folder): file_digest(path)
        for design in titles.values()
        for path in design.picture_files()
    }
    pictures |= {
        f"{name} {os.path.relpath(path, sheet.folder)}": file_digest(path)
        for name, source in sheet.sources.items()
        if isinstance(source.content, OtherSheet)
        for path in (*source.content.sheet.documents, *source_files(source.content.sheet).values())
    }
    patterns = {
        os.path.relpath(path, sheet.folder): file_digest(path) for path in pattern_files(sheet)
    }
    form = [asdict(job.stored), still_frame(job, sheet), LEVEL]
    parts = {
        "versions of what draws": libraries(),
        "sheet": [_without_titles(sheet.data, titles), flash],
        "title designs": {name: design.digest for name, design in titles.items()},
        "fonts of the designs": sorted(fonts),
        "pictures": pictures,
        "patterns": patterns,
        "kind of output": form,
    }
    if sheet.station is not None:  # its verdict rests on them
        parts["rules of the station"] = file_digest(sheet.station.file)
    return {name: digest_of(value) for name, value in parts.items()}


def _without_titles(data: Mapping[str, Any], titles: Mapping[str, Any]) -> dict[str, Any]:
    """Drop the titles' own fields: they are counted row by row."""
    bare = dict(data)
    bare["sources"] = {n: s for n, s in dict(data.get("sources", {})).items() if n not in titles}
    return bare


def digest_of(value: Any) -> str:
    """SHA-256 of plain data, hexadecimal."""
    text = json.dumps(value, sort_keys=True, ensure_ascii=False, default=str)
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
