"""The help of every command as one page of text, for `docs/commands.md`."""

from __future__ import annotations

import contextlib
import io

from keyer.cli.commands import COMMANDS
from keyer.cli.main import perform


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
    pages = [f"## keyer {name}\n\n```text\n{help_of(name)}\n```" for name in COMMANDS]
    return "\n\n".join(pages)
