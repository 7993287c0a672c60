"""The page of commands says what the commands say."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from keyer.cli.commands import COMMANDS
from keyer.cli.main import perform
from keyer.cli.reference import function_pages, help_of

PAGE = Path(__file__).parent.parent.parent / "docs" / "commands.md"


def test_the_page_of_functions_is_what_the_docstrings_say():
    page = PAGE.with_name("python.md").read_text(encoding="utf-8")
    assert function_pages() in page, "run: cog -r docs/python.md"


@pytest.mark.parametrize("name", COMMANDS)
def test_the_page_has_the_command_as_it_is(name, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    page = PAGE.read_text(encoding="utf-8")
    assert f"```text\n{help_of(name)}\n```" in page, "run: cog -r docs/commands.md"


@pytest.mark.parametrize("name", COMMANDS)
def test_every_option_is_explained(name):
    """In a help text the explanation follows the option after two spaces or on the next line."""
    lines = help_of(name).splitlines()
    for line, after in zip(lines, [*lines[1:], ""], strict=True):
        if line.startswith("  -"):
            assert "  " in line.strip() or after.startswith(" " * 10), line


def test_every_module_that_has_a_command_is_named():
    """A command that is not named would be found neither by itself nor in the help."""
    modules = (Path(__file__).parent.parent.parent / "keyer" / "cli").glob("*.py")
    having = {path.stem for path in modules if "def register(" in path.read_text(encoding="utf-8")}
    assert having == set(COMMANDS)


@pytest.mark.parametrize("arguments", [[], ["--help"], ["--help", "key"], ["--debug", "--help"]])
def test_the_help_has_every_command_in_its_group(arguments, capsys):
    assert perform(arguments) == 0
    said = capsys.readouterr().out.partition("See:\n")[2]
    lines = [line for line in said.splitlines() if line.startswith("  ")]
    assert [line.split()[0] for line in lines] == list(COMMANDS)
    assert all(len(line) <= 80 and len(line.split()) > 2 for line in lines)


def test_a_shell_completes_commands():
    """What the shell's own hook asks: the words so far, and which of them is being written."""
    asked = {"_KEYER_COMPLETE": "complete_bash", "COMP_WORDS": "keyer st", "COMP_CWORD": "1"}
    done = subprocess.run(
        [sys.executable, "-m", "keyer"],
        check=True, env=os.environ | asked, capture_output=True, text=True, timeout=60,
    )  # fmt: skip
    assert done.stdout.split() == ["still"]
