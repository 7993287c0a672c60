"""A set of patterns, found by name, by type alone, or by SMPTE code."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator

from keyer.errors import SettingError
from keyer.kinds.field import Pattern


class Patterns:
    """The patterns of the library, in their order, with those of the user."""

    def __init__(self, patterns: Iterable[Pattern]) -> None:
        self._all = tuple(patterns)
        self._found: dict[str, Pattern] = {}
        for pattern in self._all:
            self._found.setdefault(pattern.name.casefold(), pattern)
            if pattern.code is not None:
                self._found.setdefault(str(pattern.code), pattern)
            if pattern.default:
                self._found.setdefault(pattern.type.casefold(), pattern)

    def __iter__(self) -> Iterator[Pattern]:
        return iter(self._all)

    def __len__(self) -> int:
        return len(self._all)

    @property
    def families(self) -> tuple[str, ...]:
        """Return the names of the families, in their order."""
        return tuple(dict.fromkeys(pattern.family for pattern in self._all))

    def of_family(self, family: str) -> tuple[Pattern, ...]:
        """Return the patterns of a family.

        Raises
        ------
        SettingError
            If there is no such family.
        """
        found = tuple(p for p in self._all if p.family.casefold() == family.strip().casefold())
        if not found:
            msg = f"family must be one of {', '.join(self.families)}, got {family!r:.60}."
            raise SettingError(msg)
        return found

    def find(self, name: str | int) -> Pattern:
        """Return the pattern with a name, a type or a code.

        Parameters
        ----------
        name : str or int
            `type/subtype`, a type alone (its default subtype), or a SMPTE wipe
            code; capitals do not matter.

        Raises
        ------
        SettingError
            If there is none; the nearest names are suggested.
        """
        wanted = str(name).strip().casefold()
        if pattern := self._found.get(wanted):
            return pattern
        near = self._nearest(wanted)
        demand = (
            f"must be a type/subtype, a type or a code of the library, got "
            f"{str(name)!r:.60}. {near}"
        )
        raise SettingError(demand, "pattern")

    def _nearest(self, wanted: str) -> str:
        """Suggest names or codes close to one that is unknown."""
        if wanted.isdigit():
            codes = [pattern.code for pattern in self._all if pattern.code is not None]
            closest = sorted(codes, key=lambda code: (abs(code - int(wanted[:9])), code))[:2]
            return f"The nearest codes are {' and '.join(map(str, sorted(closest)))}."
        kind, _, part = wanted.partition("/")
        names = [pattern.name for pattern in self._all]
        same_type = [name for name in names if name.casefold().startswith(f"{kind}/")]
        if same_type and part:
            ends = {name.casefold().partition("/")[2]: name for name in same_type}
            close = [ends[end] for end in difflib.get_close_matches(part[:80], ends, 3, 0.5)]
            return f"Of that type there are: {', '.join(close or same_type)}."
        folded = {name.casefold(): name for name in names}
        folded |= {name.casefold().partition("/")[0]: name for name in reversed(names)}
        folded |= {name.casefold().partition("/")[2]: name for name in reversed(names)}
        close = [folded[key] for key in difflib.get_close_matches(wanted[:80], folded, 3, 0.5)]
        if close:
            return f"Did you mean {' or '.join(dict.fromkeys(close))}?"
        return "'keyer patterns' lists them all."
