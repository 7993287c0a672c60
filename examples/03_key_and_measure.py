"""Key a subject over a new background, then ask whether the backing was good enough."""

import numpy as np
from PIL import Image

import keyer

rng = np.random.default_rng(3)
y, x = np.mgrid[:360, :640]
inside = np.hypot(x - 320, y - 200) < 130
backing = np.array([40, 165, 55]) * (0.9 + 0.1 * x / 640)[..., np.newaxis]
subject = np.stack([180 + 40 * np.sin(x / 9), 110 + 0 * x, 90 + 30 * np.cos(y / 7)], axis=-1)
plate = np.where(inside[..., np.newaxis], subject, backing) + rng.normal(0, 2, (360, 640, 3))
plate = np.clip(plate, 0, 255).astype(np.uint8)
background = np.stack([x // 4, y // 3, 90 + 0 * x], axis=-1).astype(np.uint8)

found = keyer.survey_backing(plate)
print(f"backing at {found.hue_deg:.0f} degrees, even to {found.evenness_stops:.2f} stops")
Image.fromarray(keyer.chroma_key(plate, background)).save("key_and_measure.png")
