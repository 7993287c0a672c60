"""The faults of a sheet as its resolving finds them.

Nothing stops at the first fault: what cannot be read is noted and stands in
with a harmless value or None, so that one reading tells all; what rests on a
value already found faulty is not complained of again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path as FilePath
from typing import Any, TypeVar

from keyer.documents.faults import Places, nearest
from keyer.documents.locate import Path
from keyer.documents.reach import Reach
from keyer.errors import Fault, SettingError, TimeError
from keyer.kinds.formats import VideoFormat
from keyer.kinds.ranges import in_range
from keyer.kinds.settings import Rgb, parse_colour
from keyer.kinds.timing import check_time, parse_time
from keyer.sheet.values import Table

T = TypeVar("T")
D = TypeVar("D")


class FaultLog:
    """The faults found so far, and the readings that may add to them.

    Attributes
    ----------
    faults : list of Fault
    format : VideoFormat or None
        None while it is not known; then no time can be read.
    complete : bool
        False if names may be lacking because an include could not be read.
    named : mapping
        Frames of the times that are given by name, by path.
    """

    def __init__(self, places: Places, bad: Iterable[Path] = (), *, complete: bool = True) -> None:
        self.places = places
        self.bad = set(bad)
        self.complete = complete
        self.faults: list[Fault] = []
        self.format: VideoFormat | None = None
        self.named: Mapping[Path, int] = {}

    def suspect(self, path: Path) -> bool:
        """Whether something at, in or around this path was faulty already."""
        return any(path[: len(bad)] == bad or bad[: len(path)] == path for bad in self.bad)

    def fault(self, path: Path, message: str) -> None:
        """Note a fault, unless the value was found faulty already."""
        if not any(path[: len(bad)] == bad for bad in self.bad):
            self.faults.append(self.places.fault(path, message))

    def tried(
        self, path: Path, default: D, make: Callable[..., T], *args: Any, **named: Any
    ) -> T | D:
        """Return what `make` makes, or note its refusal and return `default`."""
        try:
            return make(*args, **named)
        except (SettingError, TimeError) as error:
            self.fault(path, error.demand)  # the path names the key, and as the sheet does
            return default

    def time(self, path: Path, value: str | float) -> int | None:
        """Read a time at the sheet's rate; None if that cannot be done."""
        if self.format is None or self.suspect(path):
            return None
        if path in self.named:
            return self.named[path]
        return self.tried(path, None, parse_time, value, self.format.rate, _last(path))

    def written_time(self, path: Path, value: str | float) -> None:
        """Note a time that could be read at no rate."""
        if not self.suspect(path):
            self.tried(path, None, check_time, value, _last(path))

    def colour(self, path: Path, text: str) -> Rgb:
        """Read a colour."""
        return self.tried(path, (0.0, 0.0, 0.0), parse_colour, text, _last(path))

    def name(self, path: Path, name: str, known: Iterable[str], what: str) -> None:
        """Note a name that is not known."""
        names = list(known)
        if name not in names and self.complete and not self.suspect(path):
            self.fault(path, f"no {what} is called {name!r:.80}.{nearest(name, names)}")

    def file(self, path: Path, reach: Reach, name: str) -> FilePath:
        """Find a file by its name, or note that it lies where it may not."""
        return self.tried(path, FilePath(), reach.find, name)

    def spans(self, path: Path, table: Table) -> None:
        """Check the numbers of a table, and of those in it, against their ranges."""
        for field, info in type(table).model_fields.items():
            value = getattr(table, field)
            here = (*path, info.alias or field)
            if isinstance(value, Table):
                self.spans(here, value)
            extra: Any = info.json_schema_extra or {}
            span = extra.get("span")
            if span and value is not None:
                for number in value if isinstance(value, tuple) else (value,):
                    self.tried(here, 0.0, in_range, _last(here), number, *span)


def _last(path: Path) -> str:
    return str(next((step for step in reversed(path) if isinstance(step, str)), "value"))
