"""What `keyer` itself has written, changed; options; and files that are none."""

import contextlib
import hashlib
import io
import json
import os
import random
import struct
import zipfile
import zlib
from pathlib import Path

from hostile.blobs import hurt
from hostile.case import Case, order
from hostile.containers import damaged
from hostile.options import PATHS, changed
from hostile.orders import GOOD_ORDERS, MEETING
from hostile.project import png_chunk
from hostile.texts import by_value, value


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
    return Case(order(rng, orders, p=name))


def approved(rng: random.Random, folder: Path) -> Case:
    """An approved version, as it came by mail."""
    file = folder / "desk.approved.zip"
    data = file.read_bytes()
    if rng.random() < 0.4:
        with zipfile.ZipFile(io.BytesIO(data)) as old:
            members = {name: old.read(name) for name in old.namelist()}
        facts = json.loads(members["approval.json"])
        key = rng.choice(list(facts))
        facts[key] = value(rng, facts[key])
        members["approval.json"] = json.dumps(facts, default=str).encode("utf-8", "replace")
        with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as new:
            for name, content in members.items():
                new.writestr(zipfile.ZipInfo(name), content)  # without the time of day
    else:
        file.write_bytes(damaged(rng, file.name, data))
    orders = (
        "compare desk.approved.zip desk.toml",
        "compare desk.approved.zip desk.toml -o out/o.html",
        "compare desk.approved.zip spot.toml -o out/o.png --json",
        "cues desk.toml -o out/o.html",
        "cues desk.toml -o out/o.csv --json",
        "remake still.png -o out/o.png",
    )
    return Case(order(rng, orders))


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
    if words[0] == "demo":  # which would render for some seconds where it may
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


STRANGE = [path.removeprefix("out/") for path in PATHS if path.startswith("out/")] + ["\udcff.png"]
"""Names that an input may come under."""


def special(rng: random.Random, folder: Path) -> Case:
    """Not a plain file where one is wanted, or one of a strange name."""
    name = rng.choice(list(MEETING))
    file = folder / name
    words = rng.choice(MEETING[name]).split()
    if rng.random() < 0.4 and name in words:
        other = rng.choice(STRANGE)
        with contextlib.suppress(OSError, ValueError):
            file.rename(folder / other)
        return Case([other if word == name else word for word in words])
    file.unlink()
    makers = (
        lambda: os.mkfifo(file),
        lambda: file.symlink_to("/dev/zero"),
        lambda: file.symlink_to(file),
        file.mkdir,
        lambda: file.symlink_to("/dev/null"),
        lambda: file.symlink_to("nowhere"),
        lambda: file.symlink_to("/dev/urandom"),
        lambda: file.write_text("#EXTM3U\n#EXTINF:1,\nh264.ts\n#EXT-X-ENDLIST\n"),
        lambda: file.write_text("ffconcat version 1.0\nfile h264.ts\n"),
    )
    rng.choice(makers)()
    return Case(words)
