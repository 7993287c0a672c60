"""The small pictures of an approved version, and today's brought down to hold against them."""

from __future__ import annotations

import hashlib
import os
from bisect import bisect_right
from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path

import cv2
import numpy as np

from keyer.documents.locate import show_path
from keyer.errors import InputFileError, KeyerError
from keyer.kinds.plain_file import real_path
from keyer.media.bundle import Bundle, read_small, write_small
from keyer.render.plan import Plan
from keyer.render.recipe import source_files
from keyer.report.boards.board import frame_pixels
from keyer.report.versions.approval import Approval
from keyer.report.versions.changes import Change
from keyer.report.versions.compare import Pixels
from keyer.sheet.load import parse_sheet
from keyer.sheet.sheet import Sheet
from keyer.sheet.source import File

SMALL = 256
"""Columns of the small pictures."""


def picture_name(number: int) -> str:
    """Name a small picture in the file of an approved version."""
    return f"pictures/{number:06d}.webp"


def small(pixels: Pixels) -> bytes:
    """Make the small picture that is kept of a frame, without loss."""
    height, width = pixels.shape[:2]
    size = min(width, SMALL), max(round(height * min(width, SMALL) / width), 1)
    return write_small(np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.uint8))


class Kept:
    """An approved version as its small pictures show it.

    Parameters
    ----------
    approval : Approval
    sheet : Sheet
        What it said.
    """

    def __init__(self, approval: Approval, sheet: Sheet) -> None:
        self.sheet = sheet
        self._shown, self._path = approval.shown, approval.path
        self._bundle = Bundle(approval.path)

    def signature(self, frame: int) -> bytes:
        """Digest of the small picture."""
        return hashlib.sha256(self._bundle.read(self._name(frame))).digest()

    def pixels(self, frame: int) -> Pixels:
        """Give the small picture."""
        return self._bundle.picture(self._name(frame))

    def close(self) -> None:
        """Let go of the file."""
        self._bundle.close()

    def _name(self, frame: int) -> str:
        index = bisect_right(self._shown, frame, key=lambda one: one[0]) - 1
        return picture_name(self._shown[index][1])


class Reduced:
    """A version brought down to small pictures, as approved ones are kept."""

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self._made: dict[bytes, bytes] = {}

    @property
    def sheet(self) -> Sheet:
        """The version's sheet."""
        return self._plan.sheet

    def _small(self, frame: int) -> bytes:
        name = self._plan.frame(frame).signature
        if name not in self._made:
            self._made[name] = small(frame_pixels(self._plan, frame))
        return self._made[name]

    def signature(self, frame: int) -> bytes:
        """Digest of the small picture."""
        return hashlib.sha256(self._small(frame)).digest()

    def pixels(self, frame: int) -> Pixels:
        """Give the small picture."""
        return read_small(self._small(frame), InputFileError("a picture cannot be read again."))


def approved_sheet(approval: Approval, new: Sheet) -> Sheet:
    """Read the sheet of an approved version.

    Parameters
    ----------
    approval : Approval
    new : Sheet
        What lies there now: nothing is read but within the folders that it reaches itself.

    Raises
    ------
    KeyerError
        If it does not hold any more.
    """
    folder = approval.path.parent
    reached = [real_path(folder), *(real_path(path).parent for path in _reached(new))]
    within = Path(os.path.commonpath(reached))
    name = Path(approval.name).name
    return parse_sheet(approval.sheet, name, folder=folder, within=within)


def _reached(sheet: Sheet) -> Iterable[Path]:
    with suppress(KeyerError):
        return source_files(sheet).values()
    return ()


def file_changes(approval: Approval, new: Sheet) -> Iterator[Change]:
    """Yield the files that are not what they were when a version was approved.

    Parameters
    ----------
    approval : Approval
    new : Sheet
        What lies there now.

    Yields
    ------
    Change
        With the path of the source that shows the file, where one does.
    """
    folder = approval.path.parent
    shown = {
        source.content.written: name
        for name, source in new.sources.items()
        if isinstance(source.content, File)
    }
    for name in approval.changed_files(folder):
        what = "has changed" if (folder / name).exists() else "is not there"
        yield Change(f"File {name}", what, show_path(("sources", shown.get(name, name))))
