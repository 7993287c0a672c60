"""`keyer patterns`: the library of wipe patterns."""

from __future__ import annotations

import typer

from keyer.cli.common import Json, print_json, print_table


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(patterns)


def patterns(json: Json = False) -> None:
    """List the wipe patterns: type/subtype, SMPTE code, and what the eye sees."""
    from keyer.library import load_patterns

    found = list(load_patterns())
    if json:
        rows = [
            {
                "name": f"{p.type}/{p.subtype}",
                "type": p.type,
                "subtype": p.subtype,
                "code": p.code,
                "family": p.family,
                "summary": p.summary,
            }
            for p in found
        ]
        print_json({"patterns": rows})
        return
    print_table(
        ("pattern", "code", "what the eye sees"),
        ((f"{p.type}/{p.subtype}", str(p.code or ""), p.summary) for p in found),
    )
