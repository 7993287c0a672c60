"""The caution stands wherever flashing pictures and stripes can be made or seen, and names whom."""

import json
from fractions import Fraction
from pathlib import Path

import pytest
from batch.made import guests, project
from sheet.making import SHEET_PAGES

from keyer.cli import demo
from keyer.cli.main import perform
from keyer.errors import SettingError
from keyer.kinds.cautions import CAUTION, UNCHECKED
from keyer.render.plan import Plan
from keyer.sheet.load import build_sheet
from keyer.titles.design import Flash
from keyer.titles.flashing import check_flash

ROOT = Path(__file__).parent.parent
WHO = "photosensitive epilepsy"
WHAT = "trigger seizures"


def _says(text):
    said = " ".join(text.replace("> ", " ").split())
    return WHO in said and WHAT in said


PAGES = ("checking", "report", "clips", "batch", "titles", "sheet", "rehearse")


@pytest.mark.parametrize("page", PAGES)
def test_pages_name_the_condition(page):
    assert _says((ROOT / f"docs/{page}.md").read_text("utf-8"))


def test_the_readme_names_it_beside_the_promise():
    text = (ROOT / "README.md").read_text("utf-8")
    after = text[text.index("safe to show") :][:600]
    assert _says(after)
    assert "stripes" in after


@pytest.mark.parametrize(
    ("table", "key"),
    [
        ("background", "drift"),
        ("background", "loop"),
        ("sources", "speed"),
        ("sources", "loop"),
        ("sources", "allow_flash"),
        ("modulate", "speed"),
        ("keyframes", "opacity"),
    ],
)
def test_the_reference_of_the_sheet_names_it_at_what_changes_fast(table, key):
    text = "".join((ROOT / f"docs/{page}").read_text("utf-8") for page in SHEET_PAGES)
    rows = [line for line in text.splitlines() if line.startswith(f"| `{key}` ")]
    heads = {
        "background": "Runs through|Length of one loop",
        "sources": "runs a clip|Start a clip|Let it flash",
        "modulate": "wave runs",
        "keyframes": "As in `overlays`",
    }[table]
    assert [WHO in row for row in rows if any(head in row for head in heads.split("|"))] == [True]


@pytest.mark.parametrize("command", ["check", "clip", "report", "batch", "title", "demo"])
def test_help_names_it(command, capsys):
    assert perform([command, "--help"]) == 0
    assert _says(capsys.readouterr().out)


@pytest.fixture
def sheet(tmp_path):
    path = tmp_path / "sheet.toml"
    text = 'version = 1\n[sheet]\nformat = "64x36@25"\nlength = 3\n'
    path.write_text(f'{text}[sources.a]\ncolour = "#808080"\n[[cues]]\nsource = "a"\n', "utf-8")
    return path


@pytest.mark.parametrize("name", ["a.mp4", "a.gif", "a.webp"])
def test_clips_are_said_to_be_unchecked(sheet, tmp_path, capsys, name):
    command = ["clip", str(sheet), "-o", str(tmp_path / name), "--force"]
    assert perform(command) == 0
    said = capsys.readouterr().out
    assert UNCHECKED in said
    assert ("plays in a loop" in said) == (name != "a.mp4")
    assert perform([*command, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["caution"] in said


def test_reports_say_it_on_the_terminal_and_in_json(sheet, tmp_path, capsys):
    command = ["report", str(sheet), "-o", str(tmp_path / "r.html"), "--force"]
    assert perform(command) == 0
    assert CAUTION in capsys.readouterr().out
    assert perform([*command, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["caution"] == CAUTION


def test_clips_of_a_batch_are_said_to_be_unchecked(tmp_path, capsys):
    spot = project(tmp_path)
    spot.write_text(
        spot.read_text("utf-8").replace('"4s"', "30").replace("out = 90\n", ""), "utf-8"
    )
    command = ["batch", str(spot), str(guests(tmp_path, 1)), "-d", str(tmp_path / "out")]
    perform([*command, "--format", "clip", "--jobs", "1"])
    assert UNCHECKED in capsys.readouterr().out
    perform([*command, "--format", "clip", "--jobs", "1", "--resume", "--json"])
    assert json.loads(capsys.readouterr().out)["caution"] == UNCHECKED
    perform([*command, "--jobs", "1", "--dry-run"])
    assert UNCHECKED not in capsys.readouterr().out


FLASHING = """name = "Flashing"
[flash]
on = 2
off = 2
[styles.big]
size = 9
[[boxes]]
id = "words"
place = "bottom left"
[[boxes.texts]]
text = "Now"
style = "big"
"""


def test_a_title_that_may_flash_says_so_wherever_it_is_shown(tmp_path, capsys):
    design = tmp_path / "design.toml"
    design.write_text(FLASHING, "utf-8")
    command = ["title", str(design), "-o", str(tmp_path / "t.png"), "--force"]
    assert perform(command) == 2
    assert "flashing can trigger seizures" in capsys.readouterr().err
    for frame in ("0", "2"):  # lit, and dark
        assert perform([*command, "--allow-flash", "--frame", frame]) == 0
        assert _says(capsys.readouterr().err)
    data = {
        "version": 1,
        "sheet": {"format": "64x36@25", "length": 3},
        "sources": {"now": {"title": {"design": "design.toml", "allow_flash": True}}},
        "cues": [{"source": "now"}],
    }
    with Plan(build_sheet(data, folder=tmp_path)) as plan:
        (said,) = plan.notices
    assert said.startswith("now: flashes 7 times a second, as was allowed")
    assert _says(said)


def test_a_demo_says_what_flashes_in_it(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("keyer.demo.project.write_demo", lambda _folder, _say: [])
    assert perform(["demo", str(tmp_path / "d")]) == 0
    assert demo.CAUTION in capsys.readouterr().out
    assert perform(["demo", str(tmp_path / "d"), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["caution"] == demo.CAUTION
    assert _says(demo.CAUTION)
    assert "stripes" in demo.CAUTION
    assert WHO in (ROOT / "examples/demo/faults.toml").read_text("utf-8")


def test_the_caution_of_the_checks_says_what_it_has_to():
    for words in ("no clearance", "approved test", "local rules", "people at risk must be warned"):
        assert words in CAUTION


def test_cautions_cover_stripes_and_point_to_the_approved_test():
    for text in (CAUTION, UNCHECKED):
        assert _says(text)
        assert "stripes" in text
        assert "approved test" in text
        assert "ocal rules" in text


def test_a_refused_flash_speaks_of_people_first_and_names_the_key_of_the_sheet():
    with pytest.raises(SettingError) as caught:
        check_flash(Flash(on=2, off=2), Fraction(25))
    message = str(caught.value)
    assert message.startswith(f"flashing can {WHAT} in people with {WHO}")
    assert "allow_flash = true" in message
    assert "--allow-flash" in message
