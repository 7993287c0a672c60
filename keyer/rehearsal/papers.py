"""Papers, stills and clips made from the page: one at a time, with progress and a way to stop.

Each is made of the sheet as it is on the page, saved or not, and lies beside
the sheet under the first name that is free; nothing is ever replaced.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from keyer.errors import KeyerError, SettingError
from keyer.media.files import Files
from keyer.media.write import write_bytes
from keyer.render.inputs import sheet_inputs
from keyer.report.boards.choices import Choice
from keyer.sheet.sheet import Sheet

Progress = Callable[[int, int], None]
Tell = Callable[[dict[str, Any]], None]


class Stopped(Exception):  # noqa: N818  no error: a person has stopped it
    """The paper is no longer wanted."""


@dataclass(frozen=True)
class Wish:
    """Which paper (board, cue sheet, report) to make, and where it goes.

    Attributes
    ----------
    kind : str
        One of `KINDS`.
    sheet : Sheet
    file : Path
        The sheet's, beside which the paper lies.
    frame : int
        Where the person is, for a still and for variations.
    choices : tuple of Choice
        Of a board of variations.
    """

    kind: str
    sheet: Sheet
    file: Path
    frame: int = 0
    choices: tuple[Choice, ...] = ()

    def output(self, ending: str) -> Path:
        """Name the paper: the first name that is free."""
        for number in range(1, 10_000):
            count = "" if number == 1 else f"-{number}"
            found = self.file.with_name(f"{self.file.stem}{count}{ending}")
            if not found.exists():
                return found
        msg = f"there are ten thousand files like {self.file.stem}{ending}. Clear some away."
        raise SettingError(msg)

    def write(self, ending: str, data: bytes) -> str:
        """Write the paper whole; gives its name."""
        target = self.output(ending)
        write_bytes(target, data, Files((self.file, *sheet_inputs(self.sheet))))
        return target.name


def _check(wish: Wish, progress: Progress) -> dict[str, Any]:
    from keyer.report.checks.check import check_sheet

    return {"check": check_sheet(wish.sheet, progress).as_dict()}


def _report(wish: Wish, progress: Progress) -> dict[str, Any]:
    from keyer.report.report import make_report

    page, check = make_report(wish.sheet, progress=progress)
    return {"file": wish.write("-report.html", page.encode()), "check": check.as_dict()}


def _cues(wish: Wish, progress: Progress) -> dict[str, Any]:
    from keyer.render.plan import Plan
    from keyer.report.cue_sheets.cues import cue_sheet
    from keyer.report.page.cue_page import cue_page

    del progress
    with Plan(wish.sheet) as plan:
        page = cue_page(cue_sheet(wish.sheet, plan))
    return {"file": wish.write("-cues.html", page.encode())}


def _board(wish: Wish, progress: Progress) -> dict[str, Any]:
    from keyer.report.boards.board_files import make_board, write_board

    del progress
    board = make_board(wish.sheet)
    files = Files((wish.file, *sheet_inputs(wish.sheet)))
    target = files.write(wish.output("-storyboard.pdf"))
    return {"file": write_board(board, target, files)[0].name}


def _variations(wish: Wish, progress: Progress) -> dict[str, Any]:
    from keyer.report.boards.board_files import make_board, write_board

    del progress
    board = make_board(wish.sheet, wish.choices, at=wish.frame)
    files = Files((wish.file, *board.inputs))
    target = files.write(wish.output("-variations.pdf"))
    return {"file": write_board(board, target, files)[0].name}


def _still(wish: Wish, progress: Progress) -> dict[str, Any]:
    from keyer.rehearsal.pictures import exact_png
    from keyer.render.plan import Plan
    from keyer.render.still import frame_picture

    del progress
    label = wish.sheet.label(wish.frame).replace(":", "").replace(";", "")
    with Plan(wish.sheet) as plan:
        data = exact_png(frame_picture(plan, wish.frame))
    return {"file": wish.write(f"-{label}.png", data)}


def _approve(wish: Wish, progress: Progress) -> dict[str, Any]:
    from keyer.report.versions.approve import approve_file

    return {"file": approve_file(wish.file, progress=progress).path.name}


def _client(wish: Wish, progress: Progress) -> dict[str, Any]:
    from keyer.rehearsal.client_file import client_page

    del progress
    return {"file": wish.write("-client.html", client_page(wish.sheet).encode())}


def _clip(wish: Wish, progress: Progress) -> dict[str, Any]:
    from keyer.render.clip import render_clip

    report = render_clip(wish.sheet, wish.output(".mp4"), progress=progress)
    return {"file": report.output.name, "notices": list(report.notices)}


KINDS: dict[str, Callable[[Wish, Progress], dict[str, Any]]] = {
    "check": _check,
    "report": _report,
    "cues": _cues,
    "board": _board,
    "variations": _variations,
    "still": _still,
    "clip": _clip,
    "client": _client,
    "approve": _approve,
}
"""What can be made, by name."""


class Papers:
    """Makes papers, one at a time, in a thread of its own.

    Parameters
    ----------
    tell : callable
        Told how far it is, and what came of it; from the thread.

    Attributes
    ----------
    busy : bool
        Whether a paper is being made.
    """

    def __init__(self, tell: Tell) -> None:
        self._tell = tell
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None
        self.busy = False

    def make(self, wish: Wish) -> None:
        """Begin a paper.

        Raises
        ------
        SettingError
            If there is no such paper, or one is being made.
        """
        if wish.kind not in KINDS:
            msg = f"paper must be {', '.join(KINDS)}, got {wish.kind!r:.40}."
            raise SettingError(msg)
        if self.busy:
            msg = "one paper is being made already. Wait for it, or stop it."
            raise SettingError(msg)
        self._stop.clear()
        self.busy = True
        self._thread = threading.Thread(target=self._run, args=(wish,), daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """Stop the paper that is being made, and wait until it is gone."""
        self._stop.set()
        if self._thread is not None:
            self._thread.join(timeout=10)

    def _progress(self, kind: str) -> Progress:
        def progress(done: int, total: int) -> None:
            if self._stop.is_set():
                raise Stopped
            if done % 5 == 0 or done == total:
                self._tell({"do": "paper", "kind": kind, "done": done, "total": total})

        return progress

    def _run(self, wish: Wish) -> None:
        said: dict[str, Any] = {"do": "paper", "kind": wish.kind, "digest": wish.sheet.digest}
        self._tell({**said, "done": 0, "total": 0})
        try:
            said |= {"over": True, **KINDS[wish.kind](wish, self._progress(wish.kind))}
        except Stopped:
            said |= {"over": True, "stopped": True}
        except KeyerError as error:
            said |= {"over": True, "error": str(error)}
        except Exception as error:  # noqa: BLE001  a defect must not end the page
            said |= {"over": True, "error": f"defect: {type(error).__name__}: {error}"}
        self.busy = False  # before it is told: whoever hears it may ask for the next
        self._tell(said)
