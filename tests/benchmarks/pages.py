"""A store of pages listed: as a ratio to reading the same files and nothing else.

Run as `python tests/benchmarks/pages.py [--pages N] [--json]`.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from keyer.titles.page_list import list_pages, page_name
from keyer.titles.pages import Page, page_files
from keyer.titles.read import load_design

DESIGN = Path(__file__).parents[2] / "examples" / "demo" / "designs" / "jetty.toml"


def fill(store: Path, pages: int) -> None:
    """Keep so many pages."""
    design = load_design(DESIGN)
    first = page_files(Page(1, design, {"name": "Guest 1", "role": "Ferry pilot"}, "first half"))
    for inside, data in first.items():
        (store / inside).parent.mkdir(parents=True, exist_ok=True)
        (store / inside).write_bytes(data)
    text = first[page_name(1)].decode()
    for number in range(2, pages + 1):
        (store / page_name(number)).write_text(text.replace("Guest 1", f"Guest {number}"))


def seconds(work: Any) -> float:
    """Time the best of three."""
    best = float("inf")
    for _ in range(3):
        started = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - started)
    return best


def measure(pages: int) -> dict[str, Any]:
    """List a store in this process and as the command, and read its files alone."""
    with tempfile.TemporaryDirectory(prefix="keyer-pages-") as folder:
        store = Path(folder)
        fill(store, pages)
        files = sorted(store.glob("*.toml"))
        command = [sys.executable, "-m", "keyer", "pages", "list", "--pages", folder]
        reading = seconds(lambda: [file.read_bytes() for file in files])
        listing = seconds(lambda: list_pages(store))
        start = seconds(
            lambda: subprocess.run([*command[:3], "--help"], check=True, capture_output=True)
        )
        whole = seconds(lambda: subprocess.run(command, check=True, capture_output=True))
    return {
        "pages": pages,
        "listing_to_reading": listing / reading,
        "command_to_reading": whole / reading,
        "seconds": {"reading": reading, "listing": listing, "help": start, "command": whole},
    }


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--pages", type=int, default=10_000)
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args()
    found = measure(asked.pages)
    if asked.json:
        print(json.dumps(found, indent=2))
        return
    for name in ("listing_to_reading", "command_to_reading"):
        print(f"{name:20} {found[name]:.2f}")
    for name, value in found["seconds"].items():
        print(f"{name:20} {value:.3f} s")


if __name__ == "__main__":
    main()
