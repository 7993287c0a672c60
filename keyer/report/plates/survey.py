"""The survey of a file: a picture, or frames spread over a clip, the worst of them told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np

from keyer.errors import NoBackingError
from keyer.kinds.arrays import Planes
from keyer.kinds.picture import Matrix, Picture
from keyer.kinds.verdicts import Verdict
from keyer.measure.backing import Sample, survey_backing
from keyer.measure.hues import hue_name
from keyer.measure.subject import (
    USUAL_ACCEPTANCE_DEG,
    SubjectHues,
    judge_subject,
    survey_pixels,
)
from keyer.measure.subject_pixels import SubjectPixels, subject_of_photograph
from keyer.measure.survey import PlateSurvey, survey_plate
from keyer.media.source import Source, open_source
from keyer.pixel.colour.load import load, load_alpha
from keyer.report.checks.findings import SEVERITY

FRAMES = 9
"""Frames of a clip that are looked at, the first and the last among them."""

GROUND = 0.15
"""How far R', G' or B' of the picture's rim may be from a backing that it is taken for."""

BEFORE = "To learn which backing a subject needs, survey its photograph with --subject."


@dataclass(frozen=True)
class Where:
    """Where to look for a backing, and how wide the key will be.

    Attributes
    ----------
    hue : str or float
    sample : (x, y, width, height) or None
    acceptance_deg : float
    """

    hue: str | float = "auto"
    sample: Sample | None = None
    acceptance_deg: float = USUAL_ACCEPTANCE_DEG


@dataclass(frozen=True)
class WorstVerdict:
    """A verdict with the frame of a clip that it is worst on; None for a still."""

    verdict: Verdict
    frame: int | None

    def as_dict(self) -> dict[str, Any]:
        """Give the verdict and its frame as plain data for JSON."""
        return {**self.verdict.as_dict(), "frame": self.frame}


@dataclass(frozen=True, eq=False)
class Surveyed:
    """What the surveys of a still and of a clip have in common.

    Attributes
    ----------
    path : Path
    description : str
        Of the file, in one line.
    aspect : float
        Width over height as displayed.
    matrix : {"bt601", "bt709"}
    planes : (3, H, W) float32
        The picture that is shown: of a clip the worst of the frames.
    frame : int or None
        Its number in a clip.
    frames : tuple of int
        All that were looked at; empty for a still.
    verdicts : tuple of WorstVerdict
    acceptance_deg : float
    notices : tuple of str
    """

    path: Path
    description: str
    aspect: float
    matrix: Matrix
    planes: Planes
    frame: int | None
    frames: tuple[int, ...]
    verdicts: tuple[WorstVerdict, ...]
    acceptance_deg: float
    notices: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class PlateFile(Surveyed):
    """A plate surveyed; `shown` is its survey, `every` those of all frames by number."""

    shown: PlateSurvey
    every: tuple[tuple[int | None, PlateSurvey], ...]

    def as_dict(self) -> dict[str, Any]:
        """Give the measures, verdicts and notices as plain data for JSON."""
        told = {"verdicts": [one.as_dict() for one in self.verdicts]}
        data = {"picture": str(self.path), "frame": self.frame, **self.shown.as_dict(), **told}
        if self.frames:
            data["frames"] = [{"frame": n, **found.as_dict()} for n, found in self.every]
        return data | {"notices": list(self.notices)}


@dataclass(frozen=True, eq=False)
class SubjectFile(Surveyed):
    """A photograph of a subject surveyed; `pixels` are those of the picture shown."""

    pixels: SubjectPixels
    subject: SubjectHues

    def as_dict(self) -> dict[str, Any]:
        """Give the measures, verdicts and notices as plain data for JSON."""
        return {
            "picture": str(self.path),
            "frame": self.frame,
            "acceptance_deg": self.acceptance_deg,
            "subject": {"share_percent": self.pixels.share_percent, **self.subject.as_dict()},
            "verdicts": [one.as_dict() for one in self.verdicts],
            "frames": list(self.frames),
            "notices": list(self.notices),
        }


def survey_file(path: Path, where: Where = Where()) -> PlateFile:
    """Survey a key plate: a still, or frames spread over a clip.

    Returns
    -------
    PlateFile
        Each verdict is that of its worst frame.

    Raises
    ------
    InputFileError
    NoBackingError
        If no frame shows a backing.
    SettingError
    """
    source = open_source(path)
    try:
        every, bare = _surveys(source, where)
        worst = max(range(len(every)), key=lambda n: _badness(every[n][1]))
        frame, shown = every[worst]
        picture = source.read(frame or 0)
        return PlateFile(
            path,
            source.props.description,
            _aspect(source, picture),
            picture.matrix,
            load(picture),
            frame,
            tuple(_numbers(source)),
            (*bare, *_worst(every)),
            where.acceptance_deg,
            source.props.notices,
            shown,
            tuple(every),
        )
    finally:
        source.close()


def _numbers(source: Source) -> Sequence[int]:
    """Frames that are looked at; none for a still."""
    count = source.props.frames
    if count is None:
        return []
    return sorted({round(float(n)) for n in np.linspace(0, count - 1, min(FRAMES, count))})


def _aspect(source: Source, picture: Picture) -> float:
    return float(Fraction(picture.width, picture.height) * source.props.pixel_aspect)


def _surveys(
    source: Source, where: Where
) -> tuple[list[tuple[int | None, PlateSurvey]], list[WorstVerdict]]:
    """Survey each frame; those without a backing are told of."""
    every: list[tuple[int | None, PlateSurvey]] = []
    fault: NoBackingError | None = None
    without: list[int | None] = []
    numbers: Sequence[int | None] = _numbers(source)
    for number in numbers or [None]:
        picture = source.read(number or 0)
        try:
            found = survey_plate(
                load(picture),
                picture.matrix,
                hue=where.hue,
                sample=where.sample,
                acceptance_deg=where.acceptance_deg,
            )
            every.append((number, found))
        except NoBackingError as error:
            fault = error
            without.append(number)
    if not every:
        msg = f"{fault} {BEFORE}"
        raise NoBackingError(msg) from None
    return every, [_without(without, len(every))] if without else []


def _without(frames: list[int | None], others: int) -> WorstVerdict:
    share = 100 * len(frames) / (len(frames) + others)
    remedy = (
        "Some frames show no backing: set the clip's in and out to where the subject stands"
        " before it, since the key is set on the first picture that is shown."
    )
    verdict = Verdict("key.backing", share, "% of the frames looked at", "fails", remedy)
    return WorstVerdict(verdict, frames[0])


def _strain(verdict: Verdict) -> tuple[int, float]:
    """How bad a verdict is; a low chroma is worse than a high one."""
    sign = -1 if verdict.measure == "backing.chroma" else 1
    return SEVERITY[verdict.verdict], sign * verdict.value


def _badness(found: PlateSurvey) -> tuple[int, float, float]:
    """How bad a frame is: its verdicts, then what goes with the backing, then its light."""
    verdicts = sum(SEVERITY[one.verdict] for one in found.verdicts)
    return verdicts, found.subject.clash_percent, found.backing.evenness_stops


def _worst(every: list[tuple[int | None, PlateSurvey]]) -> list[WorstVerdict]:
    """Give each measure's worst verdict and its frame."""
    told = []
    for place in range(len(every[0][1].verdicts)):
        looks = [WorstVerdict(found.verdicts[place], frame) for frame, found in every]
        told.append(max(looks, key=lambda one: _strain(one.verdict)))
    return told


