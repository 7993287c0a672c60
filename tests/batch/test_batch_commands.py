"""`keyer batch` and `keyer title` from the command line: output, JSON, exit codes."""

import json
from dataclasses import replace

import pytest
from batch.made import guests, project, table
from PIL import Image

from keyer.batch.front import BatchOrder
from keyer.batch.one_title import TitleOrder, save_page
from keyer.cli.main import perform
from keyer.errors import OutputError
from keyer.kinds.formats import parse_format
from keyer.media import write as media_write
from keyer.titles.pages import page_table


def run(capfd, *arguments):
    code = perform([str(part) for part in arguments])
    out, err = capfd.readouterr()
    return code, out, err


def test_batch_from_start_to_contact_sheet(tmp_path, capfd):
    sheet, rows, out = project(tmp_path), guests(tmp_path, 3), tmp_path / "out"
    code, text, _ = run(capfd, "batch", sheet, rows, "-d", out, "--jobs", 1, "--json",
                        "--contact", tmp_path / "c.png")  # fmt: skip
    report = json.loads(text)
    assert code == 0
    assert (report["rows"], report["rendered"], report["kept"]) == (3, 3, 0)
    assert report["outputs"] == ["000.png", "001.png", "002.png"]
    assert report["contact"] == [str(tmp_path / "c.png")]
    code, text, _ = run(capfd, "batch", sheet, rows, "-d", out, "--jobs", 1, "--resume")
    assert code == 0
    assert "3 of 3 rows done, 0 rendered now, 3 kept." in text
    code, text, err = run(capfd, "batch", sheet, rows, "-d", out)
    assert code == 2
    assert err.count("--resume") == 1
    assert "every row: its output is in" in err
    assert "Nothing was rendered" in text


def test_faults_are_listed_and_nothing_is_drawn(tmp_path, capfd):
    rows = table(tmp_path, "file,name\na,Ines\nb,\n")
    code, text, err = run(capfd, "batch", project(tmp_path), rows, "-d", tmp_path / "out")
    assert code == 2
    assert "row 3: field name must not be empty." in err
    assert "2 rows: 1 good, 1 with faults. Nothing was rendered." in text
    assert not (tmp_path / "out").exists()
    code, text, err = run(capfd, "batch", project(tmp_path), rows, "-d", tmp_path / "out",
                          "--dry-run", "--json")  # fmt: skip
    assert (code, err) == (2, "keyer: 1 of 2 rows have faults; the JSON lists them.\n")
    assert json.loads(text)["faults"] == [{"rows": [3], "message": "field name must not be empty."}]


def test_title_that_does_not_pass_is_exit_code_4(tmp_path, capfd):
    """White letters on noise, without the panel that holds them."""
    sheet, rows = project(tmp_path), guests(tmp_path, 7)
    design = tmp_path / "design.toml"
    design.write_text(design.read_text().replace("opacity = 0.8", "opacity = 0"))
    there = ("batch", sheet, rows, "-d", tmp_path / "out", "--jobs", 1)
    code, text, err = run(capfd, *there)
    assert code == 4
    assert "title.contrast fails" in text
    assert "7 rows do not pass the checks: 2 000, 3 001, 4 002, 5 003, 6 004 and 2 more." in err
    code, text, err = run(capfd, *there, "--resume", "--json")
    assert (code, json.loads(text)["kept"], "7 rows do not pass" in err) == (4, 7, True)


@pytest.mark.parametrize(
    ("change", "code", "says"),
    [
        ({"sheet": "none.toml"}, 3, "none.toml"),
        ({"rows": "none.csv"}, 3, "none.csv"),
        ({"folder": "none/out"}, 2, "Make it first"),
    ],
)
def test_wrong_files_are_one_line(tmp_path, capfd, change, code, says):
    order = BatchOrder(project(tmp_path), guests(tmp_path, 1), tmp_path / "out")
    order = replace(order, **{key: tmp_path / name for key, name in change.items()})
    found, _, err = run(capfd, "batch", order.sheet, order.rows, "-d", order.folder)
    assert found == code
    assert says in err
    assert err.count("\n") == 1


