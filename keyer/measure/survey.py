"""The survey of a key plate: its backing, the light and the shadows on it, the subject's hues."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from keyer.kinds.arrays import Mask, Planes
from keyer.kinds.picture import Matrix
from keyer.kinds.verdicts import Verdict
from keyer.measure.backing import Backing, Sample, survey_backing
from keyer.measure.evenness import Evenness, measure_evenness
from keyer.measure.judge_backing import judge_backing
from keyer.measure.shadows import Shadows, judge_shadows, measure_shadows
from keyer.measure.subject import (
    USUAL_ACCEPTANCE_DEG,
    SubjectHues,
    clash_mask,
    judge_subject,
    survey_pixels,
)
from keyer.measure.subject_pixels import SubjectPixels, subject_of_plate


@dataclass(frozen=True, eq=False)
class PlateSurvey:
    """Everything that a survey finds in one picture of a subject before its backing.

    Attributes
    ----------
    backing : Backing
    evenness : Evenness
    shadows : Shadows
    pixels : SubjectPixels
        Where the subject is.
    subject : SubjectHues
    clash : (h, w) bool
        What of the subject the backing would take with it, on the copy of `pixels`.
    acceptance_deg : float
    verdicts : tuple of Verdict
    """

    backing: Backing
    evenness: Evenness
    shadows: Shadows
    pixels: SubjectPixels
    subject: SubjectHues
    clash: Mask
    acceptance_deg: float
    verdicts: tuple[Verdict, ...]

    @property
    def reasons(self) -> tuple[str, ...]:
        """Write what was found in a plate as sentences."""
        return self.backing.reasons + self.subject.reasons

    def as_dict(self) -> dict[str, Any]:
        """As plain data for JSON; the maps are left out."""
        return {
            "backing": self.backing.as_dict(),
            "evenness": {
                "brighter_percent": self.evenness.brighter_percent,
                "darker_percent": self.evenness.darker_percent,
            },
            "shadows": asdict(self.shadows),
            "acceptance_deg": self.acceptance_deg,
            "subject": {"share_percent": self.pixels.share_percent, **self.subject.as_dict()},
            "verdicts": [verdict.as_dict() for verdict in self.verdicts],
        }


def survey_plate(
    planes: Planes,
    matrix: Matrix,
    *,
    hue: str | float = "auto",
    sample: Sample | None = None,
    acceptance_deg: float = USUAL_ACCEPTANCE_DEG,
) -> PlateSurvey:
    """Survey a key plate: its backing, the light on it, and what would be keyed out with it.

    Parameters
    ----------
    planes : (3, H, W) float32
        R'G'B' nominal 0..1.
    matrix : {"bt601", "bt709"}
    hue, sample
        Where to look for the backing; as in `survey_backing`.
    acceptance_deg : float
        Full angle about the backing's hue that the key takes for backing.

    Raises
    ------
    NoBackingError
        If there is none.
    SettingError
    """
    backing = survey_backing(planes, matrix, hue, sample)
    shadows = measure_shadows(planes, backing, matrix)
    pixels = subject_of_plate(planes, backing, matrix)
    subject = survey_pixels(pixels, matrix, backing.hue_deg, acceptance_deg)
    return PlateSurvey(
        backing,
        measure_evenness(planes, backing, matrix),
        shadows,
        pixels,
        subject,
        clash_mask(pixels, backing.hue_deg, matrix, acceptance_deg),
        acceptance_deg,
        (*judge_backing(backing), judge_shadows(shadows), judge_subject(subject)),
    )
