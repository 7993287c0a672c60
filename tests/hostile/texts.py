"""Documents that people write, written wrong: TOML by its values and by its letters, and CSV."""

import copy
import datetime as dt
import random
import tomllib
from typing import Any

import tomlkit
from hostile.blobs import hurt

from keyer.documents.refusals import known_keys
from keyer.library.model import LibraryFile
from keyer.sheet.models import Document
from keyer.titles.design import Design
from keyer.titles.pages import PageTable

JUNK: tuple[Any, ...] = (
    "", " ", "x", "\x1b[31mred", "a\nb", "..", "/", "/dev/zero", "../../x", "\0", "é" * 300, "${",
    "${x}", "${accent}", "$${", "{name}", "{", "<b>", "</role>", "#FFF", "#GGGGGG", "red", "1s",
    "-1s", "1e9s", "99:99:99:99", "00:00:00;00", "10:00:00:00", "back.png", "h264.mp4",
    "tone.wav", "spot.toml", "design.toml", "nowhere.png", "shots", "own", "own.otf",
    "shots/shot_%04d.png", "%d%d", "lake", "boat", "guest", "mask", "cut", "mix", "wipe", "fade",
    "chroma", "luminance", "fine", "fast", "linear", "video", "201", "own/steps", "own/slant",
    "pushWipe/fromRight", "starWipe", "1080p25", "64x36@25", "1x1@25", "99999x99999@60",
    "64x36@0", "16384x16384@25", "Source Sans Pro", "\u202e", "\u2028", "😀", "ß" * 40, 0, 1, -1, 2,
    3, 7, 8, 9, 50, 100, 101, 255, 256, 1000, 10**6, 10**9, 2**31, 2**53, 2**63 - 1,
    -(2**63), 10**30, 0.0, -0.0, 0.5, 1.5, 1e-9, 1e-300, 1e300, -1e300, float("nan"),
    float("inf"), float("-inf"), True, False, [], {}, [[]], [{}], [0], [0, 0], [50, 50],
    [1, 2, 3, 4], ["a"], [0, "a"], [[0, 0], [9, 9], [0, 9]], {"kind": "mix"},
    {"kind": "wipe", "pattern": 1}, {"at": 0}, {"x": {"y": {"z": 1}}}, {"use": "house"},
    dt.date(2031, 5, 4), dt.time(7, 32), dt.datetime(2031, 5, 4, 7, 32, tzinfo=dt.UTC),
)  # fmt: skip
"""Values that stand in the wrong place, or just outside of a range."""

MODELS = (Document, Design, LibraryFile, PageTable)

Place = tuple[Any, Any, tuple[Any, ...]]
"""A table or list, a key of it, and the path of the table."""


def places(data: Any) -> list[Place]:
    """Every place of a document where a value stands."""
    found: list[Place] = []
    waiting: list[tuple[Any, tuple[Any, ...]]] = [(data, ())]
    while waiting:
        holder, path = waiting.pop()
        keys = list(holder) if isinstance(holder, dict) else range(len(holder))
        for key in keys:
            found.append((holder, key, path))
            if isinstance(holder[key], dict | list):
                waiting.append((holder[key], (*path, key)))
    return found


def known(path: tuple[Any, ...]) -> list[str]:
    """Keys that the table at a path may have, in a document of whatever kind."""
    return [key for root in MODELS for key in known_keys(path, root)]


def value(rng: random.Random, before: Any) -> Any:
    """A value near another one, or junk."""
    near: list[Any] = []
    match before:
        case bool():
            near = [not before]
        case int():
            near = [before + step for step in (-1, 1, 10, -before, 1000, -1000)]
        case float():
            near = [before * factor for factor in (-1.0, 0.5, 2.0, 1e6)]
        case str():
            part = before[: rng.randrange(len(before) + 1)]
            near = [part, before + part, before.upper(), before[::-1], part + "${hold}"]
        case list() if before:
            item = rng.choice(before)
            near = [before[:-1], [*before, item], [item] * 50, before[::-1]]
    return rng.choice(near if near and rng.random() < 0.5 else JUNK)


def by_value(rng: random.Random, text: str) -> str:
    """Change one to three values of a document, leave keys out, or put others in."""
    data = tomllib.loads(text)
    for _ in range(rng.choice([1, 1, 1, 2, 3])):
        everywhere = places(data)
        if not everywhere:
            break
        holder, key, path = rng.choice(everywhere)
        match rng.choice(["value", "value", "value", "value", "gone", "more", "moved", "many"]):
            case "value":
                holder[key] = copy.deepcopy(value(rng, holder[key]))
            case "gone":
                del holder[key]
            case "more" if isinstance(holder, dict):
                name = rng.choice([*known(path), "extra", "use", "loop", "note"])
                holder[name] = copy.deepcopy(rng.choice(JUNK))
            case "moved":
                other, name, _ = rng.choice(everywhere)
                holder[key] = copy.deepcopy(other[name])
            case "many" if isinstance(holder, list):
                holder.extend([holder[key]] * rng.choice([1, 10, 300]))
    try:
        return tomlkit.dumps(data)
    except (ValueError, TypeError):  # what TOML cannot hold
        return by_letter(rng, text)


