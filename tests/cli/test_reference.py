"""The page of commands says what the commands say."""

from pathlib import Path

import pytest

from keyer.cli.reference import command_names, help_of

PAGE = Path(__file__).parent.parent.parent / "docs" / "commands.md"


@pytest.mark.parametrize("name", command_names())
def test_the_page_has_the_command_as_it_is(name, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    page = PAGE.read_text(encoding="utf-8")
    assert f"```text\n{help_of(name)}\n```" in page, "run: cog -r docs/commands.md"


@pytest.mark.parametrize("name", command_names())
def test_every_option_is_explained(name):
    """In a help text the explanation follows the option after two spaces or on the next line."""
    lines = help_of(name).splitlines()
    for line, after in zip(lines, [*lines[1:], ""], strict=True):
        if line.startswith("  -"):
            assert "  " in line.strip() or after.startswith(" " * 10), line
