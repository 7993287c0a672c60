"""A tiny project that has every kind of input: no file of it is idle."""

import shutil
from pathlib import Path

import numpy as np
from media.made import write_clip
from media.tones import sine, write_sound
from PIL import Image

from keyer.cli.main import perform
from keyer.titles.fonts import shipped_faces

SHEET = """version = 1
include = "house.toml"
[sheet]
format = "64x36@25"
length = 4
patterns = "patterns"
[sources.plate]
file = "plate.png"
[sources.shots]
file = "shots/shot_%04d.png"
[sources.folder]
file = "numbered"
[sources.clip]
file = "clip.mov"
[sources.mask]
file = "mask.png"
[sources.name.title]
design = "designs/name.toml"
fields = { name = "a" }
[sources.page.title]
page = 7
[[sound]]
file = "tone.wav"
[[cues]]
source = "shots"
[[cues]]
source = "clip"
at = 1
transition = { kind = "wipe", pattern = "own/ramp", length = 1 }
[[cues]]
source = "folder"
at = 3
[[overlays]]
source = "plate"
in = 0
out = 4
key = { kind = "chroma", hold = [{ source = "mask" }] }
[[overlays]]
source = "name"
in = 0
out = 4
[[overlays]]
source = "page"
in = 0
out = 4
"""
HOUSE = """version = 1
[sources.house]
file = "house.png"
"""
DESIGN = """name = "Trial"
[fields.name]
default = "a"
[styles.big]
size = 9
font = "own.ttf"
[[boxes]]
id = "words"
place = "bottom left"
[[boxes.texts]]
text = "${name}"
style = "big"
"""
PATTERNS = """[[pattern]]
type = "own"
subtype = "named"
default = true
picture = "grey/named.png"
summary = "A picture that is named"
"""


def plate() -> np.ndarray:
    """A red square before green: (36, 64, 3) uint8."""
    picture = np.full((36, 64, 3), (30, 200, 40), np.uint8)
    picture[8:28, 20:44] = (200, 40, 30)
    return picture


def make_project(folder: Path) -> Path:
    """Write the project into an empty folder; returns its sheet."""
    for inner in ("shots", "numbered", "designs", "patterns/grey"):
        (folder / inner).mkdir(parents=True)
    flat = np.full((36, 64, 3), 90, np.uint8)
    for number in range(2):
        for name in (f"shots/shot_{number:04d}.png", f"numbered/{number}.png"):
            Image.fromarray(flat + number).save(folder / name)
    for name in ("house.png", "back.png", "third.png"):
        Image.fromarray(flat).save(folder / name)
    Image.fromarray(plate()).save(folder / "plate.png")
    Image.fromarray(np.full((36, 64, 3), (30, 200, 40), np.uint8)).save(folder / "clean.png")
    grey = np.tile(np.linspace(0, 255, 64).astype(np.uint8), (36, 1))
    for name in ("mask.png", "patterns/ramp.png", "patterns/grey/named.png"):
        Image.fromarray(grey).save(folder / name)
    write_clip(folder / "clip.mov", codec="png", layout="rgb24", frames=4, size=(64, 36))
    write_sound(folder / "tone.wav", sine(0.2))
    shutil.copy(shipped_faces()[0].path, folder / "designs/own.ttf")
    texts = {
        "sheet.toml": SHEET,
        "house.toml": HOUSE,
        "designs/name.toml": DESIGN,
        "patterns/own.toml": PATTERNS,
        "rows.csv": "file,name\nx,a\n",
    }
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8")
    design = str(folder / "designs/name.toml")
    assert perform(["title", design, "--save", "7", "--pages", str(folder / "pages")]) == 0
    return folder / "sheet.toml"
