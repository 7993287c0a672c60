"""The pages hold together: links lead somewhere, and CI runs what the README says."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", ROOT / "CHANGELOG.md", *ROOT.glob("docs/*.md")]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_lead_somewhere(page):
    text = page.read_text(encoding="utf-8")
    targets = re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", text)
    missing = [t for t in targets if "://" not in t and not (page.parent / t).exists()]
    assert not missing


def test_ci_runs_the_readmes_test_command():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    (command,) = re.findall(r"^python3 -m venv .*pytest$", readme, re.MULTILINE)
    assert command in (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()


def test_every_page_is_named_in_the_readme():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    pages = sorted(page.name for page in ROOT.glob("docs/*.md"))
    assert [name for name in pages if f"docs/{name}" not in readme] == []