def test_title_kept_listed_and_recalled(tmp_path, capfd):
    project(tmp_path)
    pages = ("--pages", tmp_path / "pages")
    code, text, _ = run(capfd, "title", tmp_path / "design.toml", "-f", "name=Ines", "--save", 12,
                        "--note", "first half", *pages)  # fmt: skip
    assert (code, text.strip()) == (0, str(tmp_path / "pages" / "0012.toml"))
    code, text, _ = run(capfd, "pages", "list", "--json", *pages)
    page = json.loads(text)["pages"][0]
    assert (page["number"], page["fields"], page["note"]) == (12, {"name": "Ines"}, "first half")
    first, second = tmp_path / "first.png", tmp_path / "second.png"
    run(capfd, "title", tmp_path / "design.toml", "-f", "name=Ines", "-o", first)
    (tmp_path / "design.toml").write_text("gone")
    code, *_ = run(capfd, "title", 12, *pages, "-o", second)
    assert code == 0
    assert first.read_bytes() == second.read_bytes()
    code, _, err = run(capfd, "title", 13, *pages, "-o", tmp_path / "x.png")
    assert (code, "Near: 12" in err) == (2, True)


@pytest.mark.parametrize("output", [".", "nowhere/o.png", "back.png"])
def test_no_page_is_kept_of_a_title_whose_picture_is_refused(tmp_path, capfd, output):
    project(tmp_path)
    (tmp_path / "back.png").write_bytes(b"mine")
    found, _, err = run(capfd, "title", tmp_path / "design.toml", "-f", "name=Ines", "--save", 12,
                        "--pages", tmp_path / "pages", "-o", tmp_path / output)  # fmt: skip
    assert (found, err.count("\n")) == (2, 1)
    assert not (tmp_path / "pages").exists()


def test_damaged_page_does_not_stop_the_list(tmp_path, capfd):
    project(tmp_path)
    pages = ("--pages", tmp_path / "pages")
    for number in (3, 12, 40):
        run(capfd, "title", tmp_path / "design.toml", "-f", "name=Ines", "--save", number, *pages)
    (tmp_path / "pages" / "0012.toml").write_text("number = \n")
    code, text, err = run(capfd, "pages", "list", *pages)
    assert code == 3
    assert [line.split()[0] for line in text.splitlines() if "Trial" in line] == ["3", "40"]
    assert err.startswith("keyer: page 12 cannot be read, save it again: ")
    assert err.count("\n") == 1
    code, text, _ = run(capfd, "pages", "list", "--json", *pages)
    assert [page["number"] for page in json.loads(text)["pages"]] == [3, 40]
    assert list(json.loads(text)["damaged"]) == ["12"]


def test_of_two_pages_saved_at_once_under_a_number_one_is_refused(tmp_path, monkeypatch):
    """The second is quick: it begins when the first has looked for the last time."""
    project(tmp_path)
    video = parse_format("320x180@25")
    first, second = (
        TitleOrder(tmp_path / "design.toml", None, tmp_path / "pages", video, {"name": name})
        for name in ("Ines", "Tilda")
    )
    real, begun = media_write._put, []

    def meanwhile(temporary, target, *, replace):
        if target.name == "0012.toml" and not begun:
            begun.append(target)
            save_page(second, 12)
        real(temporary, target, replace=replace)

    monkeypatch.setattr(media_write, "_put", meanwhile)
    with pytest.raises(OutputError, match="exists"):
        save_page(first, 12)
    assert begun
    assert page_table(tmp_path / "pages", 12).fields == {"name": "Tilda"}
    assert not list((tmp_path / "pages").glob(".*"))


