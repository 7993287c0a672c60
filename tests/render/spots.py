"""Sheets for the tests of clips, and the media that they use."""

import numpy as np
from media.made import HEIGHT, WIDTH, number_of, write_clip
from media.tones import sine, write_sound

from keyer.kinds.timing import RATES
from keyer.media.source import open_source
from keyer.media.write import write_still
from keyer.pixel.colour.load import from_array, load
from keyer.sheet.load import build_sheet

SUFFIXES = {
    "h264": ".mp4",
    "ffv1": ".mkv",
    "ffv1-yuv": ".mkv",
    "prores-hq": ".mov",
    "ffv1-alpha": ".mkv",
    "prores-4444": ".mov",
    "png": ".mov",
    "gif": ".gif",
    "webp": ".webp",
}
FIVE_RATES = ["24", "25", "29.97", "50", "59.94"]
SIZE = f"{WIDTH}x{HEIGHT}"
GREEN = (30, 180, 50)
CARD = {"design": "card.toml", "fields": {"name": "Ann"}}


def sheet_of(folder, rate="25", length=20, **tables):
    data = {
        "version": 1,
        "sheet": {"format": f"{SIZE}@{rate}", "length": length},
        "sources": {"grey": {"colour": "#808080"}},
        "cues": [{"source": "grey"}],
    }
    for name, value in tables.items():
        if isinstance(value, dict):
            data[name] = data.get(name, {}) | value
        else:
            data[name] = value
    return build_sheet(data, folder=folder)


def plate(number, width=WIDTH, height=HEIGHT):
    """A box before a green backing; it moves by a column a frame."""
    picture = np.empty((height, width, 3), np.uint8)
    picture[:] = GREEN
    left = 40 + number % 40
    picture[height // 4 : -height // 4, left : left + 30] = (200, 120, 90)
    return picture


def numbered_sheet(folder, rate, length):
    """A clip of numbered frames at the sheet's own rate."""
    return sheet_of(
        folder,
        rate,
        length,
        sources={"n": {"file": f"n{rate}.mp4"}},
        cues=[{"source": "n"}],
    )


def make_media(folder):
    """Clips of 200 numbered frames at every rate, B-frames and all; a plate; sound; a title."""
    for rate in FIVE_RATES:
        write_clip(folder / f"n{rate}.mp4", frames=200, rate=RATES[rate])
    write_clip(folder / "plate.mp4", frames=40, draw=plate)
    left = sine(1, frequency=440, level=0.25)
    write_sound(folder / "tone.wav", [left, 0.5 * left])
    random = np.random.default_rng(8)
    deep = random.integers(0, 65_536, (HEIGHT, WIDTH, 3)).astype(np.uint16)
    write_still(folder / "deep.png", from_array(deep))
    shade = random.integers(0, 256, (HEIGHT, WIDTH, 4)).astype(np.uint8)
    write_still(folder / "shade.png", from_array(shade))
    (folder / "card.toml").write_text(
        'name = "Card"\n[fields.name]\nexample = "Ann"\n[styles.name]\nsize = 12\n'
        '[[boxes]]\nid = "words"\nplace = "bottom left"\npadding = 3\n'
        '[boxes.panel]\ncolour = "#103050"\n'
        '[[boxes.texts]]\ntext = "${name}"\nstyle = "name"\n',
        encoding="utf-8",
    )


def numbers_in(path):
    source = open_source(path)
    found = [number_of(load(source.read(index))) for index in range(source.props.frames)]
    source.close()
    return found


def effects(base="n25.mp4"):
    """A key over a wipe under a title that is mixed in."""
    return {
        "sources": {
            "a": {"file": base},
            "b": {"file": "n25.mp4", "in": 50},
            "plate": {"file": "plate.mp4"},
            "card": {"title": CARD},
        },
        "cues": [
            {"source": "a"},
            {
                "source": "b",
                "at": 6,
                "transition": {"kind": "wipe", "pattern": "ellipseWipe/circle", "length": 8,
                               "soft": 4, "border": 3, "border_colour": "#FFCC00"},
            },
        ],
        "overlays": [
            {"source": "plate", "key": {"kind": "chroma"}},
            {"source": "card", "in": 3, "transition_in": {"kind": "mix", "length": 4}},
        ],
    }  # fmt: skip
