"""A clock wipe with a soft golden border, at a quarter, half and three quarters."""

# %%
import imageio.v3 as iio
import numpy as np

import keyer

dusk = np.full((360, 640, 3), (38, 44, 74), np.uint8)
dawn = np.full((360, 640, 3), (226, 190, 150), np.uint8)

# %% One picture for each progress; `keyer patterns` lists what else there is.
border = {"border": 3.0, "border_soft": 0.6, "border_colour": "#FFC83D"}
steps = [
    keyer.wipe(dusk, dawn, at, "clockWipe/clockwiseTwelve", **border) for at in (0.25, 0.5, 0.75)
]
iio.imwrite("bordered_wipe.png", np.hstack(steps))
