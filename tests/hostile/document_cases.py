"""Documents, tables and fonts that are wrong, and commands that meet them."""

import json
import random
from pathlib import Path

from hostile.case import Case, order
from hostile.containers import damaged
from hostile.options import WORDS
from hostile.orders import BATCH_ORDERS, SHEET_ORDERS, TITLE_ORDERS
from hostile.texts import JUNK, document, table


def sheet(rng: random.Random, folder: Path) -> Case:
    name = rng.choice(["spot.toml", "spot.toml", "desk.toml"])
    file = folder / name
    file.write_bytes(document(rng, file.read_text(encoding="utf-8")))
    return Case(order(rng, SHEET_ORDERS, s=rng.choice([name, "spot.toml"])))  # it lies in the spot


def variable(rng: random.Random, folder: Path) -> Case:
    """Another value for a variable of the sheet."""
    del folder
    name = rng.choice(["back", "back", "hold", "hold", "accent", "nobody", "", "sheet.length"])
    text = str(rng.choice(JUNK)) if rng.random() < 0.7 else rng.choice(WORDS)
    words = order(rng, SHEET_ORDERS, s=rng.choice(["spot.toml", "desk.toml"]))
    if words[0] == "rehearse":
        words = ["sheet", "spot.toml"]
    said = f"{name}={text}".replace("\0", "")
    return Case([*words, "--set", said.encode("utf-8", "replace").decode("utf-8")])


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
    return Case(order(rng, SHEET_ORDERS, s="spot.toml"))


def design(rng: random.Random, folder: Path) -> Case:
    file = folder / "design.toml"
    file.write_bytes(document(rng, file.read_text(encoding="utf-8")))
    return Case(order(rng, TITLE_ORDERS))


def results(rng: random.Random, folder: Path) -> Case:
    file = folder / "results.toml"
    file.write_bytes(document(rng, file.read_text(encoding="utf-8")))
    return Case(["table", "results.toml", "names.csv", "-o", "out/o.png", "--format", "64x36@25"])


def font(rng: random.Random, folder: Path) -> Case:
    file = folder / "own.otf"
    file.write_bytes(damaged(rng, file.name, file.read_bytes()))
    return Case(order(rng, TITLE_ORDERS))


def page(rng: random.Random, folder: Path) -> Case:
    file = rng.choice([path for path in sorted((folder / "pages").rglob("*")) if path.is_file()])
    if file.suffix == ".toml":
        file.write_bytes(document(rng, file.read_text(encoding="utf-8")))
    else:
        file.write_bytes(damaged(rng, file.name, file.read_bytes()))
    orders = (
        "title 7 -o out/o.png --format 64x36@25",
        "pages list",
        "pages draw -d out/set --format 64x36@25",
        "pages export 7 -o out/set",
        "pages list --json",
        "title 7 --save 8",
        "still spot.toml --at 6 -o out/o.png",
        "check spot.toml",
    )
    return Case(order(rng, orders))


def pattern(rng: random.Random, folder: Path) -> Case:
    file = folder / "own/more.toml"
    if rng.random() < 0.6:
        file.write_bytes(document(rng, file.read_text(encoding="utf-8")))
    else:
        file = folder / "own/steps.png"
        file.write_bytes(damaged(rng, file.name, file.read_bytes()))
    orders = (
        "patterns --patterns own --json",
        "patterns --patterns own --chart out/o.png --family edge",
        "wipe back.png plate.png -o out/o.png --patterns own --pattern own/slant",
        "wipe back.png plate.png -o out/o.png --patterns own --pattern own/steps --soft 3",
        "still spot.toml --at 7 -o out/o.png",
        "sheet spot.toml",
    )
    return Case(order(rng, orders))


def rows(rng: random.Random, folder: Path) -> Case:
    file = folder / "names.csv"
    file.write_bytes(table(rng, file.read_text(encoding="utf-8")))
    return Case(order(rng, BATCH_ORDERS, r="names.csv"))


def workbook(rng: random.Random, folder: Path) -> Case:
    file = folder / "names.xlsx"
    file.write_bytes(damaged(rng, file.name, file.read_bytes()))
    return Case(order(rng, BATCH_ORDERS, r="names.xlsx"))
