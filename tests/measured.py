"""Measures of whole pictures, which the product takes in strips as they come."""

from itertools import pairwise

from keyer.kinds.arrays import Plane, Planes
from keyer.kinds.picture import Matrix
from keyer.measure.backing import Backing
from keyer.measure.cells import STRIP, Grid, Light, LightMeter
from keyer.measure.levels import R103, Allowed, Levels, LevelsMeter
from keyer.measure.subject import USUAL_ACCEPTANCE_DEG, SubjectHues, survey_pixels
from keyer.measure.subject_pixels import subject_of_photograph, subject_of_plate
from keyer.pixel.kernels.bands import run_bands


def measure_levels(
    planes: Planes, matrix: Matrix, *, allowed: Allowed = R103, threads: int | None = None
) -> Levels:
    """Measure the levels of a picture.

    Parameters
    ----------
    planes : (3, H, W) float32
        R'G'B', nominal 0..1.
    matrix : {"bt601", "bt709"}
        Which luma.
    allowed : Allowed
        Beyond which they lie outside.
    threads : int, optional
    """
    height, width = planes.shape[1:]
    meter = LevelsMeter(planes, matrix, [*range(0, height, STRIP), height], allowed)

    def work(top: int, bottom: int) -> None:
        meter.take(top, bottom, 0, width)

    run_bands(height, width, work, threads=threads, rows=STRIP)
    return meter.read(threads=threads)


def fine_light(planes: Planes, grid: Grid, *, threads: int | None = None) -> Light:
    """Mean light of the fine cells of a picture.

    Parameters
    ----------
    planes : (3, H, W) float32
        R'G'B', nominal 0..1.
    grid : Grid
    threads : int, optional

    Returns
    -------
    (3, 3 rows, 3 columns) float32 in [0, 1]
        Linear R, G, B.
    """
    meter = LightMeter(planes, grid)
    edges = meter.edges(STRIP)

    def work(first: int, end: int) -> None:
        for top, bottom in pairwise(edges[first : end + 1]):
            meter.take(top, bottom, 0, grid.width)

    run_bands(len(edges) - 1, 1, work, threads=threads, rows=1)
    return meter.light


def survey_subject(
    planes: Planes,
    matrix: Matrix,
    backing: Backing | None = None,
    acceptance_deg: float = USUAL_ACCEPTANCE_DEG,
    alpha: Plane | None = None,
) -> SubjectHues:
    """Look for a subject's hues that a backing would take with it.

    Parameters
    ----------
    planes : (3, H, W) float32
        A key plate, or a photograph of the subject before the shoot.
    matrix : {"bt601", "bt709"}
    backing : Backing, optional
        That of the plate; without it the picture is taken for a photograph,
        and its plain ground, if it has one, for no part of the subject.
    acceptance_deg : float
        Full angle about the backing's hue that the key takes for backing.
    alpha : (H, W) float32, optional
        Of a photograph that is cut out.
    """
    if backing is None:
        return survey_pixels(subject_of_photograph(planes, alpha), matrix, None, acceptance_deg)
    subject = subject_of_plate(planes, backing, matrix)
    return survey_pixels(subject, matrix, backing.hue_deg, acceptance_deg)
