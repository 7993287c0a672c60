"""Thousands of rows with a picture column: preflight, rendering and contact sheets, in a pipe.

Runs the command as a script would, `--json` on one pipe and plain progress lines on the other.
Run as `python tests/benchmarks/portraits.py [--rows N] [--portraits N] [--jobs N] [--json]`.
"""

from __future__ import annotations

import argparse
import json
import re
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import cv2
import numpy as np

DESIGN = """
name = "Guest with a portrait"
[fields.name]
example = "Ines Marlow"
[fields.role]
default = ""
[fields.portrait]
kind = "picture"
default = ""
[styles.name]
weight = "semibold"
size = 6.4
[styles.role]
size = 4.4
[[boxes]]
id = "words"
place = "bottom left"
padding = [3.4, 3.4]
max_width = 112.0
panel = { colour = "#0A2A38", opacity = 0.94 }
[[boxes.texts]]
text = "${name}"
style = "name"
fit = "shrink"
smallest = 4.8
[[boxes.texts]]
text = "${role}"
style = "role"
gap = 2.1
[[boxes]]
id = "portrait"
right_of = "words"
width = 16
height = "words"
picture = { file = "${portrait}", fit = "cover" }
"""

SHEET = """
version = 1
[sheet]
format = "1080p25"
length = "6s"
[sources.back]
file = "back.png"
[sources.guest.title]
design = "design.toml"
[[cues]]
source = "back"
[[overlays]]
source = "guest"
transition_in = { kind = "mix", length = 12 }
"""


def noisy(generator: np.random.Generator, width: int, height: int) -> np.ndarray[Any, Any]:
    """Make a picture as busy as a photograph."""
    coarse = generator.random((max(height // 32, 2), max(width // 32, 2), 3), dtype=np.float32)
    large = cv2.resize(coarse, (width, height), interpolation=cv2.INTER_CUBIC)
    noise = generator.normal(25, 4, large.shape)
    return np.asarray(np.clip(large * 200 + noise, 0, 255), np.uint8)


def project(folder: Path, rows: int, portraits: int) -> None:
    """Write a sheet, a design, portraits of 600 x 800 and rows."""
    generator = np.random.default_rng(1)
    cv2.imwrite(str(folder / "back.png"), noisy(generator, 1920, 1080))
    (folder / "faces").mkdir()
    for n in range(portraits):
        cv2.imwrite(str(folder / "faces" / f"{n}.jpg"), noisy(generator, 600, 800))
    (folder / "design.toml").write_text(DESIGN, encoding="utf-8")
    (folder / "sheet.toml").write_text(SHEET, encoding="utf-8")
    lines = [
        f"{n:04d},Guest number {n},role {n % 17} of many,faces/{n % portraits}.jpg"
        for n in range(rows)
    ]
    table = "\n".join(["file,name,role,portrait", *lines])
    (folder / "rows.csv").write_text(table, encoding="utf-8")


def run(folder: Path, *more: str) -> tuple[dict[str, float], dict[str, Any], list[str]]:
    """Run the command; seconds to the end of each step, its JSON, and its lines of progress."""
    words = ["batch", "sheet.toml", "rows.csv", "-d", "out", "--json", *more]
    program = [sys.executable, "-m", "keyer", *words]
    seconds: dict[str, float] = {}
    lines = []
    with (folder / "out.json").open("w+", encoding="utf-8") as out:
        started = time.perf_counter()
        with subprocess.Popen(
            program, cwd=folder, stdout=out, stderr=subprocess.PIPE, text=True
        ) as process:
            for line in process.stderr or ():
                lines.append(line.rstrip())
                done = re.match(r"keyer: \d+ of \d+ (rows checked|rows|contact sheets)", line)
                if done:
                    seconds[done[1]] = time.perf_counter() - started
        seconds["all"] = time.perf_counter() - started
        if process.returncode not in {0, 4}:
            raise SystemExit("\n".join(lines))
        out.seek(0)
        return seconds, json.load(out), lines


def measure(rows: int, portraits: int, jobs: int, *, resume: bool) -> dict[str, Any]:
    """Check and render the rows with contact sheets; then, if wanted, the sheets of kept rows."""
    folder = Path(tempfile.mkdtemp(prefix="keyer-portraits-"))
    try:
        project(folder, rows, portraits)
        order = ["--jobs", str(jobs), "--contact", "sheets.png"]
        seconds, found, lines = run(folder, *order)
        again = run(folder, *order, "--resume")[0]["all"] if resume else None
        preflight = seconds["rows checked"]
        return {
            "rows": rows,
            "portraits": portraits,
            "jobs": jobs,
            "preflight_seconds": preflight,
            "rendering_seconds": seconds["rows"] - preflight,
            "rows_a_second": rows / (seconds["rows"] - preflight),
            "after_the_last_row_seconds": seconds["all"] - seconds["rows"],
            "sheets": len(found["contact"]),
            "rendered": found["rendered"],
            "resumed_seconds": again,
            "bytes": sum(file.stat().st_size for file in (folder / "out").iterdir()),
            "progress": lines,
        }
    finally:
        shutil.rmtree(folder)


def main() -> None:
    """Read the options, measure, print."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--rows", type=int, default=3000, help="at least 100: fewer tell nothing")
    options.add_argument("--portraits", type=int, default=300)
    options.add_argument("--jobs", type=int, default=2)
    options.add_argument("--resume", action="store_true")
    options.add_argument("--json", action="store_true")
    given = options.parse_args()
    result = measure(given.rows, given.portraits, given.jobs, resume=given.resume)
    if given.json:
        print(json.dumps(result, indent=2))
        return
    for line in result["progress"]:
        print(f"  {line}")
    print(f"preflight {result['preflight_seconds']:.1f} s, with the start of the program")
    print(
        f"{result['rendered']} rows and {result['sheets']} contact sheets: "
        f"{result['rendering_seconds']:.1f} s, {result['rows_a_second']:.1f} rows a second, and "
        f"{result['after_the_last_row_seconds']:.1f} s after the last row"
    )
    if given.resume:
        print(f"all kept, their sheets drawn: {result['resumed_seconds']:.1f} s")
    print(f"{result['bytes'] / 1e9:.1f} GB")


if __name__ == "__main__":
    main()
