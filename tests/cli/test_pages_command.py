"""`keyer pages`: a store of titles put in order from the command line."""

import json

import pytest
from batch.made import project, table
from PIL import Image

from keyer.cli.main import perform


@pytest.fixture
def here(tmp_path, monkeypatch):
    project(tmp_path)
    table(tmp_path, "page,name,note\n3,Ines,first half\n4,Tilda,\n40,Wren,\n")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(capsys, text):
    code = perform(text.split())
    said = capsys.readouterr()
    return code, said.out, said.err


def add(capsys):
    assert run(capsys, "pages add rows.csv --design design.toml") == (
        0,
        "pages: 3 pages added.\n",
        "",
    )


def test_pages_listed_and_chosen(here, capsys):
    assert run(capsys, "pages list") == (0, "pages holds no pages.\n", "")
    add(capsys)
    code, out, _ = run(capsys, "pages list 3,40-")
    assert (code, out.splitlines()) == (
        0, ["    3  Trial  name: Ines  (first half)", "   40  Trial  name: Wren"],
    )  # fmt: skip
    _, out, _ = run(capsys, "pages list 4 --json")
    assert [page["number"] for page in json.loads(out)["pages"]] == [4]


def test_pages_drawn_and_their_verdicts_summed_up(here, capsys):
    add(capsys)
    (here / "zone.toml").write_text(
        'version = 1\nstation = "Lantern"\n[[zones]]\nname = "mark"\nbox = [0, 50, 100, 50]\n'
    )
    order = "pages draw 3-4 -d out --format 320x180@25 --over back.png"
    code, out, err = run(capsys, f"{order} --rules zone.toml")
    assert code == 4
    assert out.startswith("out: 2 of 2 pages drawn.\ntitle.zone fails in 2 pages, worst in page ")
    assert out.rstrip().endswith("Pages 3-4.")
    assert err == "keyer: pages 3-4 do not pass the checks.\n"
    assert sorted(path.name for path in (here / "out").iterdir()) == ["0003.png", "0004.png"]
    run(capsys, "title 4 --format 320x180@25 --over back.png -o one.png")
    assert (here / "one.png").read_bytes() == (here / "out" / "0004.png").read_bytes()
    code, _, err = run(capsys, order)
    assert (code, "0003.png exists" in err) == (2, True)
    code, out, _ = run(capsys, f"{order} --force --json")
    assert (code, len(json.loads(out)["outputs"])) == (0, 2)
    run(capsys, "pages draw 3 -d cut --format 320x180@25 --kind keyfill")
    assert sorted(path.name for path in (here / "cut").iterdir()) == [
        "0003-fill.png",
        "0003-key.png",
    ]
    with Image.open(here / "cut" / "0003-key.png") as key:
        assert key.mode == "L"


def test_a_damaged_page_lets_none_be_drawn(here, capsys):
    add(capsys)
    (here / "pages" / "0004.toml").write_text("number = \n")
    code, out, err = run(capsys, "pages draw -d out --format 320x180@25")
    assert (code, out) == (2, "out: 0 of 3 pages drawn.\n")
    first, last = err.splitlines()
    assert first.startswith("keyer: page 4: ")
    assert last == "keyer: 1 page has faults; the others are not drawn either."
    assert run(capsys, "pages draw -d out --format 320x180@25 --json")[2] == f"{last}\n"
    assert not (here / "out").exists()
    code, _, err = run(capsys, "pages draw 3 -d out --rules none.toml")
    assert (code, err.count("\n")) == (3, 1)


def test_pages_deleted_renumbered_and_handed_on(here, capsys):
    add(capsys)
    code, out, _ = run(capsys, "pages delete 4")
    assert (code, out.splitlines()) == (0, [
        "page 4 is now pages/deleted/0004.toml",
        "1 page moved aside. Move a file back into pages to have it again.",
    ])  # fmt: skip
    assert run(capsys, "pages renumber 3-40 --to 10")[1] == "page 3 is now 10\npage 40 is now 47\n"
    assert run(capsys, "pages export -o t.csv")[1] == "t.csv: 2 pages\n"
    assert run(capsys, "pages export 47 -o other")[1] == "other: 1 page\n"
    assert run(capsys, "pages list --pages other")[1] == "   47  Trial  name: Wren\n"
    text = (here / "t.csv").read_text("utf-8-sig")
    assert text.splitlines() == [
        "page,#design,name,note",
        "10,Trial,Ines,first half",
        "47,Trial,Wren,",
    ]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("pages lst", "action must be one of list, draw"),
        ("pages list --to 4", "--to is for renumber and add, not for list"),
        ("pages draw 3", "draw needs -d FOLDER"),
        ("pages delete", "delete needs the numbers of the pages"),
        ("pages renumber 3", "renumber needs --to NUMBER"),
        ("pages renumber 3 --to 0", "[1, 99999], got 0"),
        ("pages export", "export needs -o FOLDER or -o TABLE.csv"),
        ("pages add --design design.toml", "add needs the table"),
        ("pages add rows.csv", "add needs --design DESIGN"),
        ("pages list 5", "page 5 is not in pages. Near: 3, 4, 40."),
        ("pages export -o t.xlsx", "must be a folder, or a table that ends in .csv, got t.xlsx"),
        ("pages export 3 -o pages", "is an input and is never written over"),
        ("pages draw 3 -d out --kind over", "kind over needs a picture"),
    ],
)
def test_wrong_requests_are_one_line(here, capsys, text, says):
    add(capsys)
    before = sorted(here.rglob("*"))
    code, _, err = run(capsys, text)
    assert (code, err.count("\n")) == (2, 1)
    assert says in err
    assert sorted(here.rglob("*")) == before
