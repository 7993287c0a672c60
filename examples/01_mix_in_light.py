"""A dissolve halfway, on coded values and in linear light, side by side."""

import numpy as np
from PIL import Image

import keyer

ramp = np.tile(np.linspace(0, 255, 640, dtype=np.uint8)[:, np.newaxis], (360, 1, 3))
bars = np.repeat(np.array([[235, 40, 40], [40, 40, 235]], np.uint8), 320, axis=0)
stripes = np.tile(bars, (360, 1, 1))

video = keyer.mix(ramp, stripes, 0.5)
linear = keyer.mix(ramp, stripes, 0.5, light="linear")
Image.fromarray(np.vstack([video, linear])).save("mix_in_light.png")
