"""Small key plates as a decoder delivers them, for what works on coded planes."""

import numpy as np

from keyer.kinds.picture import YccPicture
from keyer.kinds.settings import KeySettings
from keyer.pixel.colour.luma_chroma import hue_of

GREEN = (0.1, 0.7, 0.15)
STEPS = {"420": (2, 2), "422": (2, 1), "444": (1, 1)}


def settings(**changes):
    values = {
        "hue_deg": hue_of(GREEN, "bt709"),
        "acceptance_deg": 120.0,
        "clip_percent": 10.0,
        "gain": 1.5,
        "spill_percent": 100.0,
        "backing": GREEN,
    }
    return KeySettings(**(values | changes))


def plate(seed, sampling="420", *, rows=20, columns=31, noise=6, left_sited=True):
    """A backing with noise and a few patches of other chroma."""
    step_x, step_y = STEPS[sampling]
    random = np.random.default_rng(seed)
    shape = (-(-rows // step_y), -(-columns // step_x))
    cb = 82 + random.integers(-noise, noise + 1, shape)
    cr = 66 + random.integers(-noise, noise + 1, shape)
    for _ in range(random.integers(0, 3)):
        y, x = random.integers(0, shape[0]), random.integers(0, shape[1])
        cb[y : y + 2, x : x + 3] = random.integers(60, 200)
    luma = random.integers(16, 236, (rows, columns))
    return YccPicture(
        luma.astype(np.uint8),
        cb.astype(np.uint8),
        cr.astype(np.uint8),
        8,
        full_range=False,
        matrix="bt709",
        left_sited=left_sited,
    )
