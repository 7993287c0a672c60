"""Run hostile cases one after the other in this process, and tell of each in a line of JSON.

A process of its own, started by `hostile.run`: what kills it or hangs it is a
finding, not the end of the run.
"""

import contextlib
import faulthandler
import json
import os
import resource
import shutil
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from hostile import oracles
from hostile.case import Case
from hostile.cases import kind_of, make
from hostile.truth import silent
from hostile.visit import visit

MOST_MAPPED = 12_000_000_000
"""Bytes of address space: what takes far too much fails here, not the machine."""


def begin() -> None:
    """Bound what this process may take, keep the work in it, and let no page be served for ever."""
    import webbrowser

    import uvicorn

    import keyer.batch.front
    import keyer.batch.run

    resource.setrlimit(resource.RLIMIT_AS, (MOST_MAPPED, resource.RLIM_INFINITY))
    keyer.batch.front.in_processes = _in_this_process
    uvicorn.Server.serve = _served
    webbrowser.open = lambda *_args, **_named: True


_asked: list[Any] = []
"""What the page is asked for while it is served."""


async def _served(server: Any, sockets: Any = None) -> None:
    """Be ready, be asked, and stop."""
    server.started = True
    try:
        if _asked:
            await visit(server.config.app.app, _asked)
    finally:
        for one in sockets or ():
            one.close()


def _in_this_process(job: Any, folder: Path, _jobs: int) -> Any:
    from keyer.batch import run
    from keyer.batch.render_row import RowRenderer

    def render(tasks: Iterable[Any]) -> Iterator[Any]:
        run._renderer, run._folder = RowRenderer(job), folder
        for task in tasks:
            yield task, run._work(task)

    return render


@contextlib.contextmanager
def _captured(folder: Path) -> Iterator[tuple[Path, Path]]:
    """Turn the two streams of this process, those of its libraries too, into files."""
    paths = folder / "stdout", folder / "stderr"
    sys.stdout.flush()
    sys.stderr.flush()
    kept = os.dup(1), os.dup(2)
    files = [path.open("wb") for path in paths]
    try:
        os.dup2(files[0].fileno(), 1)
        os.dup2(files[1].fileno(), 2)
        yield paths
        for stream in (sys.stdout, sys.stderr):
            with contextlib.suppress(UnicodeError, OSError):
                stream.flush()
    finally:
        os.dup2(kept[0], 1)
        os.dup2(kept[1], 2)
        for handle in (*files, *(os.fdopen(number) for number in kept)):
            handle.close()


def _forget_peak() -> None:
    with contextlib.suppress(OSError):
        Path("/proc/self/clear_refs").write_text("5", encoding="ascii")


def _peak() -> int:
    """Bytes of memory at most since it was forgotten; where that is not told, ever."""
    try:
        for line in Path("/proc/self/status").read_text(encoding="ascii").splitlines():
            if line.startswith("VmHWM"):
                return int(line.split()[1]) * 1024
    except OSError:
        pass
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024


def _forget_fonts() -> None:
    """Forget what is known by a path from the working folder, which no command ever changes."""
    for name, module in list(sys.modules.items()):
        if name.startswith("keyer.titles"):
            for held in vars(module).values():
                getattr(held, "cache_clear", lambda: None)()


def carry_out(case: Case, work: Path) -> oracles.Ran:
    """Run a case's command in its folder."""
    from keyer.cli.main import perform

    _asked[:] = case.asked
    before = oracles.contents(work)
    with _captured(work.parent) as (out, err):
        _forget_peak()
        start = time.monotonic()
        try:
            code = perform(case.words)
        except SystemExit as error:
            code = error.code if isinstance(error.code, int) else 1
        seconds, peak = time.monotonic() - start, _peak()
    told, said = (path.read_bytes().decode("utf-8", "backslashreplace") for path in (out, err))
    return oracles.Ran(case.words, code, told, said, seconds, peak, before, oracles.contents(work))


def run_one(
    good: Path, seed: int, number: int, kind: str, keep: Path | None = None
) -> dict[str, Any]:
    """Make a case, run it, judge it.

    Parameters
    ----------
    good : Path
        The good project.
    seed, number : int
    kind : str
    keep : Path, optional
        Where to leave the case's folder.

    Returns
    -------
    dict
    """
    home = Path(tempfile.mkdtemp(prefix="hostile-", dir=good.parent))
    work, temporary = home / "work", home / "tmp"
    here = Path.cwd()
    try:
        shutil.copytree(good, work)
        temporary.mkdir()
        (work / "out").mkdir()
        os.chdir(work)
        _forget_fonts()
        tempfile.tempdir = str(temporary)
        with contextlib.redirect_stdout(None), contextlib.redirect_stderr(None):
            case = make(seed, number, kind, work)
        ran = carry_out(case, work)
        faults = oracles.judge(ran)
        faults += [f"{path.name} was left in the temporary folder" for path in temporary.iterdir()]
        if case.watched and ran.code == 0:
            wrong = silent(work / case.watched, good / case.watched)
            faults += [wrong] if wrong else []
        return {
            "number": number, "kind": kind, "words": case.words, "code": ran.code, "faults": faults,
            "seconds": ran.seconds, "peak": ran.peak, "err": ran.err[:4000],
        }  # fmt: skip
    finally:
        tempfile.tempdir = None
        os.chdir(here)
        if keep is not None:
            shutil.rmtree(keep, ignore_errors=True)
            shutil.copytree(home, keep, symlinks=True, ignore_dangling_symlinks=True)
        shutil.rmtree(home, ignore_errors=True)


def main(arguments: list[str]) -> None:
    """Run the cases FIRST to LAST of a SEED for KINDS in the project GOOD."""
    good, seed, first, last, kinds, limit, keep = arguments
    wanted = tuple(kinds.split(","))
    tell = os.fdopen(os.dup(1), "w", encoding="utf-8", buffering=1)
    complain = os.fdopen(os.dup(2), "w", encoding="utf-8")
    faulthandler.enable(complain)
    begin()
    for number in range(int(first), int(last)):
        kind = kind_of(number, wanted)
        print(json.dumps({"begin": number, "kind": kind}), file=tell)
        faulthandler.dump_traceback_later(float(limit), exit=True, file=complain)
        result = run_one(Path(good), int(seed), number, kind, Path(keep) if keep else None)
        faulthandler.cancel_dump_traceback_later()
        print(json.dumps(result), file=tell)


if __name__ == "__main__":
    main(sys.argv[1:])
