"""Small sheets with known faults, for the checks."""

from pathlib import Path

import numpy as np
from media.made import write_clip, write_planes
from PIL import Image

from keyer.report.checks.check import check_sheet
from keyer.sheet.load import load_sheet

WIDTH, HEIGHT = 192, 108

HEAD = """version = 1
[sheet]
title = "Trial"
format = "192x108@25"
length = {length}
[sources.black]
colour = "#000000"
[sources.white]
colour = "#FFFFFF"
[sources.grey]
colour = "#707070"
[sources.blue]
colour = "#203060"
[sources.red]
colour = "#FF0000"
[sources.even]
colour = "#808080"
"""

DESIGN = """name = "Trial"
[fields.name]
default = "Jetty Lane"
[styles.big]
size = 9
colour = "{ink}"
[[boxes]]
id = "words"
place = "bottom left"
y = 4
{place}
[[boxes.texts]]
text = "${{name}}"
style = "big"
"""

CRAWL = """
[move]
kind = "crawl"
pixels = 4
"""


def cut(*order):
    """Cues that cut: (source, frame) one after the other."""
    return "".join(f'[[cues]]\nsource = "{source}"\nat = {at}\n' for source, at in order)


def title(folder, *, ink="#FFFFFF", place="", move="", name="trial"):
    """Write a title design; gives its source table."""
    text = DESIGN.format(ink=ink, place=place) + move
    (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    return f'[sources.{name}.title]\ndesign = "{name}.toml"\n'


def picture(folder, name, rgb):
    """Write an (H, W, 3) picture 0..1; gives its source table."""
    Image.fromarray((np.asarray(rgb) * 255 + 0.5).astype(np.uint8)).save(folder / name)
    return f'[sources.{Path(name).stem}]\nfile = "{name}"\n'


def plate(*, hole=False, backing=(0.1, 0.7, 0.15)):
    """A subject before a backing; with holes, it has a print that a wide key takes for it."""
    rgb = np.empty((HEIGHT, WIDTH, 3))
    rgb[:] = backing
    rgb[30:, 60:130] = (0.6, 0.4, 0.35)
    if hole:
        rgb[60:72, 80:92] = (0.135, 0.613, 0.455)
    return rgb


def stripes(period):
    """Upright stripes, `period` pixels a pair."""
    x = np.arange(WIDTH)
    rgb = np.where(x % period < period / 2, 1.0, 0.0)
    return np.broadcast_to(rgb[None, :, None], (HEIGHT, WIDTH, 3))


def bright_clip(folder, share, luma=255, frames=4):
    """Write a clip whose first rows have a luma code; the rest is grey; without loss."""
    luma_plane = np.full((HEIGHT, WIDTH), 126, np.uint8)
    luma_plane[: round(HEIGHT * share)] = luma
    chroma = np.full((HEIGHT // 2, WIDTH // 2), 128, np.uint8)
    write_planes(folder / "bright.mkv", [luma_plane, chroma, chroma], frames=frames)
    return '[sources.bright]\nfile = "bright.mkv"\nloop = true\n'


def short_clip(folder, frames=20):
    """Write a clip of numbered frames."""
    write_clip(folder / "short.mp4", frames=frames, size=(WIDTH, HEIGHT))
    return '[sources.short]\nfile = "short.mp4"\n'


def checked(folder, body, length='"10s"'):
    """Check a sheet of a body of tables."""
    path = folder / "sheet.toml"
    path.write_text(HEAD.format(length=length) + body, encoding="utf-8")
    return check_sheet(load_sheet(path))


def found(report, check):
    """Findings of one check."""
    return [finding for finding in report.findings if finding.check == check]


def bad(report):
    """What does not hold: (verdict, check)."""
    return [(f.verdict, f.check) for f in report.findings if f.verdict != "holds"]
