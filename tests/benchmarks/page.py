"""How fast the rehearsal page is, measured in a browser on a 1080p sheet shown at 540 rows.

Run it on a quiet machine: `python tests/benchmarks/page.py [SHEET]`; without a sheet it makes one
with a key, a wipe and a title. Each figure is told with what it is held against.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import statistics
import sys
import tempfile
import time
import wave
from pathlib import Path

import numpy as np
from PIL import Image

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from rehearsal.browser import CHROMIUM, OPTIONS, served

SHEET = """version = 1
[sheet]
format = "1080p{rate}"
length = "{seconds}s"
[sources]
a = {{ file = "a.png" }}
b = {{ file = "b.png" }}
subject = {{ file = "green.png" }}
title = {{ title = {{ design = "design.toml", fields = {{ words = "Quillmere" }} }} }}
[[cues]]
source = "a"
[[cues]]
source = "b"
at = "1s"
transition = {{ kind = "wipe", pattern = "clockWipe/clockwiseTwelve", length = "{wipe}s", soft = 1, border = 1 }}
[[overlays]]
name = "Subject"
source = "subject"
key = {{ kind = "chroma" }}
[[overlays]]
source = "title"
[[sound]]
file = "guide.wav"
"""  # noqa: E501
DESIGN = """name = "One line"
[fields.words]
example = "Words"
[styles.words]
size = 6
[[boxes]]
id = "words"
place = "bottom left"
[[boxes.texts]]
text = "${words}"
style = "words"
"""


def pictures(folder: Path) -> None:
    """Two grounds with detail, and a subject with soft edges before a green wall."""
    rows, columns = np.mgrid[0:1080, 0:1920].astype(np.float32)
    noise = np.random.default_rng(3).normal(0, 6, (1080, 1920)).astype(np.float32)
    for name, turn in (("a", 0.0), ("b", 1.3)):
        waves = [
            110 + 80 * np.sin(rows / (40 + 9 * n) + turn) * np.cos(columns / 70 + n) + noise
            for n in range(3)
        ]
        Image.fromarray(np.stack(waves, 2).clip(0, 255).astype(np.uint8)).save(
            folder / f"{name}.png"
        )
    far = np.hypot((columns - 960) / 420, (rows - 700) / 520)
    matte = np.clip((1 - far) * 40, 0, 1)[..., None]
    wall = np.array([40, 180, 60], np.float32) + noise[..., None] / 3
    subject = np.array([150, 120, 100], np.float32) + noise[..., None]
    plate = matte * subject + (1 - matte) * wall
    Image.fromarray(plate.clip(0, 255).astype(np.uint8)).save(folder / "green.png")


def made(folder: Path, rate: int = 25, seconds: int = 30) -> Path:
    pictures(folder)
    with wave.open(str(folder / "guide.wav"), "wb") as out:
        out.setparams((1, 2, 48000, 0, "NONE", ""))
        tone = 2000 * np.sin(2 * np.pi * 440 * np.arange(48000 * seconds) / 48000)
        out.writeframes(tone.astype("<i2").tobytes())
    (folder / "design.toml").write_text(DESIGN)
    path = folder / "spot.toml"
    path.write_text(SHEET.format(rate=rate, seconds=seconds, wipe=2 * seconds // 3))
    return path


def change_to_picture(tab, count: int = 60) -> list[float]:
    """Milliseconds from a change to the changed picture on the screen."""
    return tab.evaluate(
        """async (count) => {
          const { edit } = await import('/static/link.js');
          const { when } = await import('/static/state.js');
          const times = [];
          let waiting = null;
          when('drawn', (head) => waiting?.(head));
          for (let n = 0; n < count; n += 1) {
            const began = performance.now();
            const shown = new Promise((resolve) => {
              waiting = (head) => {
                if (head.slot === 'hand' && head.revision >= target) requestAnimationFrame(resolve);
              };
            });
            const target = Number(document.querySelector('#canvas').dataset.revision) + 1;
            const value = 2 + (n % 20) / 4;
            edit([{ act: 'set', path: 'cues[1].transition.border', value }], 'bench', `b${n}`);
            await shown;
            times.push(performance.now() - began);
            await new Promise((resolve) => setTimeout(resolve, 60));
          }
          return times;
        }""",
        count,
    )


def scrubbed(tab, count: int = 80) -> float:
    """Pictures a second while the hand moves through time."""
    return tab.evaluate(
        """async (count) => {
          const { go, when } = await import('/static/state.js');
          let next = null;
          when('drawn', (head) => head.slot === 'hand' && next?.());
          const began = performance.now();
          for (let n = 0; n < count; n += 1) {
            const shown = new Promise((resolve) => { next = resolve; });
            go(30 + ((5 * n) % 240));
            await shown;
          }
          return (1000 * count) / (performance.now() - began);
        }""",
        count,
    )


def played(tab, seconds: float) -> dict[str, str]:
    """What the page counts in some seconds of playing.

    `played`, `late` and `uneven` are pictures shown, left out, and late by more than a refresh of
    the screen; `left` the first that were left out; `apart` how far picture and sound are apart,
    in ms, at 95 % of the pictures and at most. The sound's time is what the browser says of its
    output; what is drawn is taken to be on the screen at the next refresh.
    """
    tab.locator("body").press("Home")
    tab.wait_for_timeout(800)
    tab.locator("#play").click()
    tab.wait_for_timeout(200)
    if tab.locator("#play").get_attribute("aria-pressed") == "false":
        tab.locator("#play").click()
    tab.wait_for_timeout(1000 * seconds + 1500)
    if tab.locator("#play").get_attribute("aria-pressed") == "true":
        tab.locator("#play").click()
    return tab.evaluate("() => ({...document.querySelector('#canvas').dataset})")


def memory() -> tuple[int, int]:
    """MiB that keyer holds, and all that this process has started, the browser's parts with it."""
    found = {}
    for status in Path("/proc").glob("[0-9]*/status"):
        with contextlib.suppress(OSError):
            said = dict(line.split(":", 1) for line in status.read_text().splitlines())
            held = int(said.get("VmRSS", "0 kB").split()[0]) // 1024
            found[int(said["Pid"])] = int(said["PPid"]), held, said["Name"].strip()
    ours, more = set(), {os.getpid()}
    while more - ours:
        ours |= more
        more = {pid for pid, (parent, *_) in found.items() if parent in ours}
    parts = [found[pid][1:] for pid in ours - {os.getpid()} if pid in found]
    return sum(held for held, name in parts if name.startswith("python")), sum(
        held for held, _ in parts
    )


