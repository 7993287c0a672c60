"""`keyer title DESIGN|NUMBER`: one title as a picture, or kept under a number."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from keyer.cli.common import (
    FieldTexts,
    Force,
    Json,
    named_texts,
    notice,
    print_json,
    print_verdicts,
    wait_for_kernels,
)
from keyer.cli.voice import say

_DEPTH = 8


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(title)


def title(
    what: Annotated[
        str,
        typer.Argument(metavar="DESIGN|NUMBER", help="A title design (TOML), or a page's number."),
    ] = "",
    fields: FieldTexts = None,
    output: Annotated[
        Path | None, typer.Option("-o", "--output", help="Picture to write (PNG, TIFF).")
    ] = None,
    kind: Annotated[
        str, typer.Option("--kind", help="alpha, keyfill (two files), or over a picture.")
    ] = "",
    over: Annotated[
        Path | None, typer.Option("--over", help="Picture behind the title; measures contrast.")
    ] = None,
    depth: Annotated[int, typer.Option("--depth", help="Bits of the picture, 8 or 16.")] = _DEPTH,
    premultiplied: Annotated[
        bool,
        typer.Option("--premultiplied", help="Of kind alpha, as TIFF: colours times alpha."),
    ] = False,
    video_format: Annotated[
        str, typer.Option("--format", help="Format of the picture.")
    ] = "1080p25",
    frame: Annotated[
        int | None,
        typer.Option(
            "--frame",
            min=0,
            help="Frame of a title that moves, flashes or is built up; default: all of it built, "
            "or half of it passed.",
        ),
    ] = None,
    pages: Annotated[Path, typer.Option("--pages", help="Folder of the store of pages.")] = Path(
        "pages"
    ),
    save: Annotated[
        int | None, typer.Option("--save", help="Keep the title in the store under a number.")
    ] = None,
    note: Annotated[str, typer.Option("--note", help="A remark to keep with the page.")] = "",
    allow_flash: Annotated[
        bool,
        typer.Option(
            "--allow-flash",
            help="Let it flash more than three times a second, which can trigger seizures in "
            "people with photosensitive epilepsy.",
        ),
    ] = False,
    rules: Annotated[
        Path | None, typer.Option("--rules", help="A station's rules to hold it against (TOML).")
    ] = None,
    force: Force = False,
    json: Json = False,
) -> int:
    """Make one title: as a picture, or kept under a number and recalled by it."""
    from keyer.batch.one_title import TitleOrder, prepare_title, save_page
    from keyer.errors import SettingError
    from keyer.kinds.formats import parse_format

    if not what or (output is None and save is None):
        msg = "title needs a design or a page's number, and -o PICTURE or --save NUMBER."
        raise SettingError(msg)
    if output is None:
        _check_page_alone(
            kind=kind,
            over=over,
            frame=frame is not None,
            depth=depth != _DEPTH,
            premultiplied=premultiplied,
        )
    number = int(what) if what.isascii() and what.isdigit() else None
    order = TitleOrder(
        None if number is not None else Path(what),
        number,
        pages,
        parse_format(video_format),
        named_texts(fields or []),
        kind or ("over" if over else "alpha"),
        over,
        frame,
        allow_flash,
        rules,
        depth,
        premultiplied,
    )
    result: dict[str, Any] = {"outputs": [], "verdicts": [], "notes": []}
    ready = None
    if output is not None:
        wait_for_kernels()
        ready = prepare_title(order, output, force=force)
    if save is not None:  # only once nothing is wrong with the picture
        result["page"] = str(save_page(order, save, note=note, force=force))
    if ready is not None:
        report = ready.write()
        result |= {
            "outputs": [str(path) for path in report.outputs],
            "verdicts": [verdict.as_dict() for verdict in report.verdicts],
            "notes": list(report.notes),
            "frames_needed": report.frames_needed,
        }
    if json:
        print_json(result)
        return 0
    for line in (result.get("page"), *result["outputs"]):
        if line:
            say(line)
    for text in result["notes"]:
        notice(text)
    if result.get("frames_needed"):
        say(f"needs {result['frames_needed']} frames to pass")
    if result["verdicts"]:
        print_verdicts(result["verdicts"])
    return 0


def _check_page_alone(**of_a_picture: object) -> None:
    """Refuse what only a picture has, where a title is kept and no picture is asked for."""
    from keyer.errors import SettingError

    said = [name for name, given in of_a_picture.items() if given]
    if said:
        msg = f"{', '.join(said)}: for a picture, and none is asked for. Add -o PICTURE, or leave "
        raise SettingError(msg + "this out.")
