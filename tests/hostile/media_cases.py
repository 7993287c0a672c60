"""Damaged pictures, clips, sequences and sound, and commands that meet them."""

import json
import random
from pathlib import Path

from hostile.case import Case, order
from hostile.containers import damaged
from hostile.orders import CLIP_ORDERS, PICTURE_ORDERS, SHEET_ORDERS
from hostile.project import SOUNDS, STILLS

ONE = """\
version = 1
[sheet]
format = "64x36@25"
length = 8
[sources.a]
file = {file}
{more}
[sources.b]
colour = "#203040"
[[cues]]
source = "b"
transition = {{ kind = "fade", length = 2 }}
[[cues]]
source = "a"
at = 2
transition = {{ kind = "{kind}", length = 2 }}
[[overlays]]
source = "a"
in = 4
{key}
"""


def _one_sheet(rng: random.Random, folder: Path, name: str) -> None:
    more = rng.choice(
        ["", "", "in = 2", "loop = true", "speed = 2", "out = 5", "in = 1\nspeed = 0.5"]
    )
    key = rng.choice(
        ["", 'key = { kind = "luminance" }', "placement = { scale = 50 }", "opacity = 0.5"]
    )
    kind = rng.choice(["mix", "additive", "non-additive"])
    text = ONE.format(file=json.dumps(name), more=more, key=key, kind=kind)
    (folder / "one.toml").write_text(text, encoding="utf-8", errors="surrogateescape")


def still(rng: random.Random, folder: Path, suffixes: tuple[str, ...]) -> Case:
    name = rng.choice([name for name in STILLS if name.endswith(suffixes)])
    data = damaged(rng, name, (folder / name).read_bytes())
    (folder / name).write_bytes(data)
    if rng.random() < 0.1:  # said to be another kind
        (folder / "other.mp4").write_bytes(data)
        _one_sheet(rng, folder, "other.mp4")
        return Case(order(rng, PICTURE_ORDERS, p="other.mp4"))
    _one_sheet(rng, folder, name)
    return Case(order(rng, PICTURE_ORDERS, p=name), name)


def clip(rng: random.Random, folder: Path, names: tuple[str, ...]) -> Case:
    name = rng.choice(names)
    (folder / name).write_bytes(damaged(rng, name, (folder / name).read_bytes()))
    _one_sheet(rng, folder, name)
    return Case(order(rng, CLIP_ORDERS, p=name), name)


def sequence(rng: random.Random, folder: Path) -> Case:
    file = folder / f"shots/shot_{rng.randint(1, 4):04d}.png"
    match rng.randrange(6):
        case 0:
            file.unlink()
        case 1:
            file.write_bytes((folder / rng.choice(STILLS)).read_bytes())
        case 2:
            file.rename(
                file.with_name(
                    rng.choice(["shot_9.png", "shot_0100.png", "x.png", "shot_00002.png"])
                )
            )
        case 3:
            (folder / "shots/other_1.png").write_bytes(file.read_bytes())
        case _:
            file.write_bytes(damaged(rng, file.name, file.read_bytes()))
    name = rng.choice(["shots", "shots/shot_%04d.png", "shots/shot_####.png", "shots/shot_%d.png"])
    _one_sheet(rng, folder, name)
    return Case(order(rng, CLIP_ORDERS, p=name))


def sound(rng: random.Random, folder: Path) -> Case:
    name = rng.choice(tuple(SOUNDS))
    (folder / name).write_bytes(damaged(rng, name, (folder / name).read_bytes()))
    more = rng.choice(["", "in = 2", "out = 6", "at = 3", "fade_in = 3", "level = 20"])
    with (folder / "desk.toml").open("a", encoding="utf-8") as sheet:
        sheet.write(f'\n[[sound]]\nfile = "{name}"\n{more}\n')
    return Case(order(rng, SHEET_ORDERS, s="desk.toml"))
