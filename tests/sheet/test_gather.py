import pytest
from sheet.making import SPOT, line_of

from keyer.documents.faults import Places
from keyer.errors import SheetError
from keyer.sheet import versions
from keyer.sheet.edit import flatten_sheet
from keyer.sheet.gather import MERGED
from keyer.sheet.load import build_sheet, declared_variables, load_sheet, parse_sheet
from keyer.sheet.variables import filled_size, substitute

HOUSE = """\
version = 1

[sheet]
title = "House title"
format = "720p50"
light = "linear"

[variables]
accent = "#FF0000"
frames = 12

[sources.logo]
file = "art/logo.png"
[sources.lake]
file = "the house's own lake.png"
[sources.super]
title = { design = "titles/super.toml", fields = { name = "Anna" } }

[transitions.quick]
kind = "mix"
length = 5

[keys.studio]
kind = "chroma"
hue = "blue"
clip = 7
"""


@pytest.fixture
def job(tmp_path):
    """A folder with a sheet's job and, beside it, the house's settings."""
    (tmp_path / "house").mkdir()
    (tmp_path / "house" / "house.toml").write_text(HOUSE, encoding="utf-8")
    return tmp_path


def including(text=SPOT, include='"house/house.toml"'):
    return text.replace("version = 1", f"version = 1\ninclude = {include}")


def faults(text, folder, **options):
    with pytest.raises(SheetError) as caught:
        parse_sheet(text, "spot.toml", folder=folder, **options)
    return [str(fault) for fault in caught.value.faults]


def test_settings_are_included_and_the_sheets_own_win(job):
    sheet = parse_sheet(including(), folder=job)
    assert sheet.title == "Row before breakfast"
    assert sheet.format.name == "1080p25"
    assert sheet.light == "linear"
    assert sheet.sources["logo"].content.path == job / "house/art/logo.png"
    assert sheet.sources["lake"].content.path == job / "media/lake.png"
    assert sheet.sources["super"].content.design == job / "house/titles/super.toml"
    assert "include" not in sheet.data


def test_house_transitions_and_keys_are_taken_up_by_name(job):
    text = including().replace('kind = "chroma", hue = "green"', 'use = "studio", clip = 9')
    text = text.replace('kind = "mix", length = 10', 'use = "quick"')
    over = parse_sheet(text, folder=job).overlays[0]
    assert (over.key.hue, over.key.clip_percent) == ("blue", 9)
    assert (over.enter.kind, over.enter.length) == ("mix", 5)


def test_of_two_includes_the_later_wins_and_includes_may_include(job):
    (job / "a.toml").write_text(
        'version = 1\ninclude = "house/house.toml"\n[sheet]\nnote = "a"\n[variables]\nx = 1',
        encoding="utf-8",
    )
    (job / "b.toml").write_text(
        'version = 1\n[sheet]\nnote = "b"\nlight = "video"', encoding="utf-8"
    )
    sheet = parse_sheet(including(include='["a.toml", "b.toml"]'), folder=job)
    assert (sheet.note, sheet.light) == ("b", "video")
    assert sheet.sources["logo"].content.written == "house/art/logo.png"
    assert parse_sheet(including(include='["b.toml", "a.toml"]'), folder=job).note == "a"


def test_including_twice_by_two_ways_is_no_circle(job):
    for name in ("a", "b"):
        (job / f"{name}.toml").write_text(
            'version = 1\ninclude = "house/house.toml"', encoding="utf-8"
        )
    assert parse_sheet(including(include='["a.toml", "b.toml"]'), folder=job).light == "linear"


def test_a_circle_of_includes_is_refused(job):
    (job / "house" / "house.toml").write_text(
        'version = 1\ninclude = "../other.toml"', encoding="utf-8"
    )
    (job / "other.toml").write_text('version = 1\ninclude = ["house/house.toml"]', encoding="utf-8")
    (found,) = faults(including(), job)
    assert found == "other.toml: include[0], line 2: 'house/house.toml' includes itself."


