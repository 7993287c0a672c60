"""Keyable subjects with a matte that is known exactly."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from examples.drawing import bicycle, presenter
from examples.drawing.stage import Stage, check_size
from keyer.errors import SettingError

Floats = NDArray[np.float32]

LENS_SOFTNESS = 0.55
"""Softness of the lens in pixels of a 1080-line picture."""


@dataclass(frozen=True, eq=False)
class Subject:
    """A drawn subject.

    Attributes
    ----------
    foreground : (H, W, 3) float32 in [0, 1]
        Coded colour, not premultiplied; 0 where nothing is covered.
    matte : (H, W) float32 in [0, 1]
        True coverage.
    """

    foreground: Floats
    matte: Floats


SUBJECTS: dict[str, Callable[[Stage, float, int], None]] = {
    "presenter": presenter.draw,
    "bicycle": bicycle.draw,
}
"""What draws each subject: stage, frame, seed."""


def draw(
    name: str, width: int = 1920, height: int = 1080, frame: float = 0, seed: int = 7
) -> Subject:
    """Draw a subject.

    Parameters
    ----------
    name : a key of `SUBJECTS`
    width, height : int
        Pixels.
    frame : float
        Moment of the movement, in frames.
    seed : int

    Returns
    -------
    Subject

    Raises
    ------
    SettingError
        If there is no subject of that name, or the picture is smaller than 2 x 2.
    """
    if name not in SUBJECTS:
        msg = f"subject must be one of {', '.join(SUBJECTS)}, got {name!r}."
        raise SettingError(msg)
    check_size(width, height)
    stage = Stage(width, height, fine=2)
    SUBJECTS[name](stage, frame, seed)
    colour, matte = stage.finish(LENS_SOFTNESS * height / 1080)
    safe = np.maximum(matte, 1 / 1024)[..., None]
    foreground = np.where(matte[..., None] > 0, np.clip(colour / safe, 0, 1), 0)
    return Subject(np.asarray(foreground, np.float32), matte)
