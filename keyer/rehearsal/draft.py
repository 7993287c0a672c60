"""The draft of a sheet: its text as it is being changed, every step kept for undo.

The file stays the one truth. A draft grows from its text, is saved over it
whole or not at all, and takes in what somebody else writes there; where both
have changed, neither is thrown away until a person has chosen.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from keyer.documents.read import read_text
from keyer.errors import KeyerError, OutputError
from keyer.media.files import Files
from keyer.media.write import write_bytes
from keyer.rehearsal.edits import Edit, edit_text
from keyer.rehearsal.journal import Journal, Revision, text_digest
from keyer.sheet.load import parse_sheet
from keyer.sheet.sheet import Sheet

STEPS_KEPT = 5_000


class Draft:
    """The text of a sheet while it is edited: undo, redo, saving.

    Parameters
    ----------
    path : Path
        The sheet's file; it need not be there yet.
    blank : str
        Text to begin with where there is no file.

    Attributes
    ----------
    text : str
        As it stands now.
    revision : int
        Counts every change of the text, undoing as well.
    saved : str
        The file's text as it was last read or written; empty if there was none.
    theirs : str or None
        What somebody else has written into the file while the draft had changed too.
    taken_up : bool
        Whether unsaved changes of an earlier run were found.
    sheet : Sheet or None
        What the text says; the last one that held where it does not.
    error : KeyerError or None
        Why the text does not hold.
    """

    def __init__(self, path: Path, blank: str = "") -> None:
        self.path = path = path.absolute()  # messages then never speak of where keyer was started
        self.revision = 0
        self.saved = read_text(path, "an effect sheet") if path.exists() else ""
        self.journal = Journal(path)
        self.theirs: str | None = None
        self.sheet: Sheet | None = None
        self.error: KeyerError | None = None
        self._done: list[Revision] = [Revision(self.saved or blank)]
        self._undone: list[Revision] = []
        self._gesture: str | None = None
        self.taken_up = self._take_up()
        self._read()

    @property
    def text(self) -> str:
        """The text as it stands now."""
        return self._done[-1].text

    @property
    def changed(self) -> bool:
        """Whether the draft differs from the saved text."""
        return self.text != self.saved

    @property
    def undoable(self) -> str | None:
        """What undo would take back, in words; None if nothing."""
        return self._done[-1].label if len(self._done) > 1 else None

    @property
    def redoable(self) -> str | None:
        """What redo would bring back, in words; None if nothing."""
        return self._undone[-1].label if self._undone else None

    def edit(self, edits: Iterable[Edit], label: str = "", gesture: str | None = None) -> None:
        """Change the text; what would not hold is refused and changes nothing.

        Parameters
        ----------
        edits : iterable of Edit
        label : str
            What is done, in a few words, for undo.
        gesture : str, optional
            Changes of one gesture, such as a drag, are one step of undo.

        Raises
        ------
        SettingError
            If a path leads nowhere.
        SheetError
            If the changed sheet does not hold.
        """
        text = edit_text(self.text, edits)
        sheet = self._parsed(text)
        follows = gesture is not None and gesture == self._gesture
        self._step(Revision(text, label), replace=follows)
        self._gesture = gesture
        self.sheet, self.error = sheet, None

    def undo(self) -> bool:
        """Take the last step back; False if there is none."""
        if len(self._done) < 2:
            return False
        self._keep(self._done[-2])
        self._undone.append(self._done.pop())
        self._moved()
        return True

    def redo(self) -> bool:
        """Bring back what undo took; False if there is nothing."""
        if not self._undone:
            return False
        self._keep(self._undone[-1])
        self._done.append(self._undone.pop())
        self._moved()
        return True

    def save(self, path: Path | None = None) -> None:
        """Put the text into the file, whole or not at all.

        Parameters
        ----------
        path : Path, optional
            Another file, which the draft belongs to from then on.

        Raises
        ------
        OutputError
            If it cannot be written, or somebody else has changed the file.
        """
        if path is None:
            self.look_outside()  # what was written there since it was last looked at stays
        if path is None and self.theirs is not None:
            msg = "the file was changed by somebody else. Choose first which of the two to keep."
            raise OutputError(msg)
        target = path or self.path
        write_bytes(target, self.text.encode(), Files(force=path is None))
        if path is not None:
            self.journal.end()
            self.path, self.journal = path, Journal(path)
        self.saved, self._gesture = self.text, None
        self.journal.end()

    def differs_outside(self) -> bool:
        """Whether somebody else has written into the file; changes nothing."""
        return self._outside() is not None

    def _outside(self) -> str | None:
        try:
            found = read_text(self.path, "an effect sheet") if self.path.exists() else None
        except (KeyerError, OSError):
            return None  # half-written by an editor; it is read again soon
        return None if found in (self.saved, self.theirs) else found

    def look_outside(self) -> bool:
        """Take in what somebody else has written into the file.

        Returns
        -------
        bool
            Whether anything is new: the text, or that both have changed.
        """
        found = self._outside()
        if found is None:
            return False
        if self.changed and found != self.text:
            self.theirs = found
            return True
        self.saved, self.theirs = found, None
        if found != self.text:
            self._append(Revision(found, "an edit made outside"))
        self.journal.end()
        self._gesture = None
        self._read()
        return True

    def choose(self, *, theirs: bool) -> None:
        """Settle which text is kept where both have changed; the other is one undo away."""
        if self.theirs is None:
            return
        mine, found, before = self.text, self.theirs, self.saved
        self.saved, self.theirs = found, None
        try:
            self._step(Revision(found, "an edit made outside"))
            if not theirs:
                self._step(Revision(mine, "the page's own text"))
        except OutputError:
            self.saved, self.theirs = before, found  # it is still to be chosen
            raise
        self._read()

    def _take_up(self) -> bool:
        found = self.journal.read()
        if found is None:
            return False
        if found.base != text_digest(self._done[0].text):
            self.theirs = self.saved  # the file went on without the draft
        self._done += found.revisions
        return self.text != self.saved

    def _step(self, revision: Revision, *, replace: bool = False) -> None:
        if revision.text == self.text and not replace:
            return
        self._keep(revision)
        if replace:
            self._done.pop()
        self._append(revision)

    def _keep(self, revision: Revision) -> None:
        """Put a revision into the journal, which begins with the first that is not saved."""
        if not self.changed:
            self.journal.begin(self.saved or self.text)
        self.journal.add(revision)

    def _append(self, revision: Revision) -> None:
        self._done.append(revision)
        del self._done[:-STEPS_KEPT]
        self._undone.clear()
        self.revision += 1

    def _moved(self) -> None:
        """Take up the text that undo or redo has gone to."""
        self.revision += 1
        self._gesture = None
        self._read()

    def _parsed(self, text: str) -> Sheet:
        return parse_sheet(text, self.path.name, folder=self.path.parent)

    def _read(self) -> None:
        """Read the text; the last sheet that held stays where it does not."""
        if not self.text.strip():  # a sheet that is yet to begin
            self.sheet = self.error = None
            return
        try:
            self.sheet, self.error = self._parsed(self.text), None
        except KeyerError as error:
            self.error = error
