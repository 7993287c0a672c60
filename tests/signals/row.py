"""A row of the table: a signal made by a standard, what that says of it, and how it is measured."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

ORDER = ("holds", "watch", "fails")
"""Verdicts, the worst last."""


@dataclass(frozen=True)
class Row:
    """One signal."""

    clause: str
    signal: str
    expected: str
    find: Callable[[], str]
