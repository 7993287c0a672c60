"""A sheet's files opened and its patterns found, with everything that is wrong told at once."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from keyer.errors import Fault, InputFileError, KeyerError, SettingError, SheetError
from keyer.kinds.field import Pattern
from keyer.render.matching import match_sources
from keyer.render.nested import Nested
from keyer.render.patterns import (
    check_folders,
    misfits,
    sheet_folders,
    sheet_look,
    sheet_patterns,
)
from keyer.render.session import Session
from keyer.render.sources import OpenSource, stamp
from keyer.sheet.sheet import Sheet
from keyer.sheet.source import Background, EffectOf, OtherSheet, Source

Sources = dict[str, OpenSource | Nested]
"""By their names in the sheet."""

Troubles = list[tuple[str, KeyerError]]
"""Places in the sheet, and what is wrong there."""


class Opened:
    """Sources and patterns of a sheet, opened.

    Parameters
    ----------
    sheet : Sheet
    session : Session
    nested : callable
        Plans the effect, or the other sheet, that a source shows.
    larger : mapping of str to OpenSource or Nested
        The same sources at full size, with what was chosen there; may be empty.

    Attributes
    ----------
    sources : dict of str to OpenSource or Nested
    patterns : dict of str or int to Pattern
        By what the sheet calls them.
    notices : list of str
        What had to be assumed, and what was chosen.

    Raises
    ------
    SheetError
        Lists every fault.
    InputFileError
        If a single file that cannot be opened is all that is wrong.
    """

    def __init__(
        self,
        sheet: Sheet,
        session: Session,
        nested: Callable[[Source], Nested],
        larger: Mapping[str, OpenSource | Nested],
    ) -> None:
        self._sheet, self._session, self._nested = sheet, session, nested
        self.sources: Sources = {}
        self.patterns: dict[str | int, Pattern] = {}
        self.notices: list[str] = []
        self._folders_hold = True
        troubles = self._check_patterns() + self._open()
        troubles += [] if troubles else self._match(larger)
        if troubles:
            self._refuse(troubles)

    def _open(self) -> Troubles:
        troubles: Troubles = []
        shown = self._sheet.shown_here() if self._sheet.prefix else self._sheet.shown()
        for name, source in self._sheet.sources.items():
            if name not in shown:
                continue
            if isinstance(source.content, Background) and not self._folders_hold:
                continue
            try:
                self.sources[name] = self._opened(source)
                self.notices += [f"{name}: {text}" for text in self.sources[name].notices]
            except KeyerError as error:
                if str(error) not in {str(known) for _, known in troubles}:
                    troubles.append((f"sources.{name}", error))
        return troubles

    def _opened(self, source: Source) -> OpenSource | Nested:
        """Open a source, or have the effect planned that it shows."""
        video, content = self._sheet.format, source.content
        if isinstance(content, EffectOf | OtherSheet):
            return self._nested(source)
        look = None
        if isinstance(content, Background):
            look = sheet_look(content, sheet_folders(self._sheet))
        name = (source, video, look, stamp(source))
        return self._session.source(name, lambda: OpenSource(source, video, look))

    def _match(self, larger: Mapping[str, OpenSource | Nested]) -> Troubles:
        """Choose the corrections of sources that are matched to others."""
        try:
            self.notices += match_sources(self._sheet, self.sources, self._session, larger)
        except InputFileError as error:
            return [("sources", error)]
        return []

    def _check_patterns(self) -> Troubles:
        """Find every pattern, and what is asked of one that it cannot do."""
        wipes = [found for found in self._sheet.transitions() if found[1].kind == "wipe"]
        if not wipes and not self._sheet.patterns:
            return []
        try:
            library = sheet_patterns(self._sheet)
            check_folders(self._sheet)
        except KeyerError as error:
            self._folders_hold = False
            return [("sheet.patterns", error)]
        troubles: Troubles = []
        for path, transition in wipes:
            try:
                pattern = library.find(transition.pattern)
            except KeyerError as error:
                troubles.append((f"{path}.pattern", error))
                continue
            self.patterns[transition.pattern] = pattern
            over = path.startswith("overlays")
            troubles += [
                (f"{path}.{key}", SettingError(message))
                for key, message in misfits(transition, pattern, overlay=over)
            ]
        return troubles

    def _refuse(self, troubles: Troubles) -> None:
        first = troubles[0][1]
        if len(troubles) == 1 and isinstance(first, InputFileError):
            raise first
        if len(troubles) == 1 and troubles[0][0] == "sheet.patterns":
            raise first
        faults: list[Fault] = []
        for path, error in troubles:
            source = self._sheet.sources.get(path.removeprefix("sources."))
            of_effect = source is not None and isinstance(source.content, EffectOf)
            if of_effect and isinstance(error, SheetError):
                faults += error.faults  # which say where in this sheet they stand
            else:
                faults.append(self._sheet.fault(path, "; ".join(str(error).splitlines())))
        raise self._sheet.error(dict.fromkeys(faults))
