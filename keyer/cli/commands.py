"""The commands by what they are for, a line each: what `keyer` alone prints."""

from __future__ import annotations

from typing import Any

from typer.core import TyperGroup

GROUPS = {
    "See": {
        "demo": "a demo project in a new folder, rendered",
        "rehearse": "a sheet in the browser: see it, change it, play it",
        "patterns": "the wipe patterns and backgrounds, as a list or a chart",
        "wipe": "a wipe between two pictures",
        "mix": "a mix of two pictures",
    },
    "Key": {
        "survey": "whether a plate can be keyed; which backing a subject needs",
        "key": "a subject keyed over a new background, and measured",
        "measure": "numbers of a plate or of a matte, with verdicts",
    },
    "Render": {
        "still": "frames of a sheet as pictures",
        "clip": "a sheet, or a part of it, as a clip with sound",
        "title": "one title as a picture, or kept under a number",
        "table": "many rows of a table in one picture: results, standings",
        "pages": "kept titles: listed, proofed, drawn, renumbered, handed on",
        "batch": "a picture or clip for each row of a table",
    },
    "Check": {
        "sheet": "whether a sheet is valid; renders nothing",
        "check": "what will not pass: levels, flashes, keys, titles, timing",
        "compare": "what has changed from one version to another",
        "approve": "a version kept as it was approved",
        "convert": "the sheet at another rate, size or shape",
    },
    "Paper": {
        "proof": "all texts of all titles, to be read before they are rendered",
        "board": "a storyboard, or variations to choose from",
        "cues": "the cue sheet, one row an event",
        "report": "everything about a spot on one page",
        "remake": "a still or board made again from its PNG",
    },
}
"""What each command makes, in the order of the help; each is a module of `keyer.cli`."""

COMMANDS = tuple(name for group in GROUPS.values() for name in group)


class Grouped(TyperGroup):
    """The command line, its help in groups."""

    def list_commands(self, ctx: Any) -> list[str]:  # noqa: ARG002  its parent's signature
        """Give the commands in the order of their groups."""
        return [name for name in COMMANDS if name in self.commands]

    def format_commands(self, ctx: Any, formatter: Any) -> None:  # noqa: ARG002
        """Write each group under its name, a line a command."""
        for group, lines in GROUPS.items():
            with formatter.section(group):
                formatter.write_dl([(f"{name:<9}", line) for name, line in lines.items()])
