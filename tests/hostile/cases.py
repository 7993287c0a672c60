"""Hostile cases: a kind of input, damaged in a copy of the good project, and a command on it."""

import contextlib
import hashlib
import json
import os
import random
import struct
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from hostile.blobs import hurt
from hostile.containers import damaged
from hostile.options import PATHS, changed
from hostile.orders import (
    BATCH_ORDERS,
    CLIP_ORDERS,
    GOOD_ORDERS,
    PICTURE_ORDERS,
    SHEET_ORDERS,
    TITLE_ORDERS,
)
from hostile.project import SOUNDS, STILLS, png_chunk
from hostile.texts import by_value, document, table, value

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


@dataclass(frozen=True)
class Case:
    """A command to run in a folder that holds something hostile.

    Attributes
    ----------
    words : list of str
        The command line.
    watched : str
        A damaged picture or clip whose good form has the same name in the good project; or empty.
    """

    words: list[str]
    watched: str = ""


def _order(rng: random.Random, orders: tuple[str, ...], **names: str) -> list[str]:
    words = rng.choice(orders).split()
    return [word.format(**names) if "{" in word else word for word in words]


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
        return Case(_order(rng, PICTURE_ORDERS, p="other.mp4"))
    _one_sheet(rng, folder, name)
    return Case(_order(rng, PICTURE_ORDERS, p=name), name)


def clip(rng: random.Random, folder: Path, names: tuple[str, ...]) -> Case:
    name = rng.choice(names)
    (folder / name).write_bytes(damaged(rng, name, (folder / name).read_bytes()))
    _one_sheet(rng, folder, name)
    return Case(_order(rng, CLIP_ORDERS, p=name), name)


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
    return Case(_order(rng, CLIP_ORDERS, p=name))


def sound(rng: random.Random, folder: Path) -> Case:
    name = rng.choice(tuple(SOUNDS))
    (folder / name).write_bytes(damaged(rng, name, (folder / name).read_bytes()))
    more = rng.choice(["", "in = 2", "out = 6", "at = 3", "fade_in = 3", "level = 20"])
    with (folder / "desk.toml").open("a", encoding="utf-8") as sheet:
        sheet.write(f'\n[[sound]]\nfile = "{name}"\n{more}\n')
    return Case(_order(rng, SHEET_ORDERS, s="desk.toml"))


def sheet(rng: random.Random, folder: Path) -> Case:
    name = rng.choice(["spot.toml", "spot.toml", "desk.toml"])
    file = folder / name
    file.write_bytes(document(rng, file.read_text(encoding="utf-8")))
    return Case(_order(rng, SHEET_ORDERS, s=name))


def include(rng: random.Random, folder: Path) -> Case:
    file = folder / "house.toml"
    if rng.random() < 0.2:
        name = rng.choice(
            ["spot.toml", "house.toml", "../x", "/dev/zero", ".", "back.png", "nowhere.toml"]
        )
        text = file.read_text(encoding="utf-8")
        file.write_text(f"include = [{json.dumps(name)}]\n{text}", encoding="utf-8")
    else:
        file.write_bytes(document(rng, file.read_text(encoding="utf-8")))
    return Case(_order(rng, SHEET_ORDERS, s="spot.toml"))


def design(rng: random.Random, folder: Path) -> Case:
    file = folder / "design.toml"
    file.write_bytes(document(rng, file.read_text(encoding="utf-8")))
    return Case(_order(rng, TITLE_ORDERS))


def font(rng: random.Random, folder: Path) -> Case:
    file = folder / "own.otf"
    file.write_bytes(damaged(rng, file.name, file.read_bytes()))
    return Case(_order(rng, TITLE_ORDERS))


def page(rng: random.Random, folder: Path) -> Case:
    file = rng.choice([path for path in sorted((folder / "pages").rglob("*")) if path.is_file()])
    if file.suffix == ".toml":
        file.write_bytes(document(rng, file.read_text(encoding="utf-8")))
    else:
        file.write_bytes(damaged(rng, file.name, file.read_bytes()))
    orders = (
        "title 7 -o out/o.png --format 64x36@25",
        "title --list",
        "title --list --json",
        "title 7 --save 8",
        "still spot.toml --at 6 -o out/o.png",
        "check spot.toml",
    )
    return Case(_order(rng, orders))


