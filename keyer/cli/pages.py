"""`keyer pages ACTION`: kept titles listed, drawn, renumbered, deleted, handed on, from a table."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from keyer.cli.common import Json, notice, print_json, wait_for_kernels
from keyer.cli.progress import progress
from keyer.cli.voice import say

if TYPE_CHECKING:
    from keyer.batch.page_pictures import PagePictures

REQUEST, BAD_FILE, FAILED = 2, 3, 4

ACTIONS = {
    "list": (),
    "draw": ("folder", "kind", "over", "format", "rules", "allow-flash", "force"),
    "proof": ("output", "format", "rules", "force"),
    "delete": (),
    "renumber": ("to",),
    "export": ("output", "force"),
    "add": ("design", "to", "worksheet", "encoding", "force"),
}
"""What can be done with pages, each with the options that it takes beside those of all."""

_NO_STORE = (".xlsx", ".tsv", ".txt", ".toml", ".pdf", ".png")
"""Endings of files: who writes one for `export` wants no folder of that name."""
_NEEDS = {"draw": "folder", "renumber": "to", "export": "output", "add": "design"}
_WRITTEN = {"folder": "-d FOLDER", "to": "--to NUMBER", "output": "-o FOLDER or -o TABLE.csv",
            "design": "--design DESIGN"}  # fmt: skip


@dataclass(frozen=True)
class _Asked:
    """Options of `keyer pages` that were given, by name."""

    store: Path
    which: str
    given: dict[str, Any]
    json: bool

    @property
    def force(self) -> bool:
        return bool(self.given.get("force"))


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(pages)


def pages(
    action: Annotated[
        str,
        typer.Argument(
            metavar="ACTION",
            help="list, draw, proof, delete, renumber, export, or add from a table.",
        ),
    ],
    which: Annotated[
        str,
        typer.Argument(
            metavar="[NUMBERS|TABLE]",
            help="Pages as 2-40,57,90- (all without this, but to delete or renumber); or the "
            "table to add, CSV or XLSX.",
            show_default=False,
        ),
    ] = "",
    store: Annotated[Path, typer.Option("--pages", help="Folder of the store of pages.")] = Path(
        "pages"
    ),
    folder: Annotated[
        Path | None, typer.Option("-d", "--folder", help="draw: folder for the pictures.")
    ] = None,
    kind: Annotated[
        str, typer.Option("--kind", help="draw: alpha, keyfill (two files), or over a picture.")
    ] = "",
    over: Annotated[
        Path | None,
        typer.Option("--over", help="draw: picture behind the titles; measures contrast."),
    ] = None,
    video_format: Annotated[
        str, typer.Option("--format", help="draw, proof: format of the pictures. Default: 1080p25.")
    ] = "",
    rules: Annotated[
        Path | None,
        typer.Option("--rules", help="draw, proof: a station's rules to hold them against (TOML)."),
    ] = None,
    allow_flash: Annotated[
        bool,
        typer.Option(
            "--allow-flash",
            help="draw: let them flash more than three times a second, which can trigger seizures "
            "in people with photosensitive epilepsy.",
        ),
    ] = False,
    to: Annotated[
        int | None, typer.Option("--to", help="renumber, add: the new number of the first page.")
    ] = None,
    output: Annotated[
        Path | None,
        typer.Option(
            "-o",
            "--output",
            help="export: folder of another store, or a table (.csv); "
            "proof: .pdf or .png. Default: as text.",
        ),
    ] = None,
    design: Annotated[
        Path | None, typer.Option("--design", help="add: the title design of the new pages.")
    ] = None,
    worksheet: Annotated[
        str, typer.Option("--worksheet", help="add: sheet of an XLSX. Default: the first shown.")
    ] = "",
    encoding: Annotated[
        str, typer.Option("--encoding", help="add: how a CSV is encoded: utf-8, utf-16 or latin-1.")
    ] = "",
    force: Annotated[
        bool, typer.Option("--force", help="draw, proof, export, add: replace what is there.")
    ] = False,
    json: Json = False,
) -> int:
    """Put a store of pages in order: titles kept under numbers.

    Deleting moves a page into the folder "deleted" of the store; move its file
    back to have it again. In a table to add, the column "page" gives the numbers,
    unless --to counts them on from one; "note" is a remark, and every other column
    sets a field of the design by its name.
    """
    from keyer.errors import SettingError
    from keyer.kinds.ranges import one_of

    options = {
        "folder": folder, "kind": kind, "over": over, "format": video_format, "rules": rules,
        "allow-flash": allow_flash, "to": to, "output": output, "design": design,
        "worksheet": worksheet, "encoding": encoding, "force": force,
    }  # fmt: skip
    one_of("action", action, tuple(ACTIONS))
    given = {
        name: value
        for name, value in options.items()
        if value is not None and value is not False and value != ""
    }
    needed = _NEEDS.get(action)
    for name in given:
        if name not in ACTIONS[action]:
            takers = " and ".join(other for other, takes in ACTIONS.items() if name in takes)
            demand = f"is for {takers}, not for {action}. Leave it out."
            raise SettingError(demand, f"--{name}")
    if needed and needed not in given:
        msg = f"{action} needs {_WRITTEN[needed]}."
        raise SettingError(msg)
    if not which and action in {"delete", "renumber", "add"}:
        what = "the table" if action == "add" else "the numbers of the pages, 2-40,57,90-"
        msg = f"{action} needs {what}."
        raise SettingError(msg)
    asked = _Asked(store, which, given, json)
    return {
        "list": _list, "draw": _draw, "proof": _proof, "delete": _delete, "renumber": _renumber,
        "export": _export, "add": _add,
    }[action](asked)  # fmt: skip


def _pages(count: int) -> str:
    return "1 page" if count == 1 else f"{count} pages"


def _list(asked: _Asked) -> int:
    from keyer.titles.page_list import list_pages

    found = list_pages(asked.store)
    wanted = None
    if asked.which:
        from keyer.batch.page_store import choose_pages

        wanted = set(choose_pages(asked.store, asked.which))
    shown = [page for page in found.pages if wanted is None or page.number in wanted]
    damaged = {n: text for n, text in found.damaged.items() if wanted is None or n in wanted}
    if asked.json:
        print_json({"pages": [page.as_dict() for page in shown], "damaged": damaged})
    else:
        for page in shown:
            said = ", ".join(f"{name}: {text}" for name, text in page.fields.items() if text)
            note = f"  ({page.note})" if page.note else ""
            say(f"{page.number:>5}  {page.design_name}  {said}{note}")
        if not shown and not damaged:
            say(f"{asked.store} holds no pages.")
    for number, fault in damaged.items():
        notice(f"page {number} cannot be read, save it again: {fault}")
    return BAD_FILE if damaged else 0


def _delete(asked: _Asked) -> int:
    from keyer.batch.page_store import choose_pages, delete_pages

    numbers = choose_pages(asked.store, asked.which)
    moved = delete_pages(asked.store, numbers)
    if asked.json:
        print_json({"moved": {str(number): str(path) for number, path in moved.items()}})
        return 0
    for number, path in moved.items():
        say(f"page {number} is now {path}")
    for number in sorted(set(numbers) - set(moved)):
        notice(f"page {number} was gone already.")
    say(f"{_pages(len(moved))} moved aside. Move a file back into {asked.store} to have it again.")
    return 0


def _renumber(asked: _Asked) -> int:
    from keyer.batch.page_store import choose_pages, renumber_pages

    new = renumber_pages(asked.store, choose_pages(asked.store, asked.which), asked.given["to"])
    if asked.json:
        print_json({"renumbered": {str(old): now for old, now in new.items()}})
        return 0
    for old, now in new.items():
        say(f"page {old} is now {now}")
    return 0


def _export(asked: _Asked) -> int:
    from keyer.batch.page_rows import pages_table
    from keyer.batch.page_store import choose_pages, export_pages
    from keyer.errors import SettingError

    output: Path = asked.given["output"]
    if output.suffix.lower() in _NO_STORE:
        msg = f"output must be a folder, or a table that ends in .csv, got {output}."
        raise SettingError(msg)
    numbers = choose_pages(asked.store, asked.which)
    if output.suffix.lower() == ".csv":
        pages_table(asked.store, numbers, output, force=asked.force)
    else:
        export_pages(asked.store, numbers, output, force=asked.force)
    if asked.json:
        print_json({"output": str(output), "pages": numbers})
    else:
        say(f"{output}: {_pages(len(numbers))}")
    return 0


def _add(asked: _Asked) -> int:
    from keyer.batch.page_rows import RowsOrder, add_pages

    order = RowsOrder(
        Path(asked.which),
        asked.given["design"],
        asked.store,
        asked.given.get("to"),
        asked.given.get("worksheet"),
        asked.given.get("encoding"),
        asked.force,
    )
    with progress(quiet=asked.json) as told:
        added = add_pages(order, lambda done, total: told("rows", done, total))
    for text in added.notices:
        notice(text)
    if asked.json:
        faults = [{"rows": list(one.rows), "message": one.message} for one in added.faults]
        outputs = [str(path) for path in added.pages]
        print_json({"rows": added.rows, "pages": outputs, "faults": faults})
        if faults:
            notice("rows have faults, and no page was added; the JSON lists them.")
    else:
        for fault in added.faults:
            notice(str(fault))
        bad = len({row for fault in added.faults for row in fault.rows})
        say(
            f"{bad} of {added.rows} rows with faults. No page was added."
            if added.faults
            else f"{asked.store}: {_pages(len(added.pages))} added."
        )
    return REQUEST if added.faults else 0


def _draw(asked: _Asked) -> int:
    from keyer.batch.grid import spans
    from keyer.batch.one_title import TitleOrder
    from keyer.batch.page_pictures import draw_pages
    from keyer.batch.page_store import choose_pages
    from keyer.kinds import stopping
    from keyer.kinds.formats import parse_format

    given = asked.given
    numbers = choose_pages(asked.store, asked.which)
    order = TitleOrder(
        None,
        None,
        asked.store,
        parse_format(given.get("format", "1080p25")),
        kind=given.get("kind", "over" if "over" in given else "alpha"),
        over=given.get("over"),
        allow_flash=bool(given.get("allow-flash")),
        rules=given.get("rules"),
    )
    wait_for_kernels()
    stopping.advise("finished pictures stay.")
    with progress(quiet=asked.json) as told:
        drawn = draw_pages(
            order,
            numbers,
            given["folder"],
            force=asked.force,
            told=lambda done, total: told("pages", done, total),
        )
    stopping.advise("")
    _tell_pictures(asked, drawn, len(numbers))
    if drawn.faults:
        many = (
            "1 page has faults"
            if len(drawn.faults) == 1
            else f"{len(drawn.faults)} pages have faults"
        )
        notice(f"{many}; the others {'are drawn' if drawn.reports else 'are not drawn either'}.")
        return REQUEST
    failed = [n for n, report in drawn.reports.items()
              if any(verdict.verdict == "fails" for verdict in report.verdicts)]  # fmt: skip
    if not failed:
        return 0
    s = "" if len(failed) == 1 else "s"
    notice(f"page{s} {spans(failed)} do{'' if s else 'es'} not pass the checks.")
    return FAILED


def _proof(asked: _Asked) -> int:
    from keyer.batch.page_store import choose_pages
    from keyer.batch.proof_titles import proof_pages
    from keyer.cli.proof import name_output, tell_proof
    from keyer.kinds.formats import parse_format
    from keyer.media.files import Files

    given = asked.given
    files = Files(force=asked.force)
    name_output(given.get("output"), files)
    numbers = choose_pages(asked.store, asked.which)
    video = parse_format(given.get("format", "1080p25"))
    with progress(quiet=asked.json) as told:
        made = proof_pages(
            asked.store,
            numbers,
            video,
            given.get("rules"),
            lambda done, total: told("pages", done, total),
        )
    return tell_proof(made, given.get("output"), files, json=asked.json)


def _tell_pictures(asked: _Asked, drawn: PagePictures, count: int) -> None:
    from keyer.batch.summary import Judged, summary_of

    judged = (
        Judged(number, "", [verdict.as_dict() for verdict in report.verdicts])
        for number, report in drawn.reports.items()
    )
    kinds = summary_of(judged, "page")
    outputs = [str(path) for report in drawn.reports.values() for path in report.outputs]
    notes = dict.fromkeys(note for report in drawn.reports.values() for note in report.notes)
    if asked.json:
        print_json(
            {
                "outputs": outputs,
                "faults": {str(number): text for number, text in drawn.faults.items()},
                "summary": [kind.as_dict() for kind in kinds],
                "notes": list(notes),
            }
        )
        return
    for text in notes:
        notice(text)
    for number, text in drawn.faults.items():
        notice(f"page {number}: {text}")
    say(f"{asked.given['folder']}: {len(drawn.reports)} of {_pages(count)} drawn.")
    for kind in kinds:
        say(str(kind))
