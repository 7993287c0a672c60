"""The open sheet: the draft, its pictures, and the windows that look at it."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Callable, Mapping
from typing import Any

from keyer.errors import KeyerError, SettingError, SheetError
from keyer.rehearsal.choose import pattern_wall, read_values, variations
from keyer.rehearsal.client_file import read_remarks
from keyer.rehearsal.designs import offers, with_title
from keyer.rehearsal.draft import Draft
from keyer.rehearsal.earlier import earlier_sheet, others
from keyer.rehearsal.edits import read_edits
from keyer.rehearsal.guide import sound_digest
from keyer.rehearsal.papers import Papers, Wish
from keyer.rehearsal.pictures import SMALL_ROWS, Painter, Request, packed
from keyer.rehearsal.rows import (
    design_list,
    look_list,
    remark_list,
    settings_of,
    sheet_facts,
    sheet_rows,
    source_list,
)
from keyer.rehearsal.said import (
    fault_list,
    frame_list,
    row_count,
    safe_to_show,
    whole,
    with_place,
    without_folder,
)
from keyer.render.still import SHOWS
from keyer.report.boards.choices import Choice
from keyer.report.versions.changes import sheet_changes

OUTSIDE_SECONDS = 0.4
"""How often the file is looked at."""


class Window:
    """One browser window: what is to be sent to it, in order."""

    def __init__(self) -> None:
        self.queue: asyncio.Queue[str | bytes | dict[str, Any]] = asyncio.Queue()

    def say(self, message: dict[str, Any] | bytes) -> None:
        """Send a message."""
        self.queue.put_nowait(message)


class Live:
    """The state of one open sheet, shared by all its windows: draft, pictures, messages."""

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        self.windows: set[Window] = set()
        self._loop: asyncio.AbstractEventLoop | None = None
        self._asked: dict[str, Window] = {}
        self.painter = Painter(self._painted)
        self.papers = Papers(self._paper)
        self.cleared: str | None = None
        self._hand_over()

    def plain(self, said: Any) -> Any:
        """Leave the folders of this machine out of what is said."""
        return without_folder(said, str(self.draft.path.parent))

    def open(self, window: Window) -> None:
        """Add a window, and send it the whole state."""
        self._loop = asyncio.get_running_loop()
        self.windows.add(window)
        window.say(self.plain(self.state()))

    def leave(self, window: Window) -> None:
        """Forget a window."""
        self.windows.discard(window)

    async def watch(self) -> None:
        """Look at the file, for as long as the page is served."""
        while True:
            await asyncio.sleep(OUTSIDE_SECONDS)
            # What differs is taken in between two messages, never in the midst of one.
            if await asyncio.to_thread(self.draft.differs_outside) and self.draft.look_outside():
                self._changed()

    def close(self) -> None:
        """Let go of everything."""
        self.papers.stop()
        self.painter.close()

    def state(self) -> dict[str, Any]:
        """Say all that the page shows of the sheet."""
        draft = self.draft
        said: dict[str, Any] = {
            "do": "sheet",
            "name": draft.path.name,
            "revision": draft.revision,
            "changed": draft.changed,
            "undo": draft.undoable,
            "redo": draft.redoable,
            "theirs": draft.theirs is not None,
            "takenUp": draft.taken_up,
            "faults": fault_list(draft.error, draft.text),
            "facts": None,
        }
        if draft.sheet is not None:
            said |= {
                "facts": sheet_facts(draft.sheet),
                "rows": sheet_rows(draft.sheet),
                "sources": source_list(draft.sheet),
                "designs": design_list(draft.path.parent),
                "looks": look_list(draft.sheet),
                "remarks": remark_list(draft.text, draft.sheet),
                "written": {"remarks": len(draft.sheet.remarks)},
                "digest": draft.sheet.digest,
                "sound": sound_digest(draft.sheet),
                "flashes": "holds" if self.cleared == draft.sheet.digest else "",
            }
            if draft.error is None:
                said["settings"] = settings_of(draft.text, draft.sheet)
        return said

    def hear(self, window: Window, said: Mapping[str, Any]) -> None:
        """Take a message from a window, and do what it asks for.

        Parameters
        ----------
        window : Window
        said : mapping
            A message; what is wrong with it is answered to the window.
        """
        try:
            _ACTS.get(str(said.get("do")), Live._unknown)(self, window, said)
        except SheetError as error:
            window.say(
                self.plain({"do": "refused", "tag": said.get("tag"), "faults": fault_list(error)})
            )
        except KeyerError as error:
            self._refuse(window, said, str(error))
        except Exception as error:  # noqa: BLE001  a defect must not end the page
            self._refuse(window, said, f"defect: {type(error).__name__}: {error}")

    def _refuse(self, window: Window, said: Mapping[str, Any], message: str) -> None:
        faults = [{"path": "", "message": message}]
        window.say(self.plain({"do": "refused", "tag": said.get("tag"), "faults": faults}))

    def take_remarks(self, data: bytes) -> int:
        """Put remarks that came back into the sheet.

        Parameters
        ----------
        data : bytes
            The file that the client view has saved.

        Returns
        -------
        int
            How many are new.

        Raises
        ------
        KeyerError
        """
        sheet = self.draft.sheet
        if sheet is None:
            msg = "there is no sheet yet. Drop a picture on the page."
            raise SettingError(msg)
        edits = read_remarks(data, sheet, len(sheet.remarks))
        if edits:
            self.draft.edit(edits, "remarks that came back")
            self._changed()
        return len(edits)

    def _unknown(self, window: Window, said: Mapping[str, Any]) -> None:
        del window, said
        msg = "do must name something that the page can ask for."
        raise SettingError(msg)

    def _edit(self, window: Window, said: Mapping[str, Any]) -> None:
        gesture = said.get("gesture")
        label = str(said.get("label", ""))[:80]
        self.draft.edit(read_edits(said.get("edits")), label, gesture and str(gesture))
        self._changed()
        window.say({"do": "done", "tag": said.get("tag"), "revision": self.draft.revision})

    def _undo(self, window: Window, said: Mapping[str, Any]) -> None:
        del window, said
        if self.draft.undo():
            self._changed()

    def _redo(self, window: Window, said: Mapping[str, Any]) -> None:
        del window, said
        if self.draft.redo():
            self._changed()

    def _save(self, window: Window, said: Mapping[str, Any]) -> None:
        del window, said
        try:
            self.draft.save()
        finally:
            self._changed()  # also what somebody else is found to have written

    def _choose(self, window: Window, said: Mapping[str, Any]) -> None:
        del window
        self.draft.choose(theirs=bool(said.get("theirs")))
        self._changed()

    def _wall(self, window: Window, said: Mapping[str, Any]) -> None:
        """Show every pattern in a wipe's place."""
        if self.draft.sheet is None:
            return
        wanted, told = [], []
        for pattern, sheet, frame in pattern_wall(self.draft.sheet, str(said.get("path"))):
            wanted.append(
                Request("wall", frame, rows=SMALL_ROWS, tag=pattern.name, of="instead", sheet=sheet)
            )
            told.append(
                {"name": pattern.name, "code": pattern.code, "words": pattern.summary,
                 "family": pattern.family}
            )  # fmt: skip
        window.say({"do": "wall", "patterns": told})
        self._asked["wall"] = window
        self.painter.ask("wall", wanted)

    def _vary(self, window: Window, said: Mapping[str, Any]) -> None:
        """Show the sheet with other values, to choose from."""
        draft, frame = self.draft, whole(said, "frame")
        choices = read_values(said.get("choices"))
        found = variations(draft.text, draft.path.name, draft.path.parent, choices)
        cells = [
            {"edits": [vars(edit) for edit in edits], "fault": fault} for edits, _, fault in found
        ]
        window.say(self.plain({"do": "variations", "cells": cells}))
        self._asked["wall"] = window
        wanted = [
            Request("wall", min(frame, one.length - 1), rows=360, tag=n, of="instead", sheet=one)
            for n, (_, one, _) in enumerate(found)
            if one is not None
        ]
        self.painter.ask("wall", wanted)

    def _designs(self, window: Window, said: Mapping[str, Any]) -> None:
        """Show a title of every design over the frame, to choose from."""
        draft, frame = self.draft, whole(said, "frame")
        if draft.sheet is None or draft.error is not None:
            msg = "the sheet has faults. Correct them first."
            raise SettingError(msg)
        known = list(offers(draft.path.parent))
        cells = [
            {"name": one.name, "title": one.design.design.name, "about": one.design.design.about}
            for one in known
        ]
        window.say({"do": "designs", "cells": cells})
        self._asked["wall"] = window
        wanted = []
        for n, one in enumerate(known):
            with contextlib.suppress(KeyerError):
                sheet = with_title(draft.text, draft.path, draft.sheet, one, frame)
                wanted.append(
                    Request("wall", frame, rows=360, tag=f"design {n}", of="instead", sheet=sheet)
                )
        self.painter.ask("wall", wanted)

    def _measure(self, window: Window, said: Mapping[str, Any]) -> None:
        """Say whether a key holds; then, where it does not, what helps."""
        frame, path, tag = whole(said, "frame"), str(said.get("path")), said.get("tag")
        for slot in ("measure", "remedies"):
            self._asked[slot] = window
            self.painter.ask(slot, [Request(slot, frame, path, tag=tag)])

    def _compare(self, window: Window, said: Mapping[str, Any]) -> None:
        """Compare with another version: what changed, in words; pictures by `of`."""
        draft = self.draft
        before = earlier_sheet(draft, str(said.get("with", "saved")))
        self.painter.compare(before)
        changes = sheet_changes(before, draft.sheet) if draft.sheet else ()
        rows = [{"who": one.who, "what": one.what, "path": one.path} for one in changes]
        window.say(self.plain({"do": "changes", "changes": rows, "others": others(draft)}))

    def _show(self, window: Window, said: Mapping[str, Any]) -> None:
        rows, view = said.get("rows"), str(said.get("view", "picture"))
        if view not in SHOWS:
            msg = f"view must be {', '.join(SHOWS)}, got {view!r:.40}."
            raise SettingError(msg)
        of = "before" if said.get("of") == "before" else "now"
        slot = "before" if of == "before" else "rest" if rows is None else "hand"
        if rows is not None:
            rows = row_count(said)
        self._asked[slot] = window
        request = Request(slot, whole(said, "frame"), view, rows, said.get("tag"), of)
        self.painter.ask(slot, [request])

    def _small(self, window: Window, said: Mapping[str, Any]) -> None:
        frames, rows = frame_list(said, 500), row_count(said)
        self._asked["small"] = window
        wanted = [Request("small", frame, rows=rows) for frame in frames]
        self.painter.ask("small", wanted)

    def _ahead(self, window: Window, said: Mapping[str, Any]) -> None:
        """Draw what is played next."""
        frames, rows = frame_list(said, 60), row_count(said)
        self._asked["play"] = window
        tag = said.get("tag")
        self.painter.ask("play", [Request("play", n, rows=rows, tag=tag) for n in frames])

    def _make(self, window: Window, said: Mapping[str, Any]) -> None:
        """Make a paper of the sheet as it is on the page."""
        del window
        sheet = self.draft.sheet
        if sheet is None or self.draft.error is not None:
            msg = "the sheet has faults. Correct them first."
            raise SettingError(msg)
        frame = sheet.frame(whole(said, "frame"))
        kind = str(said.get("paper"))
        if kind == "approve" and self.draft.changed:
            msg = "only a saved sheet can be approved. Save it first."
            raise SettingError(msg)
        varied = read_values(said.get("choices")) if kind == "variations" else []
        choices = tuple(Choice(path, tuple(values)) for path, values in varied)
        self.papers.make(Wish(kind, sheet, self.draft.path, frame, choices))

    def _stop(self, window: Window, said: Mapping[str, Any]) -> None:
        del window, said
        self.papers.stop()

    def _paper(self, said: dict[str, Any]) -> None:
        """From the papers' thread: tell every window."""
        check = said.get("check")
        if check is not None and safe_to_show(check["findings"]):
            self.cleared = check["digest"]
            said["flashes"] = self.cleared
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._tell_all, said)

    def _tell_all(self, said: dict[str, Any]) -> None:
        told = self.plain(said)
        for window in self.windows:
            window.say(told)

    def _painted(self, request: Request, head: dict[str, Any], data: bytes) -> None:
        """From the painter's thread: hand a picture to who asked for it."""
        if "error" in head and str(request.tag).startswith("design "):
            head["error"] = "this design cannot be shown over this frame."  # its file may be ours
        window, loop = self._asked.get(request.slot), self._loop
        if window is not None and loop is not None and not loop.is_closed():
            loop.call_soon_threadsafe(self._hand_out, window, head, data)

    def _hand_out(self, window: Window, head: dict[str, Any], data: bytes) -> None:
        """Give a picture to a window, or say what is wrong with it and where in the sheet."""
        draft = self.draft
        if "error" in head and draft.sheet is not None and draft.error is None:
            head["error"] = with_place(head["error"], draft.text, draft.sheet)
        window.say(packed({"do": "picture", **self.plain(head)}, data))

    def _hand_over(self) -> None:
        if self.draft.sheet is not None:
            self.painter.take(self.draft.sheet, self.draft.revision)

    def _changed(self) -> None:
        """Tell every window what is new."""
        self._hand_over()
        self._tell_all(self.state())


_ACTS: dict[str, Callable[[Live, Window, Mapping[str, Any]], None]] = {
    "edit": Live._edit,
    "undo": Live._undo,
    "redo": Live._redo,
    "save": Live._save,
    "choose": Live._choose,
    "show": Live._show,
    "make": Live._make,
    "stop": Live._stop,
    "wall": Live._wall,
    "vary": Live._vary,
    "designs": Live._designs,
    "measure": Live._measure,
    "compare": Live._compare,
    "ahead": Live._ahead,
    "small": Live._small,
}