def pattern(rng: random.Random, folder: Path) -> Case:
    file = folder / "own/more.toml"
    if rng.random() < 0.6:
        file.write_bytes(document(rng, file.read_text(encoding="utf-8")))
    else:
        file = folder / "own/steps.png"
        file.write_bytes(damaged(rng, file.name, file.read_bytes()))
    orders = (
        "patterns --patterns own --json",
        "patterns --patterns own --gallery out/o.png --family edge",
        "wipe back.png plate.png -o out/o.png --patterns own --pattern own/slant",
        "wipe back.png plate.png -o out/o.png --patterns own --pattern own/steps --soft 3",
        "still spot.toml --at 7 -o out/o.png",
        "sheet spot.toml",
    )
    return Case(_order(rng, orders))


def rows(rng: random.Random, folder: Path) -> Case:
    file = folder / "names.csv"
    file.write_bytes(table(rng, file.read_text(encoding="utf-8")))
    return Case(_order(rng, BATCH_ORDERS, r="names.csv"))


def workbook(rng: random.Random, folder: Path) -> Case:
    file = folder / "names.xlsx"
    file.write_bytes(damaged(rng, file.name, file.read_bytes()))
    return Case(_order(rng, BATCH_ORDERS, r="names.xlsx"))


def notes(rng: random.Random, folder: Path) -> Case:
    """What a picture says of how it was made, changed, with all sums right."""
    name = rng.choice(["still.png", "board.png"])
    data = (folder / name).read_bytes()
    at = data.index(b"keyer\0") - 8
    (size,) = struct.unpack_from(">I", data, at)
    kind, body = data[at + 4 : at + 8], data[at + 8 : at + 8 + size]
    text = body.rpartition(b"\0")[2]
    told = json.loads(zlib.decompress(text) if kind == b"zTXt" or body[6:7] == b"\1" else text)
    if rng.random() < 0.4:
        told["sheet"] = by_value(rng, told["sheet"])
    else:
        key = rng.choice(list(told))
        told[key] = value(rng, told[key])
    written = json.dumps(told, default=str).encode("latin-1", "replace")
    if rng.random() < 0.1:
        written = hurt(rng, written)
    chunk = png_chunk(b"zTXt", b"keyer\0\0" + zlib.compress(written))
    (folder / name).write_bytes(data[:at] + chunk + data[at + 12 + size :])
    orders = (
        "remake {p} -o out/o.png",
        "remake {p} -o out/o.png --json",
        "remake {p} -o out/o.png --cell 1",
    )
    return Case(_order(rng, orders, p=name))


def journal(rng: random.Random, folder: Path) -> Case:
    """Changes that were not saved, as a crash may have left them."""
    said = [{"base": hashlib.sha256((folder / "spot.toml").read_bytes()).hexdigest()}]
    texts = [by_value(rng, (folder / "spot.toml").read_text(encoding="utf-8")) for _ in range(3)]
    said += [{"text": text, "label": rng.choice(["", "moved", "\x1b[2J"])} for text in texts]
    lines = [json.dumps(one).encode() for one in said]
    if rng.random() < 0.5:
        lines[rng.randrange(4)] = rng.choice([b"", b"[" * 100_000, b"null", b"{}", b'{"text": 3}'])
    data = b"\n".join(lines)
    path = folder / ".spot.toml.rehearsal"
    path.write_bytes(hurt(rng, data) if rng.random() < 0.5 else data)
    return Case(["rehearse", "spot.toml", "--no-open"])


def options(rng: random.Random, folder: Path) -> Case:
    words = changed(rng, rng.choice(GOOD_ORDERS).split())
    if words[0] == "demo":  # which would draw for half a minute where it may
        words = ["demo", rng.choice(["own", "spot.toml", "", "nowhere/x", "\udcff/x", "/dev/null"])]
    return Case(
        [
            word.encode("utf-8", "surrogateescape").decode("utf-8", "surrogateescape")
            for word in words
        ]
    )


