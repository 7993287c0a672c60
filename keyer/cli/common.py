"""What the commands share: option types, JSON and tables on standard output, notices."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Annotated, Any

import typer

from keyer.cli.voice import escaped, plain, tell
from keyer.kinds.figures import figures

Output = Annotated[Path, typer.Option("-o", "--output", help="File to write.")]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")]
Force = Annotated[bool, typer.Option("--force", help="Overwrite outputs that exist.")]
Set = Annotated[
    list[str] | None,
    typer.Option(
        "--set", metavar="NAME=VALUE", help="Value of a variable of the sheet; may be repeated."
    ),
]
SheetFile = Annotated[Path, typer.Argument(metavar="SHEET", help="The effect sheet.")]
RowsFile = Annotated[
    Path, typer.Argument(metavar="ROWS", help="CSV (UTF-8) or XLSX, columns named in row 1.")
]
RowNumbers = Annotated[
    str, typer.Option("--rows", help="Numbers of the rows that are wanted: 2-40,57,90-.")
]
Where = Annotated[
    list[str] | None,
    typer.Option("--where", metavar="COLUMN=TEXT", help="Only rows with this in a column."),
]
FileColumn = Annotated[str, typer.Option("--file-column", help="Column that names the pictures.")]
Worksheet = Annotated[
    str, typer.Option("--worksheet", help="Sheet of an XLSX. Default: the first one shown.")
]
Encoding = Annotated[
    str, typer.Option("--encoding", help="How a CSV is encoded: utf-8, utf-16 or latin-1.")
]
FieldTexts = Annotated[
    list[str] | None,
    typer.Option("-f", "--field", help="NAME=TEXT: the text of a field; may be repeated."),
]
LightOption = Annotated[
    str, typer.Option("--light", help="Mix coded values (video) or light (linear).")
]
PatternFolders = Annotated[
    list[Path] | None,
    typer.Option("--patterns", metavar="DIR", help="Add your own patterns; may be repeated."),
]


def print_json(data: Mapping[str, Any]) -> None:
    """Print one JSON object on standard output, in ASCII where that takes nothing else."""
    ascii_only = not (sys.stdout.encoding or "").lower().startswith("utf")
    text = json.dumps(data, indent=2, ensure_ascii=ascii_only, allow_nan=False)
    print("\n".join(map(escaped, text.split("\n"))), flush=True)


def notice(text: str) -> None:
    """Say something beside the result, on standard error."""
    tell(f"keyer: {text}")


_COMPILING = "compiling the picture kernels for this machine, once; ten to twenty seconds."


def wait_for_kernels() -> None:
    """Have a first-time user told what takes a few seconds, if it comes to that."""
    from keyer.pixel.kernels.jit import before_waiting

    before_waiting(lambda: notice(_COMPILING))


def wait_for_processes() -> None:
    """Compile all kernels at once where several processes will need them, and say so as well."""
    from keyer.pixel.kernels.jit import any_kept

    if not any_kept():
        notice(_COMPILING)
        from keyer.pixel.kernels.compiling import compile_all

        compile_all()


def print_table(headings: Iterable[str], rows: Iterable[Iterable[str]]) -> None:
    """Print rows under headings, wide columns wrapped."""
    from rich import box
    from rich.console import Console
    from rich.table import Table

    table = Table(*headings, box=box.SIMPLE_HEAD, pad_edge=False)
    for row in rows:
        table.add_row(*map(plain, row))
    Console(highlight=False, markup=False, emoji=False).print(table)


def print_verdicts(verdicts: Iterable[Mapping[str, Any]]) -> None:
    """Print verdicts as a table."""
    print_table(
        ("measure", "value", "verdict", "remedy"),
        (
            (
                v["measure"],
                f"{figures(v['measure'], v['value'])} {v['unit']}",
                v["verdict"],
                v["remedy"],
            )
            for v in verdicts
        ),
    )


def frame_counter() -> Callable[[int, int], None] | None:
    """Make what tells a person how far a check has come; None where no one is looking."""
    return _count_frames if sys.stderr.isatty() else None


def _count_frames(done: int, total: int) -> None:
    """Say how far it has come, on one line of a terminal."""
    if done % 10 == 0 or done == total:
        end = "\n" if done == total else ""
        print(f"\rkeyer: {done} of {total} frames", end=end, file=sys.stderr, flush=True)


def named_texts(given: list[str]) -> dict[str, str]:
    """Read NAME=TEXT of every `--field`."""
    from keyer.errors import SettingError

    found = {}
    for entry in given:
        name, sign, text = entry.partition("=")
        if not sign or not name.strip():
            msg = f"field must be written as NAME=TEXT, got {entry!r}."
            raise SettingError(msg)
        found[name.strip()] = text.replace("\\n", "\n")
    return found
