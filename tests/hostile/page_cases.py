"""What the rehearsal page is asked for: messages of its windows, requests, files dropped on it."""

import copy
import json
import random
from pathlib import Path
from typing import Any

from hostile.blobs import hurt
from hostile.case import Case
from hostile.containers import damaged
from hostile.project import CLIPS, SOUNDS, STILLS
from hostile.texts import JUNK, places, value

SCALE = "overlays[0].placement.scale"
WIPE = "cues[1].transition"
PAPERS = ("check", "report", "cues", "board", "variations", "still", "clip", "client", "approve")

MESSAGES: tuple[dict[str, Any], ...] = (
    {"do": "edit", "edits": [{"act": "set", "path": SCALE, "value": 70}], "label": "smaller",
     "gesture": "drag"},
    {"do": "edit", "edits": [{"act": "set", "path": f"{WIPE}.soft", "value": 7}], "tag": 3},
    {"do": "edit", "edits": [{"act": "remove", "path": "overlays[1].placement"}]},
    {"do": "edit", "edits": [{"act": "insert", "path": "cues[3]",
                              "value": {"source": "lake", "at": 7}}]},
    {"do": "edit", "edits": [{"act": "move", "path": "overlays[0]", "value": 2},
                             {"act": "set", "path": "variables.hold", "value": 4}]},
    {"do": "edit", "edits": [{"act": "set", "path": "sources.new", "value": {"file": "grey.png"}},
                             {"act": "set", "path": "overlays[1].source", "value": "new"}]},
    {"do": "undo"}, {"do": "redo"}, {"do": "save"}, {"do": "choose", "theirs": True},
    {"do": "show", "frame": 3}, {"do": "show", "frame": 5, "rows": 90, "view": "matte", "tag": 1},
    {"do": "show", "frame": 2, "rows": 90, "of": "before"},
    {"do": "small", "frames": [0, 3, 7], "rows": 90}, {"do": "ahead", "frames": [4, 5], "rows": 90},
    {"do": "wall", "path": WIPE}, {"do": "measure", "frame": 4, "path": "overlays[0].key"},
    {"do": "measure", "frame": 6, "path": "sources.guest.title"},
    {"do": "vary", "frame": 4, "choices": [{"path": SCALE, "values": [50, 60]},
                                           {"path": f"{WIPE}.soft", "values": [0, 9]}]},
    {"do": "compare", "with": "desk.toml"}, {"do": "compare", "with": "saved"}, {"do": "stop"},
    *({"do": "make", "paper": paper, "frame": 4,
       "choices": [{"path": SCALE, "values": [50, 60]}]} for paper in PAPERS),
)  # fmt: skip
REQUESTS = (
    ("GET", "/exact/4", "view=picture", b""),
    ("GET", "/exact/5", "view=key-signal", b""),
    ("GET", "/sound", "", b""),
    ("GET", "/wave/0", "", b""),
    ("GET", "/controls", "", b""),
    ("GET", "/static/main.js", "", b""),
    ("GET", "/face/400", "", b""),
    ("GET", "/", "", b""),
    ("POST", "/remarks", "", b'{"remarks": [{"at": 3, "text": "Slower?", "by": "Wren"}]}'),
)


def _message(rng: random.Random) -> str | bytes:
    said = copy.deepcopy(rng.choice(MESSAGES))
    for _ in range(rng.choice([0, 0, 1, 1, 2])):
        holder, key, _path = rng.choice(places(said))
        holder[key] = copy.deepcopy(value(rng, holder[key]))
    text = json.dumps(said, default=str)
    if rng.random() < 0.05:
        deep = "[" * rng.choice([50, 400, 30_000])
        return rng.choice([hurt(rng, text.encode()), text[:-3], deep, deep + "]" * len(deep)])
    return text


def _request(rng: random.Random) -> tuple[str, str, str, bytes]:
    method, path, query, body = rng.choice(REQUESTS)
    match rng.randrange(6):
        case 0:
            junk = str(rng.choice(JUNK))
            path = f"{path.rpartition('/')[0]}/{junk}" if rng.random() < 0.7 else f"/{junk}"
        case 1:
            query = f"view={rng.choice(JUNK)}"
        case 2 if body:
            body = hurt(rng, body)
        case 3 if body:
            said = json.loads(body)
            holder, key, _path = rng.choice(places(said))
            holder[key] = copy.deepcopy(value(rng, holder[key]))
            body = json.dumps(said, default=str).encode()
    return method, path, query, body


def asked(rng: random.Random, folder: Path) -> Case:
    """Some messages and requests, of which some are wrong."""
    del folder
    wanted = [
        _request(rng) if rng.random() < 0.25 else _message(rng) for _ in range(rng.randint(2, 9))
    ]
    return Case(["rehearse", "spot.toml", "--no-open"], asked=tuple(wanted))


def arrived(rng: random.Random, folder: Path) -> Case:
    """Damaged files that are dropped on the page, and put into the sheet."""
    wanted: list[Any] = []
    for _ in range(rng.choice([1, 1, 2])):
        name = rng.choice([*STILLS, *CLIPS, *SOUNDS, "names.csv"])
        data = damaged(rng, name, (folder / name).read_bytes())
        said = name if rng.random() < 0.7 else str(rng.choice([*JUNK, f"../{name}", f"é{name}"]))
        wanted.append(("POST", "/arrive", f"name={said}", data))
        source = {"act": "set", "path": "sources.new", "value": {"file": f"media/{name}"}}
        use = {"act": "set", "path": "cues[0].source", "value": "new"}
        wanted.append(json.dumps({"do": "edit", "edits": [source, use]}))
        wanted.append(json.dumps({"do": "show", "frame": 1, "rows": 90}))
        wanted.append(("GET", "/exact/1", "", b""))
    return Case(["rehearse", "spot.toml", "--no-open"], asked=tuple(wanted))
