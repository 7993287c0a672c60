"""Run hostile cases in processes that may die of them, and say what came of it."""

import argparse
import json
import os
import re
import selectors
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from hostile.cases import KINDS, kind_of
from hostile.oracles import LONGEST_SECONDS
from hostile.project import write_project

EACH = 300
"""Cases to a process: what one of them leaves in memory is not held against all that follow."""


@dataclass
class Tally:
    """What came of a run.

    Attributes
    ----------
    count : int
    codes : Counter
        How often each exit code came, by kind.
    bad : list of dict
        The cases that broke a promise.
    peak : int
        Bytes of memory at most.
    slowest : float
        Seconds.
    """

    count: int = 0
    codes: Counter[tuple[str, int]] = field(default_factory=Counter)
    bad: list[dict[str, Any]] = field(default_factory=list)
    peak: int = 0
    slowest: float = 0.0

    def take(self, result: dict[str, Any]) -> None:
        self.count += 1
        self.codes[result["kind"], result["code"]] += 1
        self.peak = max(self.peak, result["peak"])
        self.slowest = max(self.slowest, result["seconds"])
        if result["faults"]:
            self.bad.append(result)

    def lines(self) -> Iterator[str]:
        """Say it."""
        codes = sorted({code for _, code in self.codes})
        for kind in dict.fromkeys(kind for kind, _ in self.codes):
            found = "  ".join(f"{code}: {self.codes[kind, code]:5d}" for code in codes)
            yield f"{kind:10s} {found}"
        yield (
            f"{self.count} inputs, {len(self.bad)} broke a promise; at most "
            f"{self.peak / 1e9:.2f} GB and {self.slowest:.1f} s"
        )


def _worker(arguments: list[str]) -> subprocess.Popen[bytes]:
    tests = str(Path(__file__).parents[1])
    paths = os.pathsep.join([tests, *filter(None, [os.environ.get("PYTHONPATH")])])
    return subprocess.Popen(
        [sys.executable, "-W", "error::ResourceWarning", "-m", "hostile.worker", *arguments],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": paths},
    )


def _heard(process: subprocess.Popen[bytes], patience: float) -> Iterator[dict[str, Any]]:
    """Lines of a process, until it ends or says nothing for too long."""
    assert process.stdout is not None
    os.set_blocking(process.stdout.fileno(), False)
    with selectors.DefaultSelector() as selector:
        selector.register(process.stdout, selectors.EVENT_READ)
        left, until = b"", time.monotonic() + patience
        while selector.select(max(0, until - time.monotonic())):
            part = process.stdout.read()
            if part == b"":
                return
            *lines, left = (left + (part or b"")).split(b"\n")
            yield from map(json.loads, lines)
            until = time.monotonic() + patience
    process.kill()


def _ended(kind: str, number: int, said: str) -> dict[str, Any]:
    """A case that ended its process."""
    hung = "Timeout" in said or not said
    fault = f"hang over {LONGEST_SECONDS} s" if hung else "the process died"
    return {
        "number": number, "kind": kind, "words": [], "code": -1, "err": said[-4000:],
        "faults": [fault], "seconds": float(LONGEST_SECONDS) if hung else 0.0, "peak": 0,
    }  # fmt: skip


def run(
    good: Path, seed: int, count: int, *, kinds: tuple[str, ...] = tuple(KINDS), first: int = 0,
    seconds: float | None = None, keep: str = "",
) -> Iterator[dict[str, Any]]:  # fmt: skip
    """Run cases; yields what came of each.

    Parameters
    ----------
    good : Path
        Folder of the good project; others are made beside it.
    seed, count : int
    kinds : tuple of str
    first : int
        Number of the first.
    seconds : float, optional
        After which no further case begins.
    keep : str
        Where to leave the last case's folder.
    """
    end = None if seconds is None else time.monotonic() + seconds
    number, again = first, False
    while number < first + count and (end is None or time.monotonic() < end):
        last = min(number + EACH, first + count)
        limit = str(LONGEST_SECONDS + 1)
        process = _worker(
            [str(good), str(seed), str(number), str(last), ",".join(kinds), limit, keep]
        )
        begun = slow = False
        try:
            for told in _heard(process, 4 * LONGEST_SECONDS):
                begun = "begin" in told
                if begun:
                    continue
                number = told["number"]
                slow = _is_slow(told) and not again
                if slow:
                    break
                number, again = number + 1, False
                yield told
                if end is not None and time.monotonic() > end:
                    return
        finally:
            process.kill()
            _, said = process.communicate()
        if not slow and (begun or number < last):
            told = _ended(kind_of(number, kinds), number, said.decode("utf-8", "replace"))
            slow = _is_slow(told) and not again
            if not slow:
                number, again = number + 1, False
                yield told
        again = again or slow


def _is_slow(told: dict[str, Any]) -> bool:
    """Whether nothing but time is wrong, which is tried again: the machine may have been busy."""
    faults: list[str] = told["faults"]
    return bool(faults) and all(re.match(r"hang |took [\d.]+ s", fault) for fault in faults)


def quick_folder() -> str | None:
    """A folder in memory, where there is one: every output is flushed to where it lies."""
    return "/dev/shm" if os.access("/dev/shm", os.W_OK) else None  # noqa: S108


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.hostile", description=__doc__)
    parser.add_argument("--count", type=int, default=1000, help="how many inputs")
    parser.add_argument("--seconds", type=float, help="how long at most")
    parser.add_argument("--seed", type=int, default=1, help="another seed, other inputs")
    parser.add_argument("--first", type=int, default=0, help="number of the first input")
    parser.add_argument("--kinds", default=",".join(KINDS), help="only these, parted by commas")
    parser.add_argument("--keep", default="", help="folder for the last input, to look at it")
    asked = parser.parse_args()
    kinds = tuple(asked.kinds.split(","))
    tally = Tally()
    with tempfile.TemporaryDirectory(prefix="hostile-", dir=quick_folder()) as folder:
        good = Path(folder, "good")
        good.mkdir()
        write_project(good)
        for result in run(good, asked.seed, asked.count, kinds=kinds, first=asked.first,
                          seconds=asked.seconds, keep=asked.keep):  # fmt: skip
            tally.take(result)
            if result["faults"]:
                print(json.dumps(result), flush=True)
    print("\n".join(tally.lines()))
    return 1 if tally.bad else 0