def by_letter(rng: random.Random, text: str) -> str:
    """Change lines and signs of a text."""
    lines = text.splitlines()
    n = rng.randrange(len(lines))
    match rng.choice(["gone", "twice", "swap", "sign", "cut", "joined"]):
        case "gone":
            del lines[n]
        case "twice":
            lines.insert(rng.randrange(len(lines)), lines[n])
        case "swap":
            m = rng.randrange(len(lines))
            lines[n], lines[m] = lines[m], lines[n]
        case "sign":
            at = rng.randrange(len(lines[n]) + 1)
            sign = rng.choice(
                [*"\"'[]{}=.,#\\\0\x1b\t\r\ufeff\u2028", "'''", '"""', "[[", "\\u0000"]
            )
            lines[n] = lines[n][:at] + sign + lines[n][at:]
        case "cut":
            lines[n] = lines[n][: len(lines[n]) // 2]
        case "joined":
            lines[n : n + 2] = ["".join(lines[n : n + 2])]
    return "\n".join(lines)


def bomb(rng: random.Random, text: str) -> str:
    """Make a little say very much."""
    many = rng.choice([100, 3_000, 40_000])
    named = f'[variables]\nm = "{"m" * many}"'
    used = f'\n[sources.m]\nfile = "{"${m}" * min(many, 20_000)}"\n'
    bombs = (
        lambda: ".".join("a" for _ in range(many)) + " = 1\n" + text,
        lambda: f"x = {'[' * many}{']' * many}\n" + text,
        lambda: "".join(f"k{n}.a.b.c = {n}\n" for n in range(many)) + text,
        lambda: text.replace("[variables]", named, 1) + used,
        lambda: text + "\n[[cues]]\nsource = 3\n" * many,
        lambda: text + "".join(f'\n[sources.s{n}]\ncolour = "#FFF"\n' for n in range(many)),
        lambda: text + "\n#" + "x" * many * 50,
        lambda: text.replace('"', '"' + "é" * many, 1),
    )
    return rng.choice(bombs)()


def document(rng: random.Random, text: str) -> bytes:
    """A TOML document that is wrong in one way or another."""
    chance = rng.random()
    if chance < 0.7:
        return by_value(rng, text).encode("utf-8", "surrogatepass")
    if chance < 0.9:
        return by_letter(rng, text).encode("utf-8", "surrogatepass")
    if chance < 0.96:
        return hurt(rng, text.encode())
    return bomb(rng, text).encode()


CELLS = (
    "", " ", '"', ";", "\n", "a\nb", "=1+1", "@x", "-1", "é" * 200, "x" * 20_000, "../x",
    "con", "CON.png", "a/b", "\0", "\x1b[2J", "\u2028", "😀", "{name}", "${back}", "#FFF", "#12",
    "h264.mp4", "nowhere.png", "001", "002", "1e400", "<b>", "مرحبا", "日本語の題", ".", "..",
    " 1 ",
)  # fmt: skip


def table(rng: random.Random, text: str) -> bytes:
    """Rows that are wrong in one way or another."""
    import csv
    import io

    if rng.random() < 0.2:
        return hurt(rng, text.encode())
    rows = list(csv.reader(io.StringIO(text)))
    for _ in range(rng.choice([1, 1, 2, 5])):
        row = rng.choice(rows)
        n = rng.randrange(len(row)) if row else 0
        match rng.choice(["cell", "cell", "cell", "gone", "more", "row", "rows", "head"]):
            case "cell" if row:
                row[n] = rng.choice(CELLS)
            case "gone" if row:
                del row[n]
            case "more":
                row.insert(n, rng.choice(CELLS))
            case "row":
                rows.insert(rng.randrange(len(rows)), list(row))
            case "rows":
                rows.extend([f"{k:05d}", *row[1:]] for k in range(rng.choice([3, 30])))
            case "head":
                rows[0] = [name for name in rows[0] if rng.random() < 0.8]
    out = io.StringIO()
    csv.writer(out, delimiter=rng.choice(",,,;\t")).writerows(rows)
    return rng.choice([b"", b"", b"\xef\xbb\xbf"]) + out.getvalue().encode("utf-8", "surrogatepass")