def test_a_sheet_that_includes_itself_is_refused(job):
    (job / "spot.toml").write_text(including(include='"spot.toml"'), encoding="utf-8")
    with pytest.raises(SheetError, match=r"includes itself|cannot be included"):
        load_sheet(job / "spot.toml")


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("clip = 7", "clip = 99",
         "house/house.toml: keys.studio.clip, line 26: must be in [0, 95], got 99."),
        ("clip = 7", "clp = 7", "house/house.toml: keys.studio.clp, line 26: unknown key."),
        ('light = "linear"', "light = 3", "house/house.toml: sheet.light, line 6: must be"),
        ("[variables]", "[variablez]",
         "house/house.toml: variablez, line 8: unknown key. Did you mean 'variables'?"),
        ("[variables]", "[[cues]]\n[variables]",
         "house/house.toml: cues, line 8: cannot be included"),
        ("length = 5", "length 5", "house/house.toml: line 21: is not TOML"),
        ("version = 1", "", "house/house.toml: version: is missing. Write version = 1."),
        ("version = 1", "version = 9", "house/house.toml: version, line 1: must be 1 at most"),
        ("frames = 12", "frames = []",
         "house/house.toml: variables.frames, line 10: must be text, a number, true or false."),
    ],
)  # fmt: skip
def test_faults_of_an_included_sheet_name_it(job, old, new, expected):
    path = job / "house" / "house.toml"
    path.write_text(HOUSE.replace(old, new), encoding="utf-8")
    (found,) = faults(including(), job)
    assert found.startswith(expected)


@pytest.mark.parametrize(
    ("include", "expected"),
    [
        ('"missing.toml"', "include, line 2: "),
        ('["house/house.toml", "missing.toml"]', "include[1], line 2: "),
        ("3", "include"),
        ("[3]", "include"),
        ('"house"', "include, line 2: "),
        ('""', "include, line 2: "),
    ],
)
def test_what_cannot_be_included_is_refused(job, include, expected):
    found = faults(including(include=include), job)
    assert all(fault.startswith(expected) for fault in found)
    assert found


def test_a_missing_include_brings_no_complaints_about_what_it_would_have_said(job):
    text = including(include='"missing.toml"').replace('format = "1080p25"\n', "")
    text = text.replace('use = "house"', 'use = "quick"').replace('"lake"', '"logo"')
    text = text.replace("scale = 80", "scale = 8000").replace("#F00", "${accent}")
    found = faults(text, job, variables={"frames": 3})
    assert [fault.partition(":")[0] for fault in found] == [
        "include, line 2",
        f"overlays[0].placement.scale, line {line_of(text, '8000')}",
    ]


def test_faults_of_the_sheet_itself_are_told_beside_those_of_its_include(job):
    path = job / "house" / "house.toml"
    path.write_text(f"cues = []\noverlays = 1\nsheet = 3\n{HOUSE.partition('[sheet]')[0]}")
    text = including().replace('source = "jetty"', 'source = "jety"')
    found = faults(text, job)
    assert [fault.partition(",")[0] for fault in found] == [
        "cues[1].source",
        "house/house.toml: cues",
        "house/house.toml: overlays",
        "house/house.toml: sheet",
    ]


def test_the_variables_of_a_sheet_can_be_listed(job):
    (job / "spot.toml").write_text(
        including().replace("[sheet]", '[variables]\nframes = 9\nname = "x"\n[sheet]'),
        encoding="utf-8",
    )
    assert declared_variables(job / "spot.toml") == {
        "accent": "#FF0000",
        "frames": 9,
        "name": "x",
    }


def test_variables_stand_for_values_of_every_kind(job):
    text = including().replace('length = "1s", border', 'length = "${frames}", border')
    text = text.replace('"#F00"', '"${accent}"').replace(
        "soft = 3", 'soft = 3\nreverse = "${back}"'
    )
    text = text.replace("Row before breakfast", "Row $${at} ${frames} ${back} ${share}")
    text = text.replace("[sheet]", "[variables]\nback = true\nshare = 0.5\n[sheet]")
    sheet = parse_sheet(text, folder=job)
    wipe = sheet.cues[1].transition
    assert (wipe.length, wipe.edge.border_colour) == (12, (1, 0, 0))
    assert wipe.modifiers.reverse
    assert sheet.title == "Row ${at} 12 true 0.5"
    assert "variables" not in sheet.data


def test_variables_in_the_files_of_an_include_are_found_from_its_folder(job):
    text = HOUSE.replace("art/logo.png", "${art}/logo.png").replace("titles/", "${far}/")
    text = text.replace("[variables]", f'[variables]\nart = "art"\nfar = "{job.as_posix()}"')
    (job / "house" / "house.toml").write_text(text, encoding="utf-8")
    sheet = parse_sheet(including(), folder=job, variables={"art": "new"})
    assert sheet.sources["logo"].content.path == job / "house/new/logo.png"
    assert sheet.sources["super"].content.design == job / "super.toml"
    assert parse_sheet(flatten_sheet(sheet), folder=job) == sheet


def test_values_given_at_loading_win_and_must_be_declared(job):
    text = SPOT.replace("Row", "${name}").replace("[sheet]", '[variables]\nname = "x"\n[sheet]')
    assert parse_sheet(text, variables={"name": "Anna"}).title == "Anna before breakfast"
    found = faults(text, job, variables={"nme": "Anna"})
    assert found == ["variables.nme: no variable is called 'nme'. Did you mean 'name'?"]