def test_title_kinds(tmp_path, capfd):
    project(tmp_path)
    common = ("title", tmp_path / "design.toml", "-f", "name=Ines", "--format", "320x180@25")
    code, text, _ = run(capfd, *common, "-o", tmp_path / "a.png", "--json")
    assert (code, json.loads(text)["outputs"]) == (0, [str(tmp_path / "a.png")])
    with Image.open(tmp_path / "a.png") as found:
        assert (found.mode, found.size) == ("RGBA", (320, 180))
    code, text, _ = run(capfd, *common, "-o", tmp_path / "b.png", "--kind", "keyfill", "--json")
    assert [name[-9:] for name in json.loads(text)["outputs"]] == ["-fill.png", "b-key.png"]
    code, text, _ = run(capfd, *common, "-o", tmp_path / "c.png", "--over", tmp_path / "back.png")
    assert code == 0
    assert "title.contrast" in text


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("title",), "needs a design or a page's number"),
        (("title", "design.toml", "-o", "x.jpg", "-f", "name=x"), "must end in .png"),
        (("title", "design.toml", "-o", "x.png", "-f", "name"), "NAME=TEXT"),
        (("title", "design.toml", "-o", "x.png", "-f", "nme=x"), "Is it 'name'?"),
        (("title", "design.toml", "-o", "x.png"), "field name must have a value"),
        (("title", "design.toml", "-o", "x.png", "-f", "name=x", "--kind", "over"), "--over"),
        (("title", "design.toml", "-f", "name=x", "--save", "0"), "[1, 99999]"),
        (("title", "design.toml", "--save", "3", "--depth", "16"), "depth: for a picture"),
        (
            ("batch", "sheet.toml", "rows.csv", "-d", "x", "--format", "clip", "--at", "1"),
            "Leave it",
        ),
    ],
)
def test_wrong_requests_of_titles(tmp_path, capfd, monkeypatch, arguments, says):
    project(tmp_path)
    monkeypatch.chdir(tmp_path)
    code, _, err = run(capfd, *arguments)
    assert code == 2
    assert says in err
    assert err.count("\n") == 1
    assert not list(tmp_path.glob("x.*"))


RULES = 'version = 1\nstation = "Upper Moss Vision"\n[[zones]]\nname = "mark"\nbox = {box}\n'


def test_rows_are_held_against_the_rules_of_the_station(tmp_path, capfd):
    """The title stands at the bottom left: off the first zone, and in the second."""
    sheet, rules = project(tmp_path), tmp_path / "station.toml"
    text = sheet.read_text(encoding="utf-8")
    sheet.write_text(text.replace("[sheet]", '[sheet]\nrules = "station.toml"'), encoding="utf-8")
    rules.write_text(RULES.format(box="[80, 5, 15, 12]"), encoding="utf-8")
    there = ("batch", sheet, guests(tmp_path, 2), "-d", tmp_path / "out", "--jobs", 1, "--json")
    code, text, _ = run(capfd, *there)
    assert (code, json.loads(text)["rendered"]) == (0, 2)
    rules.write_text(RULES.format(box="[5, 70, 40, 20]"), encoding="utf-8")
    code, text, err = run(capfd, *there, "--resume")  # other rules, another verdict
    assert (code, json.loads(text)["rendered"]) == (4, 2)
    assert "2 rows do not pass" in err


def test_a_title_is_held_against_rules(tmp_path, capfd):
    project(tmp_path)
    rules = tmp_path / "station.toml"
    rules.write_text(RULES.format(box="[5, 70, 40, 20]"), encoding="utf-8")
    made = ("title", tmp_path / "design.toml", "-f", "name=Ines", "-o", tmp_path / "t.png",
            "--format", "320x180@25", "--json")  # fmt: skip
    _, text, _ = run(capfd, *made, "--rules", rules)
    verdicts = {one["measure"]: one["verdict"] for one in json.loads(text)["verdicts"]}
    assert verdicts["title.zone"] == "fails"
    code, _, err = run(capfd, *made, "--force", "--rules", tmp_path / "none.toml")
    assert (code, err.count("\n")) == (3, 1)
    assert "cannot be read as a station's rules" in err


def test_a_pipe_gets_plain_lines_of_every_stage(tmp_path, capfd):
    """Of a hundred rows and more; JSON on the other pipe stays JSON."""
    sheet, rows, out = project(tmp_path), guests(tmp_path, 110), tmp_path / "out"
    sheet.write_text(sheet.read_text("utf-8").replace("320x180", "64x36"), encoding="utf-8")
    design = tmp_path / "design.toml"
    text = design.read_text("utf-8").replace("padding = [3, 4]", "padding = [0, 0]")
    design.write_text(text, encoding="utf-8")
    code, text, err = run(capfd, "batch", sheet, rows, "-d", out, "--jobs", 1, "--json")
    assert code in {0, 4}
    assert json.loads(text)["done"] == 110
    told = [line for line in err.splitlines() if "a second" in line]
    assert sum("rows checked, " in line for line in told) == 10
    assert sum("110 rows, " in line for line in told) == 10
    assert told[-1].startswith("keyer: 110 of 110 rows, ")
    assert told[-1].endswith("0 s left.")
