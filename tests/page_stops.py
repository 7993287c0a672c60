"""Stops of the rehearsal page while changes are saved on it."""

from __future__ import annotations

import json
import os
import random
import re
import shutil
import signal
import time
import urllib.request
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

import websockets.sync.client
from forked import Forked

from keyer.kinds.stopping import STOPPED
from keyer.rehearsal.draft import Draft

SAID = f"keyer: {STOPPED}\n"


def page_stopped(folder: Path, name: str, after: float) -> tuple[int | None, list[str]]:
    """Stop the page while changes are saved on it; returns its exit code and what is wrong."""
    sheet = folder / "sheet.toml"
    before = sheet.read_text("utf-8").replace("[sheet]\n", '[sheet]\ntitle = "0"\n')
    sheet.write_text(before, "utf-8")
    read, write = os.pipe()
    process = Forked(folder, "rehearse sheet.toml --no-open --json", write)
    os.close(write)
    with os.fdopen(read) as out:
        address = json.loads(out.readline())["url"]
    sent, confirmed = changing(address, after)
    (os.killpg if name in ("SIGINT", "SIGHUP") else os.kill)(process.pid, getattr(signal, name))
    said = process.communicate(60)[1]
    found = [] if sent else ["nothing was changed"]
    if name != "SIGKILL" and (process.returncode, said) != (130, SAID):
        found.append(f"exit code {process.returncode}, and it says {said!r}")
    if left := [path.name for path in folder.rglob(".*") if path.suffix != ".rehearsal"]:
        found.append(f"{left} are left")
    texts = {number: before.replace('title = "0"', f'title = "{number}"') for number in range(sent)}
    texts[sent] = before.replace('title = "0"', f'title = "{sent}"')
    if sheet.read_text("utf-8") not in texts.values():
        found.append("the sheet is half-written")
    numbers = [number for number, text in texts.items() if Draft(sheet).text == text]
    if not numbers or numbers[0] < confirmed:
        found.append(f"change {confirmed} was confirmed and is lost")
    return process.returncode, found


def changing(address: str, seconds: float) -> tuple[int, int]:
    """Change the title again and again, and save; how many were sent, and how many confirmed."""

    class Still(urllib.request.HTTPRedirectHandler):
        def redirect_request(self, *_: object) -> None:
            return None

    cookie = ""
    try:
        urllib.request.build_opener(Still).open(address)
    except urllib.error.HTTPError as answer:
        cookie = answer.headers["set-cookie"].partition(";")[0]
    host = re.sub(r"/\?.*", "", address)
    sent = confirmed = 0
    with websockets.sync.client.connect(
        f"ws{host[4:]}/live", origin=host, additional_headers={"Cookie": cookie}, max_size=None
    ) as window:
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            sent += 1
            edit = {"act": "set", "path": "sheet.title", "value": str(sent)}
            window.send(json.dumps({"do": "edit", "edits": [edit], "tag": sent}))
            if sent % 3 == 0:
                window.send(json.dumps({"do": "save"}))
            if sent % 2:
                while json.loads(window.recv()).get("tag") != sent:
                    pass
                confirmed = sent
    return sent, confirmed


def page_stops(project: Path, times: int, chance: random.Random, signals: Iterable[str]) -> int:
    """Stop the page with every signal; returns how often anything was wrong."""
    bad = 0
    for name in signals:
        codes: Counter[int | None] = Counter()
        for _ in range(times):
            here = project.with_name("here")
            shutil.copytree(project, here)
            after = chance.uniform(0.02, 0.6)
            code, found = page_stopped(here, name, after)
            codes[code] += 1
            bad += bool(found)
            for fault in found:
                print(f"rehearse, {name} after {after:.3f} s: {fault}")
            shutil.rmtree(here)
        print(f"rehearse, {name}: {times} times, exit codes {dict(codes)}", flush=True)
    return bad
