"""Signals made by the standards, what each says of them, and what is found: `docs/checking.md`.

Each row has the clause, the signal in words, what is expected by the standard,
and a function that measures it. `python -m signals.table` (with `tests` on the
path) writes the table into the document; a test sees that it is the one there
and that every row is as expected.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

from signals.flash_rows import flash_rows
from signals.level_rows import level_rows
from signals.matte_rows import matte_rows
from signals.plate_rows import plate_rows
from signals.row import Row
from signals.sheet_rows import sheet_rows
from signals.stripe_rows import stripe_rows
from support import HERE

SUBJECTS: dict[str, Callable[[], Iterator[Row]]] = {
    "flashes": flash_rows,
    "stripes": stripe_rows,
    "levels, loudness, labels": level_rows,
    "titles, timing": sheet_rows,
    "mattes": matte_rows,
    "plates": plate_rows,
}

DOCUMENT = HERE.parent / "docs" / "checking.md"

HEAD = "| clause | signal | expected | found |\n| --- | --- | --- | --- |\n"


def markdown(rows: list[Row], found: list[str]) -> str:
    """Write rows of the table, with what was found."""
    return "".join(
        f"| {row.clause} | {row.signal} | {row.expected} | {value} |\n"
        for row, value in zip(rows, found, strict=True)
    )


def write() -> None:
    """Put the table into the document."""
    rows = [row for made in SUBJECTS.values() for row in made()]
    table = HEAD + markdown(rows, [row.find() for row in rows])
    text = DOCUMENT.read_text(encoding="utf-8")
    text = re.sub(re.escape(HEAD) + r"(\|.*\n)*", lambda _: table, text)
    DOCUMENT.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    write()
