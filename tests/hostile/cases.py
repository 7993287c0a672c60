"""Hostile cases by kind of input, each made from two numbers."""

import random
from collections.abc import Callable
from pathlib import Path

from hostile import document_cases, made_cases, media_cases, page_cases
from hostile.case import Case

Kind = Callable[[random.Random, Path], Case]

KINDS: dict[str, Kind] = {
    "png": lambda rng, folder: media_cases.still(rng, folder, (".png",)),
    "photo": lambda rng, folder: media_cases.still(rng, folder, (".jpg", ".webp")),
    "phone": lambda rng, folder: media_cases.still(rng, folder, (".heic", ".avif")),
    "tiff": lambda rng, folder: media_cases.still(rng, folder, (".tif",)),
    "h264": lambda rng, folder: media_cases.clip(rng, folder, ("h264.mp4", "h264.ts", "h264.mkv")),
    "lossless": lambda rng, folder: media_cases.clip(
        rng, folder, ("ffv1.mkv", "ffv1-old.avi", "png.mov", "turn.gif")
    ),
    "lossy": lambda rng, folder: media_cases.clip(
        rng, folder, ("mpeg2.mpg", "mpeg4.avi", "prores.mov", "mjpeg.avi", "vp9.webm")
    ),
    "sequence": media_cases.sequence,
    "sound": media_cases.sound,
    "sheet": document_cases.sheet,
    "include": document_cases.include,
    "set": document_cases.variable,
    "design": document_cases.design,
    "results": document_cases.results,
    "font": document_cases.font,
    "page": document_cases.page,
    "pattern": document_cases.pattern,
    "rows": document_cases.rows,
    "workbook": document_cases.workbook,
    "notes": made_cases.notes,
    "approved": made_cases.approved,
    "journal": made_cases.journal,
    "asked": page_cases.asked,
    "arrived": page_cases.arrived,
    "options": made_cases.options,
    "resumed": made_cases.resumed,
    "special": made_cases.special,
}


def kind_of(number: int, kinds: tuple[str, ...]) -> str:
    """Kinds take turns, so that all are met equally often."""
    return kinds[number % len(kinds)]


def make(seed: int, number: int, kind: str, folder: Path) -> Case:
    """Make a case in a copy of the good project.

    Parameters
    ----------
    seed, number : int
        The same ones make the same case.
    kind : str
    folder : Path
    """
    return KINDS[kind](random.Random(f"{seed} {number} {kind}"), folder)  # noqa: S311  no secret
