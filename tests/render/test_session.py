"""What stays open and worked out from plan to plan, and work that is given up."""

import dataclasses

import numpy as np
import pytest
from PIL import Image

from keyer.render.evaluate import Outdated, while_wanted
from keyer.render.plan import Plan
from keyer.render.session import Session
from keyer.sheet.edit import change_sheet
from keyer.sheet.load import parse_sheet

SHEET = """
version = 1
[sheet]
format = "160x90@25"
length = 20
[sources]
back = { file = "back.png" }
plate = { file = "plate.png" }
[[cues]]
source = "back"
[[overlays]]
source = "plate"
key = { kind = "chroma", quality = "fine" }
placement = { scale = 60 }
"""


@pytest.fixture
def sheet(tmp_path):
    """A plate with grain, and a background."""
    plate = np.empty((90, 160, 3))
    plate[:] = (30, 160, 40)
    plate[30:, 60:110] = (180, 90, 70)
    plate += np.random.default_rng(1).normal(0, 6, plate.shape)
    Image.fromarray(plate.clip(0, 255).astype(np.uint8)).save(tmp_path / "plate.png")
    Image.new("RGB", (160, 90), (90, 90, 200)).save(tmp_path / "back.png")
    return parse_sheet(SHEET, folder=tmp_path)


def test_an_edit_works_out_again_only_what_it_reaches(sheet, monkeypatch):
    from keyer.render import fine

    count = []
    real = fine.fine_key
    monkeypatch.setattr(fine, "fine_key", lambda *a, **k: count.append(1) or real(*a, **k))
    session = Session()
    Plan(sheet, session).picture(0)
    opened = session.open_sources
    for change in ({"overlays[0].placement.scale": 61}, {"overlays[0].opacity": 0.5}):
        Plan(change_sheet(sheet, change), session).picture(3)
    assert len(count) == 1
    assert session.open_sources == opened
    Plan(change_sheet(sheet, {"overlays[0].key.spill": 50.0}), session).picture(0)
    assert len(count) == 2
    session.close()


def test_a_file_that_was_replaced_is_opened_again(sheet):
    session = Session()
    before = Plan(sheet, session).picture(0).planes
    Image.new("RGB", (160, 90), (250, 200, 20)).save(sheet.folder / "back.png")
    after = Plan(sheet, session).picture(0).planes
    assert (before[:, 0, 0] == (90, 90, 200)).all()
    assert (after[:, 0, 0] == (250, 200, 20)).all()
    session.close()


def test_keys_of_smaller_pictures_are_chosen_at_full_size(sheet):
    video = dataclasses.replace(sheet.format, width=40, height=22)
    small = dataclasses.replace(sheet, format=video)
    overlay, session = sheet.overlays[0], Session()
    full = Plan(sheet, session)
    alone, told = Plan(small, session), Plan(small, session, keys=full)
    chosen = full.key_choice(overlay)
    assert told.key_choice(overlay) is chosen
    assert alone.key_choice(overlay).backing.hue_deg != chosen.backing.hue_deg
    assert told.picture(0).planes.shape == (3, 22, 40)
    session.close()


def test_work_that_nobody_wants_is_given_up_and_leaves_nothing_half_done(sheet):
    session = Session()
    plan = Plan(sheet, session)
    asked = []

    def wanted():
        asked.append(1)
        return len(asked) < 4

    with pytest.raises(Outdated), while_wanted(wanted):
        plan.picture(0)
    expected = Plan(sheet).picture(0).planes
    np.testing.assert_array_equal(plan.picture(0).planes, expected)
    session.close()


def test_a_title_is_drawn_anew_where_its_design_or_its_logo_has_changed(tmp_path):
    design = (
        'name = "Logo"\n[styles.s]\n[[boxes]]\nid = "logo"\nplace = "centre"\nheight = 50\n'
        'picture = {{ file = "logo.png", opacity = {} }}\n'
    )
    (tmp_path / "logo.toml").write_text(design.format(1.0), encoding="utf-8")
    Image.new("RGB", (40, 40), (250, 0, 0)).save(tmp_path / "logo.png")
    text = (
        'version = 1\n[sheet]\nformat = "160x90@25"\nlength = 10\n[sources.black]\n'
        'colour = "#000000"\n[sources.logo.title]\ndesign = "logo.toml"\n'
        '[[cues]]\nsource = "black"\n[[overlays]]\nsource = "logo"\n'
    )
    sheet, session = parse_sheet(text, folder=tmp_path), Session()

    def middle():
        return Plan(sheet, session).picture(5).planes[:, 45, 80].tolist()

    assert middle() == [250, 0, 0]
    Image.new("RGB", (40, 40), (0, 0, 250)).save(tmp_path / "logo.png")
    assert middle() == [0, 0, 250]
    (tmp_path / "logo.toml").write_text(design.format(0.5), encoding="utf-8")
    assert middle() == [0, 0, 125]
    session.close()


def test_a_built_title_in_a_sheet_comes_and_goes(tmp_path):
    (tmp_path / "card.toml").write_text(
        'name = "Card"\n[styles.s]\n[[boxes]]\nid = "card"\nplace = "centre"\nwidth = 50\n'
        'height = 50\npanel = { colour = "#FFFFFF" }\n'
        '[[build]]\nparts = ["card"]\nlength = 4\ncurve = "linear"\n'
        '[[leave]]\nparts = ["card"]\nlength = 4\ncurve = "linear"\n',
        encoding="utf-8",
    )
    text = (
        'version = 1\n[sheet]\nformat = "160x90@25"\nlength = 40\n[sources.black]\n'
        'colour = "#000000"\n[sources.card.title]\ndesign = "card.toml"\n'
        '[[cues]]\nsource = "black"\n[[cues]]\nsource = "card"\nat = 20\n'
        '[[cues]]\nsource = "black"\nat = 30\n[[overlays]]\nsource = "card"\nin = 5\nout = 17\n'
    )
    with Plan(parse_sheet(text, folder=tmp_path)) as plan:
        found = [int(plan.picture(frame).planes[0, 45, 80]) for frame in range(32)]
    up, down = [51, 102, 153, 204], [204, 153, 102, 51]  # by hand: i / 5 of 255
    assert found[4:18] == [0, *up, 255, 255, 255, 255, *down, 0]
    assert found[19:31] == [0, *up, 255, 255, *down, 0]


def test_a_backing_is_surveyed_once_for_all_settings_that_do_not_ask_for_another(
    sheet, monkeypatch
):
    from keyer.render import choose

    count = []
    real = choose.survey_backing
    monkeypatch.setattr(choose, "survey_backing", lambda *a, **k: count.append(1) or real(*a, **k))
    session = Session()
    for change in ({"clip": 5.0}, {"gain": 1.5}, {"fill_holes": 9.0}, {"quality": "fast"}):
        edit = {f"overlays[0].key.{name}": value for name, value in change.items()}
        with Plan(change_sheet(sheet, edit), session) as plan:
            plan.key_choice(plan.sheet.overlays[0])
    assert len(count) == 1
    with Plan(change_sheet(sheet, {"overlays[0].key.spill": 50.0}), session) as plan:
        plan.key_choice(plan.sheet.overlays[0])
    assert len(count) == 2
    session.close()
