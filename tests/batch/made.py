"""A small sheet with a title, and rows for it."""

from pathlib import Path

import numpy as np
from PIL import Image

DESIGN = """
name = "Trial"
[fields.name]
example = "Hamburg"
[fields.role]
default = ""
[fields.tint]
kind = "colour"
default = "#103040"
[styles.big]
size = 9
weight = "bold"
[[boxes]]
id = "words"
place = "bottom left"
padding = [3, 4]
max_width = 80
[boxes.panel]
colour = "${tint}"
opacity = 0.8
radius = 1.5
[[boxes.texts]]
text = "${name}"
style = "big"
fit = "shrink"
smallest = 6
[[boxes.texts]]
text = "${role}"
style = "big"
fit = "wrap"
lines = 2
"""
SHEET = """
version = 1
[sheet]
format = "320x180@25"
length = "4s"
[variables]
back = "back.png"
[sources.back]
file = "${back}"
[sources.guest.title]
design = "design.toml"
fields = { role = "" }
[[cues]]
source = "back"
[[overlays]]
source = "guest"
in = 10
out = 90
transition_in = { kind = "mix", length = 12 }
"""


def project(folder: Path) -> Path:
    """Write a sheet, a design and two backgrounds; returns the sheet."""
    for seed, name in ((1, "back"), (2, "other")):
        pixels = np.random.default_rng(seed).integers(0, 255, (180, 320, 3), np.uint8)
        Image.fromarray(pixels).save(folder / f"{name}.png")
    (folder / "design.toml").write_text(DESIGN, encoding="utf-8")
    (folder / "sheet.toml").write_text(SHEET, encoding="utf-8")
    return folder / "sheet.toml"


def table(folder: Path, text: str, name: str = "rows.csv") -> Path:
    """Write rows."""
    (folder / name).write_text(text, encoding="utf-8")
    return folder / name


def guests(folder: Path, count: int) -> Path:
    """Write so many good rows."""
    lines = [f"{n:03d},Guest {n},role {n % 7}" for n in range(count)]
    return table(folder, "\n".join(["file,name,role", *lines]))


def contents(folder: Path) -> dict[str, bytes]:
    """Every file of a folder with its bytes."""
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}
