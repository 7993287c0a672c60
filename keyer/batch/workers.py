"""The workers of a cluster that draw rows of a batch: who is there, and what each has done."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping
from urllib.parse import urlsplit

_MOST_NAMED = 3


class Workers:
    """Counts of a batch on a cluster; a batch on one machine leaves them empty.

    Attributes
    ----------
    there : frozenset of str
        Addresses of those that draw now.
    rows : Counter of str
        Address to rows done, of those that are lost as well.
    """

    def __init__(self) -> None:
        self.there: frozenset[str] = frozenset()
        self.rows: Counter[str] = Counter()

    def __str__(self) -> str:
        """Say how many there are; nothing of a batch that has none."""
        return workers(len(self.there)) if self.there or self.rows else ""

    def now(self, there: Mapping[str, int]) -> list[str]:
        """Note the workers that the cluster has now.

        Parameters
        ----------
        there : mapping
            Address to the threads that it has.

        Returns
        -------
        list of str
            What has changed, in words.
        """
        before, self.there = self.there, frozenset(there)
        if not before and self.there and not self.rows:
            machines = len({urlsplit(address).hostname for address in self.there})
            where = f"{workers(len(self.there))} of {_some(machines, 'machine')}"
            return [f"rendering on {where}."]
        lost, come = before - self.there, self.there - before
        said = []
        if lost:
            verb = "is" if len(lost) == 1 else "are"
            said.append(f"{_named(lost)} {verb} gone, others do what was begun there")
        if come:
            said.append(f"{_named(come)} {'has' if len(come) == 1 else 'have'} joined")
        return [f"{'; '.join(said)}: {workers(len(self.there))} now."] if said else []

    def drop(self, address: str) -> None:
        """Take a worker off the list of those that are there."""
        self.there -= {address}


def workers(count: int) -> str:
    """Say how many workers."""
    return _some(count, "worker")


def _some(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def _named(addresses: Collection[str]) -> str:
    shown = sorted(addresses)[:_MOST_NAMED]
    more = len(addresses) - len(shown)
    names = ", ".join(shown) + (f" and {more} more" if more else "")
    return f"worker{'' if len(addresses) == 1 else 's'} {names}"
