"""Stops at random moments: each command killed, hung up on, asked to end and stopped by hand.

    python tests/stops.py [--times 20] [--seed 1] [--warm] [COMMAND ...]

Not a part of the default test run: it takes some seconds a stop, with `--warm` less, since each
command then begins with everything loaded and is stopped in its work alone. After each stop it is
looked at
that no output is half-written, no input has changed, nothing hidden is left (after kill -9: once
the same command has run again), nothing but our own lines was said, and that the command, run
again, gives the same bytes as one that was never stopped. The rehearsal page is stopped while
changes are saved on it: none that it has confirmed is lost.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import zipfile
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from cli.whole_project import make_project, plate
from forked import Forked, load_everything
from media.made import write_clip
from page_stops import page_stops

LENGTH = 50
ROWS = 24
EARLY = 0.06
"""Seconds in which Python itself is beginning and has heard of nothing of ours."""


@dataclass(frozen=True)
class Case:
    """A command, the arguments with which it is run again, and its outputs, with * for some."""

    words: str
    again: str
    outputs: tuple[str, ...]


CASES = {
    "still": Case("still sheet.toml --at 1 --at 5 -o out", "--force", ("out",)),
    "clip": Case("clip sheet.toml -o out.mov", "--force", ("out.mov",)),
    "board": Case("board sheet.toml -o out.png", "--force", ("out.png",)),
    "report": Case("report sheet.toml -o out.html", "--force", ("out.html",)),
    "batch": Case("batch desk.toml rows.csv -d out --jobs 2", "--resume", ("out",)),
    "batch clips": Case(
        "batch desk.toml few.csv -d out --jobs 2 --format clip", "--resume", ("out",)
    ),
    "approve": Case("approve sheet.toml", "", ("sheet.approved-*.zip",)),
    "compare": Case("compare old.toml sheet.toml -o out.html", "--force", ("out.html",)),
    "convert": Case(
        "convert sheet.toml --format 32x18@50 -o new.toml --board new.png", "--force",
        ("new.toml", "new.png"),
    ),
    "key a clip": Case("key shot.mov --over back.png -o out.mkv", "--force", ("out.mkv",)),
    "key into stills": Case("key shot.mov -o out-%04d.png", "--force", ("out-*.png",)),
    "title": Case(
        "title designs/name.toml --save 9 --note x -f name=a", "--force",
        ("pages/0009.toml", "pages/designs"),
    ),
}  # fmt: skip
SIGNALS = ("SIGKILL", "SIGTERM", "SIGHUP", "SIGINT")


def prepare(folder: Path) -> None:
    """Make the small project, with a longer sheet and a table."""
    sheet = make_project(folder)
    shutil.rmtree(folder / "pages")
    text = sheet.read_text(encoding="utf-8").replace("length = 4", f"length = {LENGTH}")
    text = text.replace("out = 4", f"out = {LENGTH}")
    page = text.index("[sources.page.title]"), text.index("[[sound]]")
    text = text[: page[0]] + text[page[1] :]
    text = text.replace('[[overlays]]\nsource = "page"\nin = 0\nout = 50\n', "")
    sheet.write_text(text, encoding="utf-8")
    (folder / "desk.toml").write_text(text.replace('fields = { name = "a" }', ""), "utf-8")
    rows = [f"{n:02d},aaa" for n in range(ROWS)]
    for name, count in (("rows.csv", ROWS), ("few.csv", 6)):
        (folder / name).write_text("\n".join(["file,name", *rows[:count]]), encoding="utf-8")
    (folder / "old.toml").write_text(text.replace("in = 0\n", "in = 9\n", 1), encoding="utf-8")
    write_clip(
        folder / "shot.mov", codec="png", layout="rgb24", frames=20, size=(64, 36),
        draw=lambda number, *_: plate() - number,
    )  # fmt: skip


def written(folder: Path, names: tuple[str, ...]) -> Iterator[Path]:
    """Yield what there is of the outputs, files and folders."""
    for name in names:
        yield from sorted(folder.glob(name))


def contents(folder: Path, names: tuple[str, ...]) -> dict[str, bytes]:
    """Files of the outputs by their names, hidden ones apart."""
    found: dict[str, bytes] = {}
    for output in written(folder, names):
        for path in [output] if output.is_file() else output.rglob("*"):
            name, data = str(path.relative_to(folder)), b""
            if path.is_file() and not path.name.startswith("."):
                data = path.read_bytes()
                if ".approved-" in name:  # of which there may be two that say the same
                    name, data = "approved", undated(path)
                    name += " otherwise" * (found.get(name, data) != data)
                found[name] = data
    return found


def undated(path: Path) -> bytes:
    """What an approved version holds, but for the time of day."""
    try:
        with zipfile.ZipFile(path) as file:
            parts = {name: file.read(name) for name in file.namelist()}
        facts = json.loads(parts["approval.json"])
    except (zipfile.BadZipFile, KeyError, ValueError):
        return path.read_bytes()
    parts["approval.json"] = json.dumps({**facts, "on": ""}).encode()
    return repr(sorted(parts.items())).encode()


def clear(folder: Path, names: tuple[str, ...]) -> None:
    """Remove the outputs."""
    for path in written(folder, names):
        shutil.rmtree(path) if path.is_dir() else path.unlink()


def hidden(folder: Path) -> list[str]:
    """What is left that no one should see."""
    here = [path for path in folder.rglob(".*") if path.name != ".batch.lock"]
    return [str(path) for path in (*here, *Path(tempfile.gettempdir()).glob(".keyer-*"))]


def use_as_temporary(folder: Path) -> None:
    """Give this run a temporary folder of its own: what another keyer has there is no leftover."""
    folder.mkdir()
    os.environ["TMPDIR"] = str(folder)
    tempfile.tempdir = str(folder)


class _Begins:
    """How commands begin in this run."""

    warm = False


def start(folder: Path, words: str) -> subprocess.Popen[str] | Forked:
    """Start a command in a process group of its own, or, warm, in a copy of this process."""
    if _Begins.warm:
        return Forked(folder, words)
    return subprocess.Popen(
        [sys.executable, "-m", "keyer", *words.split()],
        cwd=folder,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )


def finish(folder: Path, words: str) -> float:
    """Run a command to its end; returns the seconds that it took."""
    began = time.monotonic()
    process = start(folder, words)
    said = process.communicate(timeout=300)[1]
    if process.returncode not in (0, 4):
        msg = f"{words}: {process.returncode}\n{said}"
        raise SystemExit(msg)
    return time.monotonic() - began


def stop(process: subprocess.Popen[str] | Forked, name: str, after: float) -> tuple[float, str]:
    """Stop a command after some seconds; Ctrl-C and a hangup reach its whole group."""
    began = time.monotonic()
    try:
        process.wait(after)
    except subprocess.TimeoutExpired:
        number = getattr(signal, name)
        if name in ("SIGINT", "SIGHUP"):
            with suppress(ProcessLookupError):
                os.killpg(process.pid, number)
        else:
            process.send_signal(number)
    moment = time.monotonic() - began
    return moment, process.communicate(timeout=60)[1]


def faults(folder: Path, case: Case, whole: dict[str, bytes], name: str) -> list[str]:
    """Tell what is wrong after a stop, and after the command has run again."""
    partial = contents(folder, case.outputs)
    found = [
        f"{path} is half-written"
        for path, data in partial.items()
        if not path.endswith("manifest.jsonl") and whole.get(path) != data
    ]
    if name != "SIGKILL":
        found += [f"{path} is left" for path in hidden(folder)]
        found += [f"{path} is left" for path in folder.glob("*/.batch.lock")]
    finish(folder, f"{case.words} {case.again}")
    if contents(folder, case.outputs) != whole:
        found.append("run again it is not the same")
    found += [f"{path} is left after another run" for path in hidden(folder)]
    found += [f"{path} is left after another run" for path in folder.glob("*/.batch.lock")]
    return found


def told(said: str, code: int, name: str, moment: float) -> list[str]:
    """Tell what is wrong with what was said, and with the exit code."""
    if name == "SIGKILL" or moment < EARLY:
        return []
    found = [line for line in said.splitlines() if not line.startswith("keyer: ")]
    if code not in (0, 4, 130):
        found.append(f"exit code {code}: {said.strip()[-300:]}")
    if code == 130 and "stopped; nothing was half-written." not in said:
        found.append("does not say that it stopped")
    return found


def main() -> int:
    """Stop every command with every signal so many times; returns 1 if anything was wrong."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--times", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--warm", action="store_true", help="begin with everything loaded")
    parser.add_argument("commands", nargs="*", default=[*CASES, "rehearse"])
    asked = parser.parse_args()
    _Begins.warm = asked.warm
    if asked.warm or "rehearse" in asked.commands:
        load_everything()
    signal.signal(signal.SIGINT, signal.default_int_handler)  # ignored in a shell's background
    signal.signal(signal.SIGHUP, signal.SIG_DFL)  # and this under nohup
    chance = random.Random(asked.seed)  # noqa: S311  moments, no secrets
    bad = 0
    with tempfile.TemporaryDirectory(prefix="stops-") as place:
        use_as_temporary(Path(place, "temporary"))
        project = Path(place, "project")
        project.mkdir()
        prepare(project)
        if "rehearse" in asked.commands:
            bad += page_stops(project, asked.times, chance, SIGNALS)
        for command in (name for name in asked.commands if name != "rehearse"):
            case = CASES[command]
            finish(project, case.words)  # compiles what is not compiled yet
            whole = contents(project, case.outputs)
            seconds = 1e9
            for _ in range(2):
                clear(project, case.outputs)
                seconds = min(seconds, finish(project, case.words))
            if contents(project, case.outputs) != whole:
                msg = f"{command} does not give the same bytes twice"
                raise SystemExit(msg)
            clear(project, case.outputs)
            inputs = contents(project, ("*",))
            for name in SIGNALS:
                codes: Counter[int] = Counter()
                for _ in range(asked.times):
                    here = Path(place, "here")
                    shutil.copytree(project, here)
                    process = start(here, case.words)
                    moment, said = stop(process, name, chance.uniform(0, 1.1 * seconds))
                    codes[process.returncode] += 1
                    time.sleep(0.3 if name == "SIGKILL" else 0)  # its children end after it
                    found = told(said, process.returncode, name, moment)
                    found += faults(here, case, whole, name)
                    if {**contents(here, ("*",)), **inputs} != contents(here, ("*",)):
                        found.append("an input is gone, or has changed")
                    for fault in found:
                        print(f"{command}, {name} after {moment:.3f} s: {fault}")
                    bad += bool(found)
                    shutil.rmtree(here)
                print(
                    f"{command}, {name}: {asked.times} times, exit codes {dict(codes)}", flush=True
                )
    print(f"{bad} stops went wrong")
    return bool(bad)


if __name__ == "__main__":
    sys.exit(main())
