"""Small sheets with one known fault each, written as a user writes them."""

import tempfile
from pathlib import Path

from PIL import Image

from keyer import load_sheet
from keyer.report.checks.check import check_sheet

HEAD = """version = 1
[sheet]
format = "{form}"
length = {length}
[sources.black]
colour = "#000000"
[sources.dark]
file = "dark.png"
[sources.dim]
file = "dim.png"
[sources.white]
colour = "#FFFFFF"
[sources.blue]
colour = "#203060"
[sources.grey]
colour = "#707070"
"""
PICTURES = {"dark.png": 12, "dim.png": 14}
"""Grey of codes on either side of 5 % of the signal, as pictures: a black source is meant."""

DESIGN = """name = "Trial"
[fields.words]
default = "{words}"
[styles.plain]
size = {size}
colour = "{ink}"
[[boxes]]
id = "words"
place = "{place}"
x = {x}
y = {y}
[[boxes.texts]]
text = "${{words}}"
style = "plain"
"""


def verdicts(body, *, form="96x54@25", length=50, files=None):
    """Verdicts of a sheet by check, the worst of each; files are texts by name."""
    with tempfile.TemporaryDirectory() as folder:
        for name, text in (files or {}).items():
            Path(folder, name).write_text(text, encoding="utf-8")
        for name, code in PICTURES.items():
            Image.new("L", (192, 108), code).save(Path(folder, name))
        path = Path(folder, "sheet.toml")
        path.write_text(HEAD.format(form=form, length=length) + body, encoding="utf-8")
        report = check_sheet(load_sheet(path))
    found = {}
    for finding in report.findings:  # the worst come first
        found.setdefault(finding.check, finding.verdict)
    return found


def cuts(*order):
    """Cues that cut: (source, frame) one after the other."""
    return "".join(f'[[cues]]\nsource = "{source}"\nat = {at}\n' for source, at in order)


def title(words="Jetty", *, size=12, ink="#FFFFFF", place="centre", x=0, y=0):
    """A design with one text."""
    return DESIGN.format(words=words, size=size, ink=ink, place=place, x=x, y=y)


def over(first, last):
    """The title over the base from one frame to another."""
    return (
        '[sources.title.title]\ndesign = "trial.toml"\n'
        f'[[overlays]]\nsource = "title"\nin = {first}\nout = {last}\n'
    )


def titled(design, check, *, ground="blue", frames=50, large=False):
    """Verdict of one check of a title that is over a ground for so many frames."""
    body = cuts((ground, 0)) + over(0, frames)
    form = "960x540@25" if large else "480x270@25"
    files = {"trial.toml": design}
    return verdicts(body, form=form, length=frames, files=files)[f"title.{check}"]
