"""The pages of reference: every command's help, every public function."""

from __future__ import annotations

import contextlib
import inspect
import io

import keyer
from keyer.cli.commands import COMMANDS
from keyer.cli.main import perform


def help_of(command: str) -> str:
    """Help text of a command, as printed."""
    text = io.StringIO()
    with contextlib.redirect_stdout(text):
        perform([command, "--help"])
    return "\n".join(line.rstrip() for line in text.getvalue().strip().splitlines())


def help_pages() -> str:
    """Every command's help under its name, in Markdown."""
    pages = [f"## keyer {name}\n\n```text\n{help_of(name)}\n```" for name in COMMANDS]
    return "\n\n".join(pages)


def function_pages() -> str:
    """Every public function and class under its name: how it is called, and its docstring."""
    pages = []
    for name in keyer.__all__:
        found = getattr(keyer, name)
        signature = inspect.signature(found)
        named = [one.replace(annotation=one.empty) for one in signature.parameters.values()]
        call = inspect.Signature(named)
        lines = f"keyer.{name}{call}\n\n{inspect.getdoc(found)}"
        pages.append(f"## {name}\n\n```text\n{lines}\n```")
    return "\n\n".join(pages)
