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


def test_a_newcomer_finds_each_nodes_file_and_its_test():
    """The table of nodes in DEVELOPERS.md has all of them, each beside a file that defines it."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = [line.split("|")[1:4] for line in text.splitlines() if ".py` | `test_" in line]
    render, tests = ROOT / "keyer" / "render", ROOT / "tests" / "render"
    told = set()
    for nodes, where, checked in rows:
        (file,) = re.findall(r"`(\w+\.py)`", where)
        here = re.findall(r"`([A-Z]\w+)`", nodes)
        source = (render / file).read_text(encoding="utf-8")
        assert [node for node in here if f"class {node}(" not in source] == []
        assert all((tests / name).exists() for name in re.findall(r"`(\w+\.py)`", checked))
        told |= set(here)
    defined = {
        name
        for file in render.glob("*.py")
        for name in re.findall(
            r"^class ([A-Z]\w*)\((?:Node|OfOne|WholeNode|_Between)\)",
            file.read_text("utf-8"),
            re.MULTILINE,
        )
    }
    assert defined - {"OfOne", "WholeNode"} == told
