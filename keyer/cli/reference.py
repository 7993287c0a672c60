"""The help of every command as one page of text, for `docs/commands.md`."""

from __future__ import annotations

import contextlib
import io

from keyer.cli.main import app, perform


def command_names() -> list[str]:
    """Names of all commands, in the order of `keyer --help`."""
    return [
        command.name or command.callback.__name__.replace("_", "-")
        for command in app.registered_commands
        if command.callback is not None
    ]


def help_of(command: str) -> str:
    """Help text of a command, as printed.

    Parameters
    ----------
    command : str

    Returns
    -------
    str
    """
    text = io.StringIO()
    with contextlib.redirect_stdout(text):
        perform([command, "--help"])
    return "\n".join(line.rstrip() for line in text.getvalue().strip().splitlines())


def help_pages() -> str:
    """Every command's help under its name, in Markdown.

    Returns
    -------
    str
    """
    pages = [f"## keyer {name}\n\n```text\n{help_of(name)}\n```" for name in command_names()]
    return "\n\n".join(pages)