def heap(tab) -> float:
    """MiB of the page's objects that are still used, after a collection."""
    session = tab.context.new_cdp_session(tab)
    session.send("HeapProfiler.collectGarbage")
    used = session.send("Runtime.getHeapUsage")["usedSize"]
    session.detach()
    return used / 2**20


def watched(tab, minutes: int) -> None:
    """Play for some minutes, again from the start at its end; memory at each of them."""
    keyer, everything = memory()
    print(
        f"at first: keyer {keyer} MiB, page {heap(tab):.1f} MiB, all {everything} MiB", flush=True
    )
    began = time.monotonic()
    for minute in range(1, minutes + 1):
        while time.monotonic() < began + 60 * minute:
            if tab.locator("#play").get_attribute("aria-pressed") == "false":
                tab.locator("#play").click()
            tab.wait_for_timeout(500)
        keyer, everything = memory()
        print(
            f"{minute} min: keyer {keyer} MiB, page {heap(tab):.1f} MiB, all {everything} MiB",
            flush=True,
        )


def walled(tab) -> float:
    """Seconds until every pattern is on the wall."""
    tab.locator("[data-row='cues[1]'] .open").click()
    began = time.perf_counter()
    tab.locator(".group", has_text="Transition").get_by_label("Pattern").click()
    tab.wait_for_function(
        "() => { const all = [...document.querySelectorAll('#patterns img')];"
        " return all.length > 100 && all.every((one) => one.src); }"
    )
    took = time.perf_counter() - began
    tab.keyboard.press("Escape")
    return took


def measured(tab) -> None:
    """Tell how fast a change, a drag through time and the wall are."""
    change_to_picture(tab, 5)
    times = sorted(change_to_picture(tab))
    print(f"rows: {tab.evaluate('() => document.querySelector(`#canvas`).height')}")
    print(
        f"change to picture: median {statistics.median(times):.0f} ms (limit 60), "
        f"95 % {times[int(0.95 * len(times))]:.0f} ms (limit 120)"
    )
    print(f"scrubbing: {scrubbed(tab):.0f} pictures a second (limit 20)")
    print(f"pattern wall: {walled(tab):.1f} s (limit 3)", flush=True)


def main() -> None:
    from playwright.sync_api import sync_playwright

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rate", type=int, default=25)
    parser.add_argument("--seconds", type=int, default=30)
    parser.add_argument("--times", type=int, default=1, help="how often it is played")
    parser.add_argument("--only-play", action="store_true")
    parser.add_argument("--minutes", type=int, default=0, help="played at the end, memory watched")
    wanted = parser.parse_args()
    with tempfile.TemporaryDirectory() as name, sync_playwright() as driver:
        sheet = made(Path(name), wanted.rate, wanted.seconds)
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=list(OPTIONS))
        with served(sheet) as (address, _):
            tab = browser.new_page(viewport={"width": 1440, "height": 1080})
            tab.set_default_timeout(60_000)
            tab.goto(address)
            seen = "(n) => document.querySelector('#canvas').dataset.frame === n"
            tab.wait_for_function(seen, arg="0")
            tab.locator("body").press("ArrowDown")
            tab.wait_for_function(seen, arg=str(wanted.rate))
            if not wanted.only_play:
                measured(tab)
            for _ in range(wanted.times):
                found = played(tab, wanted.seconds)
                shown, late, uneven = (int(found[one]) for one in ("played", "late", "uneven"))
                print(
                    f"playing at {wanted.rate}: {shown} of {wanted.rate * wanted.seconds} shown, "
                    f"{late} left out ({100 * late / max(shown + late, 1):.1f} %: "
                    f"{found['left'] or 'none'}), {uneven} late by more than a refresh "
                    f"({100 * uneven / max(shown, 1):.1f} %); picture and sound "
                    f"{found['apart'].replace(' ', ' ms apart at 95 %, ')} ms at most (limit 20); "
                    f"{memory()[1]} MiB",
                    flush=True,
                )
            if wanted.minutes:
                watched(tab, wanted.minutes)
        browser.close()


if __name__ == "__main__":
    main()
