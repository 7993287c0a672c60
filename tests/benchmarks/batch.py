"""Lower thirds by the hundred: rows a second, against encoding alone, and their contact sheets.

Run as `python tests/benchmarks/batch.py [--rows N] [--jobs N] [--json]`.
"""

from __future__ import annotations

import argparse
import json
import shutil
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import cv2
import numpy as np

DEMO = Path(__file__).parents[2] / "examples" / "demo"

SHEET = """
version = 1
[sheet]
format = "1080p25"
length = "6s"
[sources.back]
file = "back.png"
[sources.guest.title]
design = "jetty.toml"
[[cues]]
source = "back"
[[overlays]]
source = "guest"
transition_in = { kind = "mix", length = 12 }
"""


def project(folder: Path, rows: int) -> tuple[Path, Path]:
    """Write a sheet over a busy picture, and rows."""
    generator = np.random.default_rng(1)
    coarse = generator.random((34, 60, 3), dtype=np.float32)
    picture = cv2.resize(coarse, (1920, 1080), interpolation=cv2.INTER_CUBIC)
    noisy = picture * 200 + generator.normal(25, 4, picture.shape)
    cv2.imwrite(str(folder / "back.png"), np.clip(noisy, 0, 255).astype(np.uint8))
    design = DEMO / "designs" / "jetty.toml"
    (folder / "jetty.toml").write_text(design.read_text(encoding="utf-8"), encoding="utf-8")
    (folder / "sheet.toml").write_text(SHEET, encoding="utf-8")
    lines = [f"{n:04d},Guest number {n},role {n % 17} of many" for n in range(rows)]
    (folder / "rows.csv").write_text("\n".join(["file,name,role", *lines]), encoding="utf-8")
    return folder / "sheet.toml", folder / "rows.csv"


def encode(path: Path) -> int:
    """Encode one result again, whole, with the batch's own encoder."""
    from keyer.batch.png_bands import png_bytes

    cv2.setNumThreads(1)
    pixels = cv2.imread(str(path), cv2.IMREAD_UNCHANGED)
    started = time.perf_counter()
    order = [2, 1, 0, 3][: pixels.shape[2]]
    png_bytes(np.ascontiguousarray(pixels[..., order]))
    return round((time.perf_counter() - started) * 1e9)


ROUNDS = 3


def contact(sheet: Path, table: Path, folder: Path, jobs: int) -> dict[str, float]:
    """Render with contact sheets and without, in turns; then draw the sheets of kept rows."""
    from keyer.batch.front import BatchOrder, batch

    spent = {"without": 0.0, "with": 0.0, "kept": 0.0}
    order = BatchOrder(sheet, table, folder / "contact", jobs=jobs, force=True)
    sheets = replace(order, contact=folder / "contact.png")
    kept = replace(order, force=False, resume=True)
    looked = 0.0
    for _ in range(ROUNDS):
        for name, one in (("without", order), ("with", sheets)):
            started = time.perf_counter()
            batch(one)
            spent[name] += time.perf_counter() - started
        started = time.perf_counter()
        batch(kept)
        looked += time.perf_counter() - started
        started = time.perf_counter()
        batch(replace(kept, contact=folder / "contact.png"))
        spent["kept"] += time.perf_counter() - started
    return {
        "to_rendering": (spent["with"] - spent["without"]) / spent["without"],
        "of_kept_rows_to_rendering": (spent["kept"] - looked) / spent["without"],
        "rendering_seconds": spent["without"] / ROUNDS,
    }


def measure(rows: int, jobs: int) -> dict[str, Any]:
    """Run the batches and the encoding alone."""
    from keyer.batch.front import BatchOrder, batch

    folder = Path(tempfile.mkdtemp(prefix="keyer-batch-"))
    try:
        sheet, table = project(folder, rows)
        result: dict[str, Any] = {"rows": rows, "jobs": jobs}
        for kind in ("over", "alpha", "keyfill"):
            started = time.perf_counter()
            batch(BatchOrder(sheet, table, folder / kind, kind=kind, jobs=jobs))
            seconds = time.perf_counter() - started
            result[kind] = {"seconds": seconds, "rows_a_second": rows / seconds}
        result["contact"] = contact(sheet, table, folder, jobs)
        paths = sorted((folder / "over").glob("*.png"))
        with ProcessPoolExecutor(jobs, mp_context=get_context("spawn")) as pool:
            spent = sum(pool.map(encode, paths, chunksize=4)) / 1e9 / jobs
        result["encoding_alone_seconds"] = spent
        result["over_to_encoding_alone"] = result["over"]["seconds"] / spent
        return result
    finally:
        shutil.rmtree(folder)


def main() -> None:
    """Read the options, measure, print."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--rows", type=int, default=300)
    options.add_argument("--jobs", type=int, default=2)
    options.add_argument("--json", action="store_true")
    given = options.parse_args()
    result = measure(given.rows, given.jobs)
    if given.json:
        print(json.dumps(result, indent=2))
        return
    for kind in ("over", "alpha", "keyfill"):
        print(f"{kind:8} {result[kind]['rows_a_second']:6.1f} rows a second")
    sheets = result["contact"]
    print(f"contact sheets take {sheets['to_rendering']:.2f} of the rendering time")
    print(f"  of rows that are kept {sheets['of_kept_rows_to_rendering']:.2f} of it")
    print(f"over takes {result['over_to_encoding_alone']:.2f} of encoding the same PNGs alone")


if __name__ == "__main__":
    main()
