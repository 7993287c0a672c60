"""Painted letters for the demo's boards and signs, in the typeface that Pillow carries."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from examples.drawing.stage import Stage

Floats = NDArray[np.float32]
Points = NDArray[np.float64]


def paint(
    stage: Stage,
    text: str,
    centre: tuple[float, float],
    size: float,
    colour: Floats,
    *,
    spaced: float = 0.0,
    opacity: float = 1.0,
) -> None:
    """Paint one line of text on what is already on the stage.

    Parameters
    ----------
    stage : Stage
    text : str
    centre : x, y in picture heights
    size : float
        Height of the type, picture heights.
    colour : (3,) float32, coded
    spaced : float
        Extra space between letters, as part of `size`.
    opacity : float
    """
    pixels = size * stage.height * stage.fine
    font = ImageFont.load_default(max(pixels, 1.0))
    gap = spaced * pixels
    widths = [float(font.getlength(letter)) for letter in text]
    total = sum(widths) + gap * (len(text) - 1)
    half = total / (2 * stage.height * stage.fine) + size
    box = np.array([(centre[0] - half, centre[1] - size), (centre[0] + half, centre[1] + size)])
    window = stage.window(box)
    if window is None:
        return
    image = Image.new("L", (window.mask_shape[1], window.mask_shape[0]))
    pen = ImageDraw.Draw(image)
    start = window.to_mask(np.array([centre]))[0]
    x = float(start[0]) - total / 2
    for letter, width in zip(text, widths, strict=True):
        pen.text((x, float(start[1])), letter, fill=255, font=font, anchor="lm")
        x += width + gap
    mask = np.asarray(image, np.float32) * np.float32(opacity / 255)
    flat = np.broadcast_to(np.asarray(colour, np.float32), (*window.shape, 3))
    stage.lay(window, flat, mask)
