"""A plain subject on which things of the backing's hue can be painted."""

from __future__ import annotations

import cv2
import numpy as np
from plates import making
from plates.proof import GREEN

SCARF = (0.1, 0.5, 0.42)
LIME = (0.55, 0.78, 0.15)
IRIS = (0.25, 0.45, 0.28)
HEIGHT, WIDTH = 360, 480


def portrait(backing=GREEN, paint=None):
    """A grey and skin-coloured subject with something painted on it: plate, matte and paint."""
    rows, cols = np.mgrid[0:HEIGHT, 0:WIDTH].astype(np.float32)
    matte = (np.hypot((rows - 120) / 85, (cols - 240) / 65) < 1).astype(np.float32)
    matte = np.maximum(matte, (np.hypot((rows - 360) / 160, (cols - 240) / 170) < 1) * 1.0)
    matte = cv2.GaussianBlur(matte.astype(np.float32), (0, 0), 0.7)
    subject = making.flat((0.72, 0.55, 0.46), HEIGHT, WIDTH)
    subject[:, 200:] = np.array((0.4, 0.4, 0.42), np.float32)[:, None, None]
    subject *= 1 + 0.15 * np.sin(rows / 9)
    marks = np.zeros((HEIGHT, WIDTH), np.float32)
    if paint is not None:
        colour = paint(marks)
        subject = np.where(marks > 0.5, np.array(colour, np.float32)[:, None, None], subject)
    plate = matte * subject + (1 - matte) * making.flat(backing, HEIGHT, WIDTH)
    plate = making.noisy(plate.astype(np.float32), 0.006, np.random.default_rng(2))
    return making.rounded(plate), matte, marks * (matte > 0.9)


def eyes(marks):
    for column in (215, 265):
        cv2.circle(marks, (column, 110), 9, 1, -1)
    return IRIS


def scarf(marks):
    marks[195:235, 150:330] = 1
    return SCARF


def product(marks):
    marks[250:340, 200:280] = 1
    return LIME
