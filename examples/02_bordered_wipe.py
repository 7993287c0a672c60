"""A clock wipe with a soft golden border, at a quarter, half and three quarters."""

import numpy as np
from PIL import Image

import keyer

dusk = np.full((360, 640, 3), (38, 44, 74), np.uint8)
dawn = np.full((360, 640, 3), (226, 190, 150), np.uint8)

moments = [
    keyer.wipe(
        dusk,
        dawn,
        at,
        "clockWipe/clockwiseTwelve",
        border=3.0,
        border_soft=0.6,
        border_colour="#FFC83D",
    )
    for at in (0.25, 0.5, 0.75)
]
Image.fromarray(np.hstack(moments)).save("bordered_wipe.png")
