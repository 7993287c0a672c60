"""A sheet and the settings that it includes, gathered into one.

An included sheet brings settings: `[sheet]` keys, variables, sources and house
settings. What the including sheet states itself wins, key by key in `[sheet]`
and `[variables]`, name by name elsewhere; of two includes the later one wins.
"""

from __future__ import annotations

import posixpath
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path as FilePath
from typing import Any, get_args

from keyer.documents.faults import Place, Places, nearest, sheet_error, show_value
from keyer.documents.locate import Path, line_map
from keyer.documents.reach import Reach
from keyer.documents.read import LARGEST_BYTES, parse_toml, read_text
from keyer.errors import Fault, InputFileError, SettingError, SheetError
from keyer.kinds.plain_file import real_path
from keyer.sheet.variables import Value, filled_size, substitute
from keyer.sheet.versions import upgrade

MOST_INCLUDES = 64
"""Sheets that a sheet includes, with those that they include: two of two each are six."""

MERGED = ("sheet", "variables", "sources", "effects", "transitions", "keys")
"""Tables that an included sheet may bring."""


class Gathered:
    """A sheet's tables joined with those of its includes, and where each key stands.

    Parameters
    ----------
    data : mapping
        The sheet's own plain data.
    places : Places
        Where its keys stand.
    reach : Reach
        Where includes and files are found.

    Attributes
    ----------
    data : dict
        Of all together; after `work_in`, with the variables' values.
    unfilled : dict
        After `work_in`: of all together, as a sheet that includes nothing
        would say it; its variables have the values that hold.
    places : Places
        Of all together.
    faults : list of Fault
    bad : set of paths
        What was found faulty here, so that nobody complains of it again.
    readable : bool
        False if its version cannot be read at all.
    complete : bool
        False if an include could not be read, so that names may be lacking.
    included : list of Path
        Files of its includes.
    """

    def __init__(self, data: Mapping[str, Any], places: Places, reach: Reach) -> None:
        self.places = Places(places.name, places.places)
        self.reach = reach
        self.faults: list[Fault] = []
        self.bad: set[Path] = set()
        self.included: list[FilePath] = []
        self._bases: dict[str, str] = {}
        self._patterns_base = ""
        self._rules_base = ""
        self.data, refusal = upgrade(data)
        self.unfilled: dict[str, Any] = {}
        self.readable = not refusal
        self.complete = True
        if refusal:
            self._note(self.places, ("version",), refusal)
            return
        for key in MERGED:  # what is merged into must not be the caller's
            if isinstance(self.data.get(key), Mapping):
                self.data[key] = dict(self.data[key])
        self._include_all(self.data, self.places, ())

    def _note(self, places: Places, path: Path, message: str) -> None:
        self.faults.append(places.fault(path, message))
        self.bad.add(path)

    def work_in(self, given: Mapping[str, Value]) -> None:
        """Put the variables' values in and drop the keys that are done with.

        Parameters
        ----------
        given : mapping of str to text, number or switch
            Values that win over the sheet's own.

        Raises
        ------
        SheetError
            If that makes it larger than any document.
        """
        declared = self.data.pop("variables", {})
        if not isinstance(declared, Mapping):
            self._note(self.places, ("variables",), "must be a table.")
            declared = {}
        for name, value in declared.items():
            if not isinstance(value, get_args(Value)):
                message = "must be text, a number, true or false."
                self._note(self.places, ("variables", name), message)
        for name in given:
            if name not in declared and self.complete:
                message = f"no variable is called {name!r:.80}.{nearest(name, declared)}"
                self.faults.append(Fault(f"variables.{name}", None, message))
        self.data.pop("include", None)

        def unknown(path: Path, name: str) -> None:
            self.bad.add(path)
            if self.complete:
                message = f"no variable is called {name!r:.80}.{nearest(name, declared)}"
                self.faults.append(self.places.fault(path, message))

        values = {**declared, **given}
        if filled_size(self.data, values) > LARGEST_BYTES:
            message = f"make the sheet larger than any document ({LARGEST_BYTES // 10**6} MB)."
            self._note(self.places, ("variables",), message)
            raise sheet_error(self.places.name, self.faults)
        for name, base in self._bases.items():
            _rebase(self.data["sources"][name], base, values)
        if self._patterns_base:
            _rebase_patterns(self.data["sheet"], self._patterns_base, values)
        if self._rules_base:
            rules = self.data["sheet"]["rules"]
            self.data["sheet"]["rules"] = _joined(self._rules_base, rules, values)
        self.unfilled = {**self.data, "variables": values} if values else self.data
        self.data = substitute(self.data, values, unknown)

    def _include_all(
        self, data: Mapping[str, Any], places: Places, chain: tuple[FilePath, ...], base: str = ""
    ) -> None:
        """Include what a sheet includes, the last first: it wins."""
        wanted = data.get("include", [])
        several = isinstance(wanted, list | tuple)
        for index, name in reversed(list(enumerate(wanted if several else [wanted]))):
            path = ("include", index) if several else ("include",)
            if isinstance(name, str):
                self._include(
                    posixpath.normpath(f"{base}/{name}" if base else name), path, places, chain
                )
            else:
                self._note(places, path, f"must be a file's name, got {show_value(name)}.")

    def _include(self, name: str, path: Path, places: Places, chain: tuple[FilePath, ...]) -> None:
        """Merge a sheet that another one includes under what is there already."""
        try:
            found = self.reach.find(name)
        except SettingError as error:
            self._note(places, path, str(error))
            return
        file = real_path(found)
        if file in chain:
            self._note(places, path, f"{name!r} includes itself.")
            return
        if len(self.included) >= MOST_INCLUDES:
            self._note(places, path, f"is one of more than {MOST_INCLUDES} includes. Join some.")
            return
        self.included.append(found)
        complete, self.complete = self.complete, False
        try:
            text = read_text(found, "an effect sheet")
            data, refusal = upgrade(parse_toml(text, name))
        except InputFileError as error:
            self._note(places, path, str(error))
            return
        except SheetError as error:
            self.faults += [replace(fault, file=name) for fault in error.faults]
            return
        lines = line_map(text)
        there = Places(self.places.name, {key: Place(name, line) for key, line in lines.items()})
        if "version" not in data:
            refusal = "is missing. Write version = 1."
        if refusal:
            line = lines.get(("version",))
            self.faults.append(Fault("version", line, refusal, name))
            return
        self.complete = complete
        here = posixpath.dirname(name)
        self._merge(data, there, here)
        self._include_all(data, there, (*chain, file), here)

    def _merge(self, data: Mapping[str, Any], places: Places, base: str) -> None:
        allowed = ("version", "include", *MERGED)
        for key in data:
            if key in {"cues", "overlays"}:
                message = "cannot be included: an included sheet brings settings only."
                self.faults.append(places.fault((key,), message))
            elif key not in allowed:
                message = f"unknown key.{nearest(key, allowed)}"
                self.faults.append(places.fault((key,), message))
        for key in MERGED:
            table = data.get(key, {})
            if not isinstance(table, Mapping):
                self.faults.append(places.fault((key,), "must be a table."))
                continue
            mine = self.data.setdefault(key, {})
            if not isinstance(mine, dict):
                continue  # the models refuse it
            new = [name for name in table if name not in mine]
            self.places.adopt(places, [(key, name) for name in new])
            for name in new:
                mine[name] = table[name]
                if key == "sources":
                    self._bases[name] = base
                if (key, name) == ("sheet", "patterns"):
                    self._patterns_base = base
                if (key, name) == ("sheet", "rules"):
                    self._rules_base = base


def _joined(base: str, written: Any, values: Mapping[str, Value]) -> Any:
    """Let a file's name, which may hold variables, be found from a folder; else as it is."""
    filled = substitute(written, values, lambda _path, _name: None)
    if not isinstance(filled, str) or posixpath.isabs(filled):
        return written
    return posixpath.join(base.replace("${", "$${"), written)


def _rebase(source: Any, base: str, values: Mapping[str, Value]) -> None:
    """Let the files of an included source be found from the folder of the sheet that names it."""
    if not isinstance(source, dict):
        return
    title = source.get("title")
    pairs = ((source, "file"), (source, "sheet"), (title, "design"), (title, "pages"))
    for holder, key in pairs:
        if isinstance(holder, dict) and key in holder:
            holder[key] = _joined(base, holder[key], values)


def _rebase_patterns(sheet: dict[str, Any], base: str, values: Mapping[str, Value]) -> None:
    """Let included folders of patterns be found from the folder of the sheet that names them."""
    wanted = sheet["patterns"]
    names = wanted if isinstance(wanted, list | tuple) else [wanted]
    if all(isinstance(name, str) for name in names):  # else the models refuse it
        sheet["patterns"] = [_joined(base, name, values) for name in names]
