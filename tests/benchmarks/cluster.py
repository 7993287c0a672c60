"""A batch on workers of this machine: how much faster two are than one, and where the time goes.

Run as `python tests/benchmarks/cluster.py [--rows N] [--turns N] [--kind over] [--json]`.
Scheduler, workers and the batch itself share the machine's cores. Wants the extra `keyer[cluster]`.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median
from typing import Any

import psutil
from batch import project

SCHEDULER = """
import asyncio, distributed
async def main():
    async with distributed.Scheduler(host="127.0.0.1", port=0, dashboard=False) as scheduler:
        print(scheduler.address, flush=True)
        await scheduler.finished()
asyncio.run(main())
"""
WORKER = """
import asyncio, distributed, sys
async def main():
    async with distributed.Worker(
        sys.argv[1], nthreads=1, host="127.0.0.1", dashboard=False
    ) as worker:
        print(worker.address, flush=True)
        await worker.finished()
asyncio.run(main())
"""


@contextmanager
def started(text: str, *arguments: str) -> Iterator[tuple[psutil.Process, str]]:
    """Start a program that prints its address; ended with the block."""
    with subprocess.Popen(
        [sys.executable, "-c", text, *arguments], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
        text=True,
    ) as process:  # fmt: skip
        assert process.stdout is not None
        try:
            yield psutil.Process(process.pid), process.stdout.readline().strip()
        finally:
            process.kill()


def spent(process: psutil.Process) -> float:
    """Seconds of processor time."""
    times = process.cpu_times()
    return float(times.user + times.system)


def run(folder: Path, kind: str, count: int) -> dict[str, float]:
    """Render the table on so many workers."""
    from keyer.batch.front import BatchOrder, batch

    out = folder / "out"
    shutil.rmtree(out, ignore_errors=True)
    with started(SCHEDULER) as (scheduler, address):
        workers = [started(WORKER, address) for _ in range(count)]
        at_work = [worker.__enter__() for worker in workers]
        try:
            order = BatchOrder(folder / "sheet.toml", folder / "rows.csv", out, kind=kind)
            warm = BatchOrder(**{**vars(order), "only": f"2-{1 + 4 * count}"})
            batch(BatchOrder(**{**vars(warm), "scheduler": address}))
            shutil.rmtree(out)
            here = psutil.Process()
            parts = {"client": [here], "scheduler": [scheduler], "workers": [p for p, _ in at_work]}
            before = {name: sum(map(spent, some)) for name, some in parts.items()}
            began: list[float] = []

            def told(what: str, _done: int, _total: int) -> None:
                if what == "rows" and not began:
                    began.append(time.perf_counter())

            started_at = time.perf_counter()
            report = batch(BatchOrder(**{**vars(order), "scheduler": address}), told=told)
            ended = time.perf_counter()
            assert report.outcome is not None
            assert report.outcome.rendered == report.rows, report.faults
            used = {name: sum(map(spent, some)) - before[name] for name, some in parts.items()}
            return {"seconds": ended - started_at, "rendering": ended - began[0], **used}
        finally:
            for worker in reversed(workers):
                worker.__exit__(None, None, None)


def measure(rows: int, turns: int, kind: str) -> dict[str, Any]:
    """One worker and two, in turns."""
    folder = Path(tempfile.mkdtemp(prefix="keyer-cluster-"))
    try:
        project(folder, rows)
        found: dict[int, list[dict[str, float]]] = {1: [], 2: []}
        for _ in range(turns):
            for count, runs in found.items():
                runs.append(run(folder, kind, count))
        result: dict[str, Any] = {"rows": rows, "kind": kind, "cores": os.cpu_count()}
        for count, runs in found.items():
            result[f"{count}"] = {key: median(one[key] for one in runs) for key in runs[0]}
        ratios = {key: result["1"][key] / result["2"][key] for key in ("seconds", "rendering")}
        return {**result, "ratio": ratios["seconds"], "ratio_of_rendering": ratios["rendering"]}
    finally:
        shutil.rmtree(folder)


def main() -> None:
    """Read the options, measure, print."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--rows", type=int, default=300)
    options.add_argument("--turns", type=int, default=2)
    options.add_argument("--kind", default="over")
    options.add_argument("--json", action="store_true")
    given = options.parse_args()
    result = measure(given.rows, given.turns, given.kind)
    if given.json:
        print(json.dumps(result, indent=2))
        return
    for count in ("1", "2"):
        one = result[count]
        print(
            f"{count} worker(s): {one['seconds']:.1f} s, {given.rows / one['seconds']:.1f} rows a "
            f"second; processor: workers {one['workers']:.1f} s, scheduler {one['scheduler']:.1f} "
            f"s, this process {one['client']:.1f} s"
        )
    print(
        f"2 workers are {result['ratio']:.2f} times as fast as 1 on {result['cores']} cores, "
        f"{result['ratio_of_rendering']:.2f} times without reading and checking the rows"
    )


if __name__ == "__main__":
    main()