def test_an_unknown_variable_is_refused_once_where_it_is_used(job):
    text = including().replace('"#F00"', '"${akcent}"')
    (found,) = faults(text, job)
    line = line_of(text, "akcent")
    assert found == (
        f"cues[1].transition.border_colour, line {line}: "
        "no variable is called 'akcent'. Did you mean 'accent'?"
    )


def test_variables_that_are_no_table_are_refused(job):
    (found,) = faults("variables = 3\n" + SPOT, job)
    assert found == "variables, line 1: must be a table."


def test_substitution_leaves_what_it_was_given():
    data = {"a": ["${x}", {"b": "-${x}-"}], "c": 1}
    missing = []
    found = substitute(data, {"x": 5}, lambda path, name: missing.append((path, name)))
    assert found == {"a": [5, {"b": "-5-"}], "c": 1}
    assert data == {"a": ["${x}", {"b": "-${x}-"}], "c": 1}
    substitute(data, {}, lambda path, name: missing.append((path, name)))
    assert missing == [(("a", 0), "x"), (("a", 1, "b"), "x")]


def test_older_sheets_take_the_way_to_the_current_version(monkeypatch):
    def step(data):
        sheet = dict(data["sheet"])
        sheet["title"] = sheet.pop("headline")
        return {**data, "sheet": sheet}

    monkeypatch.setitem(versions.STEPS, 0, step)
    data = {
        "version": 0,
        "sheet": {"headline": "Old", "format": "1080p25", "length": 5},
        "sources": {"a": {"bars": 75}},
        "cues": [{"source": "a"}],
    }
    assert build_sheet(data).title == "Old"


def test_versions_without_a_way_are_refused():
    assert versions.upgrade({"version": 0})[1] == "must be 1, got 0."
    assert "later version" in versions.upgrade({"version": 2})[1]
    assert versions.upgrade({"version": 1}) == ({"version": 1}, "")


def test_values_that_unfold_to_too_much_are_refused_before_they_do(monkeypatch):
    """A text of 100,000 letters used 2,000 times is 200 MB; a variable may be used for ever."""
    monkeypatch.setattr("keyer.sheet.gather.substitute", lambda *_: pytest.fail("was filled"))
    sources = "".join(f'[sources.s{n}]\nfile = "${{m}}${{m}}"\n' for n in range(1000))
    text = SPOT.replace("[sheet]", f'[variables]\nm = "{"x" * 100_000}"\n[sheet]', 1) + sources
    with pytest.raises(SheetError) as caught:
        parse_sheet(text, "spot.toml")
    assert str(caught.value) == (
        "spot.toml: 1 fault\n"
        f"variables, line {line_of(text, '[variables]')}: make the sheet larger than any document "
        "(2 MB)."
    )


def test_what_is_counted_is_what_is_filled():
    values = {"a": "xyz", "n": 12, "b": True}
    data = {"p": ["${a}", "1${n}${b}", "$${a}"], "q": {"r": "plain", "s": 5}}
    filled = substitute(data, values, lambda *_: None)
    letters = sum(map(len, [filled["p"][0], *filled["p"][1:], filled["q"]["r"]]))
    assert letters <= filled_size(data, values) <= letters + 40


def test_sheets_that_include_each_other_twice_over_come_to_an_end(tmp_path):
    """Fourteen sheets, each of which includes the next one twice: 16,384 includes."""
    for n in range(14):
        following = f'include = ["s{n + 1}.toml", "s{n + 1}.toml"]\n' if n < 13 else ""
        (tmp_path / f"s{n}.toml").write_text(f"version = 1\n{following}")
    (tmp_path / "spot.toml").write_text('include = ["s0.toml"]\n' + SPOT)
    with pytest.raises(SheetError, match=r"is one of more than 64 includes\. Join some"):
        load_sheet(tmp_path / "spot.toml")


def test_an_include_of_thousands_of_sources_is_read_once_for_all(tmp_path, monkeypatch):
    """Not once for each of them: that took a minute."""
    sources = "".join(f'[sources.s{n}]\ncolour = "#FFF"\n' for n in range(3000))
    (tmp_path / "house.toml").write_text(f"version = 1\n{sources}")
    (tmp_path / "spot.toml").write_text('include = ["house.toml"]\n' + SPOT)
    adopted = []
    adopt = Places.adopt
    monkeypatch.setattr(
        Places, "adopt", lambda self, *rest: (adopted.append(1), adopt(self, *rest))
    )
    sheet = load_sheet(tmp_path / "spot.toml")
    assert len(sheet.sources) > 3000
    assert len(adopted) == len(MERGED)
