"""A thousand random edits, undos and views against the schema: each is done or refused in words."""

from __future__ import annotations

import json
import random
import tomllib

import pytest

from keyer.rehearsal.controls import controls
from keyer.rehearsal.draft import Draft
from keyer.rehearsal.live import Live, Window
from keyer.sheet.load import parse_sheet

SHEET = """version = 1
[variables]
accent = "#FFC83D"
[sheet]
format = "64x36@25"
length = 50
[sources]
a = { colour = "#102030" }
b = { gradient = { first = "#00C040", second = "#00B038" } }
c = { checkerboard = {} }
[transitions.house]
kind = "wipe"
pattern = 1
length = 5
[[cues]]
source = "a"
[[cues]]
source = "b"
at = 10
transition = { use = "house", border = 2, border_colour = "${accent}" }
[[overlays]]
source = "b"
in = 5
out = 40
key = { kind = "chroma" }
placement = { scale = 50 }
[[overlays]]
source = "c"
in = 20
transition_in = { kind = "mix", length = 4 }
"""

TABLES = {
    "sheet": ["sheet"],
    "cue": ["cues[0]", "cues[1]"],
    "overlay": ["overlays[0]", "overlays[1]"],
    "source": ["sources.a", "sources.b"],
    "transition": ["cues[0].transition", "cues[1].transition", "overlays[1].transition_in"],
    "modulate": ["cues[1].transition.modulate"],
    "key": ["overlays[0].key", "overlays[1].key"],
    "placement": ["overlays[0].placement", "overlays[1].placement"],
}


def value_of(facts: dict, dice: random.Random) -> object:
    """A value that often fits its control, and often does not."""
    odd = [None, "", "x", "${accent}", "${gone}", -1, 0, 1e9, True, [], [1, 2], {}, "1s", "#12"]
    if dice.random() < 0.3:
        return dice.choice(odd)
    low = 0 if facts["low"] is None else facts["low"]
    high = 100 if facts["high"] is None else facts["high"]
    return {
        "number": lambda: round(dice.uniform(low, high), 2),
        "whole": lambda: dice.randint(int(low), int(high)),
        "switch": lambda: dice.random() < 0.5,
        "choice": lambda: dice.choice(facts["choices"]),
        "colour": lambda: f"#{dice.randrange(2**24):06X}",
        "time": lambda: dice.randint(0, 60),
        "source": lambda: dice.choice("abcd"),
        "numbers": lambda: [round(dice.uniform(low, high), 1) for _ in facts["default"] or [0, 0]],
        "hue": lambda: dice.choice(["auto", "green", dice.uniform(0, 360)]),
        "pattern": lambda: dice.choice([1, 119, "clockWipe", "pushWipe/fromLeft", "gone"]),
    }.get(facts["control"], lambda: dice.choice(["a", "b", "64x36@25", "house"]))()


def random_message(dice: random.Random) -> dict:
    act = dice.random()
    if act < 0.08:
        return {"do": dice.choice(["undo", "redo"])}
    if act < 0.16:
        path = dice.choice(["cues[1]", "overlays[0]", "overlays[2]", "sound[0]", "remarks[0]"])
        kind = dice.choice(["insert", "remove", "move"])
        value = {"insert": {"source": "a", "at": 30}, "move": 0}.get(kind)
        return {"do": "edit", "edits": [{"act": kind, "path": path, "value": value}], "tag": 1}
    table = dice.choice(list(TABLES))
    facts = dice.choice(controls()[table])
    path = f"{dice.choice(TABLES[table])}.{facts['key']}"
    edit = {"act": "set", "path": path, "value": value_of(facts, dice)}
    if dice.random() < 0.15:
        edit = {"act": "remove", "path": path}
    return {"do": "edit", "edits": [edit], "tag": 1, "gesture": dice.choice([None, "drag"])}


def run(folder, seed: int, count: int) -> tuple[int, int]:
    path = folder / f"spot-{seed}.toml"
    path.write_text(SHEET)
    live, window, dice = Live(Draft(path)), Window(), random.Random(seed)  # noqa: S311
    done = refused = 0
    try:
        for _ in range(count):
            live.hear(window, json.loads(json.dumps(random_message(dice))))
            while not window.queue.empty():
                said = window.queue.get_nowait()
                json.dumps(said)
                done += said["do"] == "done"
                refused += said["do"] == "refused"
                words = [one["message"] for one in said.get("faults", ())]
                assert said["do"] != "refused" or all(words)
                assert not any(one.startswith("defect") for one in words), words
            tomllib.loads(live.draft.text)
            parse_sheet(live.draft.text, folder=folder)  # what stands always holds
            live.state()
    finally:
        live.close()
    return done, refused


def test_random_edits_are_done_or_refused(tmp_path):
    done, refused = run(tmp_path, 1, 150)
    assert min(done, refused) > 15


@pytest.mark.slow
def test_a_thousand_random_edits_are_done_or_refused(tmp_path):
    for seed in range(2, 12):
        run(tmp_path, seed, 100)
