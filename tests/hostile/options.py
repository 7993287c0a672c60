"""Every option of every command, found in the commands themselves, with values that do not fit."""

import inspect
import random
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from typing import Annotated, Any, get_args, get_origin, get_type_hints

from hostile.texts import JUNK
from typer.models import OptionInfo

from keyer.cli.main import COMMANDS

WORDS = (
    "", " ", "x", "-1", "0", "1", "0.5", "2", "50", "100", "101", "200", "1e9", "1e-9", "nan",
    "inf", "-inf", "1e400", "12345678901234567890", "0x10", "½", "#FFF", "#FFC83D", "#GG", "red",
    "auto", "green", "blue", "120", "picture", "matte", "key-signal", "subject", "spill", "fine",
    "fast", "video", "linear", "mix", "additive", "over", "alpha", "keyfill", "png", "clip", "A3",
    "A4", "edge", "move", "3", "4f", "0.12s", "00:00:00:05", "99:00:00:00", "10,10,5,5",
    "0,0,64,36", "-1,0,1,1", "1,2", "50,50", "a,b", "1,1,1,1,1", "1:2:3", "rectangle:0,0,50,50:5",
    "ellipse:50,50,20,20", "polygon:0,0,50,0,0,50", "polygon:0,0", "circle:1", "grey.png",
    "sine,5,20", "noise,5,20,90,3", "saw,nan,1", "sine,1e9,1e-9", "201", "barWipe", "own/steps",
    "pushWipe", "fade/fadeToColor", "h264", "prores-hq", "prores-4444", "ffv1", "ffv1-yuv", "gif",
    "ffv1-alpha",
    "name=Ann", "name=", "=", "role=\\n\\n", "name=\x1b[31m", "nobody=1", "accent=#12",
    "cues[0].source=lake,tiles", "cues[9].x=1", "x=", "variables.hold=2,3",
    "overlays[0].placement.scale=50,90", "cues[1].transition.soft=0,5", "sheet.length=4,8",
    "file", "name", "#remark", "64x36@25", "32x18@50", "720p", "1x1@1", "1080p25", "é" *200,
    "a\nb", "\x1b[2J", "tcp://127.0.0.1:9", "7", "8", "9999", "10000",
)  # fmt: skip

PATHS = (
    "back.png", "plate.png", "grey.png", "h264.mp4", "spot.toml", "desk.toml", "design.toml",
    "names.csv", "own", "shots", "shots/shot_%04d.png", "shots/shot_####.png", "still.png",
    "board.png", "pages", "nowhere.png", ".", "..", "/", "", "nowhere/x.png", "out/x.png",
    "out/x.jpg", "out/x.tif", "out/x.webp", "out/x.mp4", "out/x.mov", "out/x.mkv", "out/x.gif",
    "out/x.pdf", "out/x.html", "out/x.csv", "out/x", "out/.png", "out/x.PNG", "out",
    "out/" + "n" *300 + ".png", "out/" + "é" *120 + ".png", "out/a\nb.png", "out/\x1b[2J.png",
    "out/%04d.png", "out/\udcff.png", "\udcff.png", "/dev/null", "/dev/full", "/dev/zero",
    "/proc/self/mem", "out/x.png/y.png",
)  # fmt: skip


@dataclass(frozen=True)
class Option:
    """An option or argument of a command."""

    names: tuple[str, ...]
    kind: type
    several: bool = False

    @property
    def is_switch(self) -> bool:
        return self.kind is bool


@cache
def options(command: str) -> tuple[Option, ...]:
    """Read the options of a command off its function, so that none is forgotten."""
    function = getattr(import_module(f"keyer.cli.{command}"), command)
    hints = get_type_hints(function, include_extras=True)
    found = []
    for name in inspect.signature(function).parameters:
        kind, info = _parts(hints[name])
        said = (info.default, *(info.param_decls or ())) if isinstance(info, OptionInfo) else ()
        names = tuple(word for word in said if isinstance(word, str) and word.startswith("-"))
        several = get_origin(kind) is list
        found.append(Option(names, get_args(kind)[0] if several else kind, several))
    return tuple(found)


def _parts(hint: Any) -> tuple[Any, Any]:
    """The kind of value inside an annotation, and what it says to the parser."""
    info = None
    while get_origin(hint) is Annotated:
        hint, info = get_args(hint)
    inner = [part for part in get_args(hint) if part is not type(None)]
    if get_origin(hint) is not list and inner:
        hint = inner[0]
    return hint, info


def wrong_value(rng: random.Random, option: Option) -> str:
    """Something for an option that need not be of its kind."""
    name = option.kind.__name__
    if name == "Path" and rng.random() < 0.8:
        return rng.choice(PATHS)
    if rng.random() < 0.1:
        return str(rng.choice(JUNK)).replace("\0", "")
    return rng.choice(WORDS if rng.random() < 0.9 else PATHS)


def changed(rng: random.Random, words: list[str]) -> list[str]:
    """Change the options of a good command line in one to three places."""
    words = list(words)
    known = options(words[0])
    for _ in range(rng.choice([1, 1, 1, 2, 3])):
        named = [option for option in known if option.names]
        option = rng.choice(named) if named else None
        match rng.choice(["add", "add", "add", "add", "value", "gone", "twice", "odd"]):
            case "add" if option:
                words += _written(rng, option)
            case "value":
                n = rng.randrange(1, len(words)) if len(words) > 1 else 0
                words[n:] = (
                    [wrong_value(rng, rng.choice(known)), *words[n + 1 :]] if n else words[n:]
                )
            case "gone" if len(words) > 1:
                del words[rng.randrange(1, len(words))]
            case "twice":
                words += words[rng.randrange(len(words)) :]
            case "odd":
                words.append(
                    rng.choice(["--nothing", "-x", "--", "---", "--json=1", "--help", "-", "extra"])
                )
    return words


def _written(rng: random.Random, option: Option) -> list[str]:
    name = rng.choice(option.names)
    if option.is_switch:
        return [name]
    text = wrong_value(rng, option)
    return [f"{name}={text}"] if name.startswith("--") and rng.random() < 0.5 else [name, text]


def every_option() -> list[tuple[str, Option]]:
    """All options of all commands."""
    return [(command, option) for command in COMMANDS for option in options(command)]