def resumed(rng: random.Random, folder: Path) -> Case:
    """A folder of results that something has happened to, and more of the same."""
    from keyer.cli.main import perform

    (folder / "out/set").mkdir(exist_ok=True)
    perform(["batch", "desk.toml", "names.csv", "-d", "out/set", "--jobs", "1"])
    files = sorted(path for path in (folder / "out/set").iterdir())
    if files:
        file = rng.choice(files)
        match rng.randrange(5):
            case 0:
                file.unlink()
            case 1:
                file.unlink()
                file.mkdir()
            case _:
                file.write_bytes(damaged(rng, file.name, file.read_bytes()))
    more = rng.choice(["--resume", "--resume", "--resume --contact out/proof.png", "--force", ""])
    return Case(f"batch desk.toml names.csv -d out/set --jobs 1 {more}".split())


def special(rng: random.Random, folder: Path) -> Case:
    """Not a plain file where one is wanted, or one of a strange name."""
    inputs = (
        "back.png", "h264.mp4", "spot.toml", "desk.toml", "house.toml", "design.toml",
        "names.csv", "names.xlsx", "own.otf", "tone.wav", "own/more.toml", "own/steps.png",
        "pages/0007.toml", "still.png", "shots/shot_0002.png",
    )  # fmt: skip
    name = rng.choice(inputs)
    file = folder / name
    words = rng.choice([order for order in GOOD_ORDERS if "demo" not in order]).split()
    if rng.random() < 0.5 and name in words:
        other = rng.choice(
            [
                path
                for path in PATHS
                if path.startswith("out/x") or "\udcff" in path or "n" * 9 in path
            ]
        )
        other = other.removeprefix("out/")
        with contextlib.suppress(OSError):
            file.rename(folder / other)
        return Case([other if word == name else word for word in words])
    file.unlink()
    match rng.randrange(8):
        case 0:
            os.mkfifo(file)
        case 1:
            file.symlink_to("/dev/zero")
        case 2:
            file.symlink_to(file)
        case 3:
            file.mkdir()
        case 4:
            file.symlink_to("/dev/null")
        case 5:
            file.symlink_to("nowhere")
        case 6:
            file.symlink_to("/dev/urandom")
        case 7:
            file.write_text("#EXTM3U\n#EXTINF:1,\nh264.ts\n#EXT-X-ENDLIST\n", encoding="utf-8")
    return Case(words)


Kind = Callable[[random.Random, Path], Case]

KINDS: dict[str, Kind] = {
    "png": lambda rng, folder: still(rng, folder, (".png",)),
    "photo": lambda rng, folder: still(rng, folder, (".jpg", ".webp")),
    "tiff": lambda rng, folder: still(rng, folder, (".tif",)),
    "h264": lambda rng, folder: clip(rng, folder, ("h264.mp4", "h264.ts", "h264.mkv")),
    "lossless": lambda rng, folder: clip(
        rng, folder, ("ffv1.mkv", "ffv1-old.avi", "png.mov", "turn.gif")
    ),
    "lossy": lambda rng, folder: clip(
        rng, folder, ("mpeg2.mpg", "mpeg4.avi", "prores.mov", "mjpeg.avi", "vp9.webm")
    ),
    "sequence": sequence,
    "sound": sound,
    "sheet": sheet,
    "include": include,
    "design": design,
    "font": font,
    "page": page,
    "pattern": pattern,
    "rows": rows,
    "workbook": workbook,
    "notes": notes,
    "journal": journal,
    "options": options,
    "resumed": resumed,
    "special": special,
}


def kind_of(number: int, kinds: tuple[str, ...]) -> str:
    """Kinds take turns, so that all are met equally often."""
    return kinds[number % len(kinds)]


def make(seed: int, number: int, kind: str, folder: Path) -> Case:
    """Make a case in a copy of the good project.

    Parameters
    ----------
    seed, number : int
        The same ones make the same case.
    kind : str
    folder : Path
    """
    return KINDS[kind](random.Random(f"{seed} {number} {kind}"), folder)  # noqa: S311  no secret
