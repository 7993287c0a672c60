"""Some rows of a table: by their numbers, or by what stands in a column."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from keyer.batch.rows import Row, Rows
from keyer.documents.faults import nearest
from keyer.errors import SettingError

_PART = re.compile(r"\s*([0-9]{1,7})\s*(?:-\s*([0-9]{1,7})?\s*)?")


@dataclass(frozen=True)
class Chosen:
    """The rows that are wanted, and those that are left alone."""

    table: Rows
    left: tuple[Row, ...] = ()


def choose_rows(table: Rows, numbers: str = "", where: Sequence[str] = ()) -> Chosen:
    """Return the rows of a table that `--rows` and `--where` ask for.

    Parameters
    ----------
    table : Rows
    numbers : str
        As a spreadsheet counts: `2-40,57,90-`; empty: all.
    where : sequence of str
        `COLUMN=TEXT`: the cell is that text, spaces at its ends aside. Of several
        for one column one is enough; of several columns each has to be met.

    Raises
    ------
    SettingError
        If a number or a column is not there, or no row is left.
    """
    if not numbers and not where:
        return Chosen(table)
    wanted = _numbers(numbers, table) if numbers else None
    texts = _texts(where, table)
    found: list[Row] = []
    left: list[Row] = []
    for row in table.rows:
        named = wanted is None or row.number in wanted
        met = all(row.cells.get(column, "").strip() in said for column, said in texts.items())
        (found if named and met else left).append(row)
    if not found:
        asked = " and ".join([*([f"rows {numbers}"] if numbers else []), *where])
        msg = f"{asked} must choose a row of {table.name}, got none of its {len(table.rows)} rows."
        raise SettingError(msg)
    notice = f"{len(found)} of {len(table.rows)} rows chosen; the others are left as they are."
    chosen = replace(table, rows=tuple(found), notices=(*table.notices, notice))
    return Chosen(chosen, tuple(left))


def _numbers(text: str, table: Rows) -> set[int]:
    there = {row.number for row in table.rows}
    last, found = max(there, default=1), set[int]()
    for first, end in read_spans(text, "rows", "numbers as a spreadsheet counts"):
        until = max(last, first) if end is None else end
        if until > last:
            asked = f"{first}-{end or ''}" if end != first else f"{first}"
            demand = f"must be in [2, {last}], the rows of {table.name}, got {asked!r}."
            raise SettingError(demand, "rows")
        found |= set(range(first, until + 1))
    return found & there


def read_spans(text: str, name: str, what: str) -> list[tuple[int, int | None]]:
    """Read numbers and spans of them: `2-40,57,90-`.

    Parameters
    ----------
    text : str
    name, what : str
        What they are called, and what they have to be, for messages.

    Returns
    -------
    list of (first, last)
        The last one None where it is left open.

    Raises
    ------
    SettingError
    """
    found: list[tuple[int, int | None]] = []
    for part in text.split(","):
        match = _PART.fullmatch(part)
        if match is None:
            demand = f"must be {what}, got {part!r:.40}. Write 2-40,57,90-."
            raise SettingError(demand, name)
        first = int(match[1])
        end = first if "-" not in part else int(match[2]) if match[2] else None
        if end is not None and end < first:
            demand = f"must go up, got {part.strip()!r}. Write {end}-{first}."
            raise SettingError(demand, name)
        found.append((first, end))
    return found


def _texts(where: Sequence[str], table: Rows) -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for one in where:
        column, equals, text = one.partition("=")
        column = column.strip()
        if not equals or not column:
            demand = f"must be COLUMN=TEXT, got {one!r:.60}. For instance town=Quillmere."
            raise SettingError(demand, "where")
        if column not in table.columns:
            demand = (
                f"must name a column of {table.name}, got {column!r:.60}."
                f"{nearest(column, table.columns)}"
            )
            raise SettingError(demand, "where")
        found.setdefault(column, set()).add(text.strip())
    return found
