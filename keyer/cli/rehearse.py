"""`keyer rehearse [SHEET]`: the sheet on a page in the browser, to be touched and played."""

from __future__ import annotations

import json as json_text
from pathlib import Path
from typing import Annotated

import typer

from keyer.cli.common import Json
from keyer.cli.voice import say


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(rehearse)


def rehearse(
    sheet: Annotated[
        Path, typer.Argument(metavar="[SHEET]", help="The effect sheet; it need not exist yet.")
    ] = Path("sheet.toml"),
    port: Annotated[
        int, typer.Option("--port", min=0, max=65535, help="Port; 0: any free one.")
    ] = 0,
    no_open: Annotated[
        bool, typer.Option("--no-open", help="Print the address; open no browser.")
    ] = False,
    json: Json = False,
) -> None:
    """Open a sheet in the browser: see it, change it, play it, read whether it holds.

    Only this computer can reach the page, until you press Ctrl-C. The sheet's file changes only
    when you save; unsaved changes are kept in a journal beside it.
    """
    from keyer.rehearsal.serve import serve

    def ready(address: str) -> None:
        if json:
            say(json_text.dumps({"url": address}))  # one line, for whoever waits for it
        else:
            say(f"{address}", "Ctrl-C ends the rehearsal.")
        if not no_open:
            import webbrowser

            webbrowser.open(address)

    serve(sheet, port, ready)
