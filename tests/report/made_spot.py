"""A small spot of its own files, for boards, cue sheets, reports and remakes."""

from pathlib import Path

import numpy as np
from PIL import Image

TEXT = """version = 1
[sheet]
title = "Row before breakfast"
format = "160x90@25"
length = "4s"
note = "Rehearse with the crew"

[sources.lake]
file = "media/lake.png"
[sources.jetty]
file = "media/jetty.png"
[sources.rower]
file = "media/rower.png"

[[cues]]
source = "lake"
transition = { kind = "fade", length = 10, colour = "#102030" }

[[cues]]
source = "jetty"
at = "1s"
name = "The jetty"
note = "On the oars"
[cues.transition]
kind = "wipe"
pattern = "clockWipe/clockwiseTwelve"
length = 20
soft = 2
border = 3
border_colour = "#FFC83D"

[[cues]]
source = "lake"
at = "3s"

[[overlays]]
source = "rower"
in = "2s"
out = "3s"
key = { kind = "chroma" }
transition_out = { kind = "mix", length = 5 }
"""


def plate(seed=1):
    """A grey square before an even green backing with a little noise."""
    rng = np.random.default_rng(seed)
    picture = np.empty((90, 160, 3), np.float32)
    picture[:] = (40, 170, 60)
    picture[25:90, 60:100] = (150, 140, 130)
    picture += rng.normal(0, 1, picture.shape)
    return np.clip(picture, 0, 255).astype(np.uint8)


def scene(seed):
    """A quiet picture of its own for each seed."""
    rng = np.random.default_rng(seed)
    down = np.linspace(60, 200, 90)[:, np.newaxis, np.newaxis]
    tint = rng.uniform(0.93, 1.0, 3)
    return (np.broadcast_to(down, (90, 160, 3)) * tint).astype(np.uint8)


def write_spot(folder: Path, text: str = TEXT) -> Path:
    """Write the spot and its files; returns the sheet."""
    media = folder / "media"
    media.mkdir(parents=True)
    for name, pixels in (("lake", scene(1)), ("jetty", scene(2)), ("rower", plate())):
        Image.fromarray(pixels).save(media / f"{name}.png")
    sheet = folder / "spot.toml"
    sheet.write_text(text, encoding="utf-8")
    return sheet
