"""Key a subject over a new background, measure the backing, look at the matte."""

# %% A plate: a ball before a green wall that is brighter on the right, with some grain.
import imageio.v3 as iio
import numpy as np
from skimage import measure, segmentation

import keyer

rng = np.random.default_rng(3)
y, x = np.mgrid[:360, :640]
inside = np.hypot(x - 320, y - 200) < 130
backing = np.array([40, 165, 55]) * (0.9 + 0.1 * x / 640)[..., np.newaxis]
subject = np.stack([180 + 40 * np.sin(x / 9), 110 + 0 * x, 90 + 30 * np.cos(y / 7)], axis=-1)
plate = np.where(inside[..., np.newaxis], subject, backing) + rng.normal(0, 2, (360, 640, 3))
plate = np.clip(plate, 0, 255).astype(np.uint8)
background = np.stack([x // 4, y // 3, 90 + 0 * x], axis=-1).astype(np.uint8)

# %% What the wall is like, and the key over the background.
found = keyer.survey_backing(plate)
print(f"backing at {found.hue_deg:.0f} degrees, even to {found.evenness_stops:.2f} stops")
composite = keyer.chroma_key(plate, background)

# %% The matte is the cut-out's fourth channel; scikit-image counts its parts and draws its edge.
matte = keyer.cut_out(plate)[..., 3]
parts = measure.label(matte > 127).max()
print(f"{parts} part, {keyer.measure_matte(matte).solid_percent:.1f} % solid")
edge = segmentation.mark_boundaries(composite, matte > 127, color=(1, 1, 0))
iio.imwrite("key_and_measure.png", np.hstack([composite, (255 * edge).astype(np.uint8)]))