def survey_subject_file(path: Path, acceptance_deg: float = USUAL_ACCEPTANCE_DEG) -> SubjectFile:
    """Survey a photograph of a subject before the shoot, or frames spread over a clip of it.

    Parameters
    ----------
    path : Path
        A plain ground, or what is clear in a cut-out, is no part of the subject.
    acceptance_deg : float

    Returns
    -------
    SubjectFile
        The frames of a clip are taken together; the one is shown on which
        green or blue would take most.

    Raises
    ------
    InputFileError, SettingError
    """
    source = open_source(path)
    try:
        numbers = _numbers(source)
        pictures = [_photographed(source.read(number)) for number in numbers or [0]]
        picture = source.read(0)
        matrix = picture.matrix
        alone = [survey_pixels(one, matrix, None, acceptance_deg) for one in pictures]
        worst = max(
            range(len(alone)),
            key=lambda n: max(alone[n].green_clash_percent, alone[n].blue_clash_percent),
        )
        subject = survey_pixels(_together(pictures), matrix, None, acceptance_deg)
        picture = source.read(numbers[worst]) if numbers else picture
        planes = load(picture)
        return SubjectFile(
            path,
            source.props.description,
            _aspect(source, picture),
            matrix,
            planes,
            numbers[worst] if numbers else None,
            tuple(numbers),
            (WorstVerdict(judge_subject(subject), None),),
            acceptance_deg,
            (*source.props.notices, *_hint(planes, matrix)),
            pictures[worst],
            subject,
        )
    finally:
        source.close()


def _photographed(picture: Picture) -> SubjectPixels:
    alpha = None if picture.alpha is None else load_alpha(picture)
    return subject_of_photograph(load(picture), alpha)


def _together(pictures: list[SubjectPixels]) -> SubjectPixels:
    """Put frames side by side."""
    planes = np.concatenate([one.planes for one in pictures], axis=2)
    return SubjectPixels(planes, np.concatenate([one.inside for one in pictures], axis=1))


def _hint(planes: Planes, matrix: Matrix) -> tuple[str, ...]:
    """Say that a picture surveyed as a subject looks like a key plate."""
    rim = np.concatenate([planes[:, 0], planes[:, -1], planes[:, :, 0], planes[:, :, -1]], axis=1)
    usual = np.median(rim, axis=1)
    try:
        backing = survey_backing(planes, matrix)
    except NoBackingError:
        return ()
    if np.abs(usual - backing.rgb).max() > GROUND:
        return ()
    name = hue_name(backing.hue_deg, matrix)
    seen = f"the picture seems to have a {name} backing"
    return (f"{seen}; survey it without --subject to leave that out.",)
