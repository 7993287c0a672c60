"""A dissolve halfway, on coded values and in linear light, one below the other."""

# %% Two pictures: any array of rows x columns x R'G'B' will do, such as `iio.imread` gives.
import imageio.v3 as iio
import numpy as np

import keyer

ramp = np.tile(np.linspace(0, 255, 640, dtype=np.uint8)[:, np.newaxis], (360, 1, 3))
bars = np.repeat(np.array([[235, 40, 40], [40, 40, 235]], np.uint8), 320, axis=0)
stripes = np.tile(bars, (360, 1, 1))

# %% The middle of the dissolve, both ways.
video = keyer.mix(ramp, stripes, 0.5)
linear = keyer.mix(ramp, stripes, 0.5, light="linear")
iio.imwrite("mix_in_light.png", np.vstack([video, linear]))
