"""Pages saved and recalled by number."""

from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from keyer.errors import InputFileError, SettingError, SheetError
from keyer.titles import pages
from keyer.titles.fonts import shipped_faces
from keyer.titles.pages import Page, load_page, page_files, page_numbers, page_table
from keyer.titles.read import parse_design

DESIGN = """
name = "Trial"
[fields.name]
[styles.s]
[[boxes]]
id = "a"
place = "top left"
[[boxes.texts]]
text = "${name}"
style = "s"
"""


def saved(store, number=12, text=DESIGN, name="Ines"):
    page = Page(number, parse_design(text), {"name": name}, "first half")
    for inside, content in page_files(page).items():
        file = store / inside
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content)
    return page


def test_same_page_comes_back(tmp_path):
    page = saved(tmp_path)
    found = load_page(tmp_path, 12)
    assert replace(found, design=page.design) == page
    assert found.design.text == DESIGN
    assert found.notices == ()
    assert page_numbers(tmp_path) == [12]
    assert page_table(tmp_path, 12).design_name == "Trial"


def test_design_changed_later_leaves_the_page_alone(tmp_path):
    saved(tmp_path, 12)
    saved(tmp_path, 13, DESIGN.replace("[styles.s]", "[styles.s]\nsize = 9"))
    assert load_page(tmp_path, 12).design.design.styles["s"].size == 5
    assert load_page(tmp_path, 13).design.design.styles["s"].size == 9


def test_missing_page_names_near_ones(tmp_path):
    for number in (3, 12, 40):
        saved(tmp_path, number)
    with pytest.raises(SettingError, match=r"page 11 is not in .*Near: 3, 12, 40"):
        load_page(tmp_path, 11)
    with pytest.raises(SettingError, match="store is empty"):
        load_page(tmp_path / "none", 11)


@pytest.mark.parametrize("number", [0, -1, 100_000])
def test_number_out_of_range(tmp_path, number):
    with pytest.raises(SettingError, match="1, 99999"):
        load_page(tmp_path, number)


def test_text_that_does_not_fit_is_not_saved():
    with pytest.raises(SettingError, match="too wide"):
        page_files(Page(1, parse_design(DESIGN), {"name": "x" * 200}))


def test_damaged_store(tmp_path):
    saved(tmp_path)
    design = next(tmp_path.glob("designs/*/design.toml"))
    design.write_text(DESIGN + "\n# touched\n")
    with pytest.raises(InputFileError, match="not the one that was saved"):
        load_page(tmp_path, 12)
    (tmp_path / "0012.toml").write_text("numbr = 12\n")
    with pytest.raises(SheetError, match="numbr, line 1"):
        load_page(tmp_path, 12)


def test_changed_font_is_noticed(tmp_path, monkeypatch):
    saved(tmp_path)
    monkeypatch.setattr(pages, "file_digest", lambda _: "0" * 64)
    assert "fonts have changed" in load_page(tmp_path, 12).notices[0]


def test_font_outside_the_design_folder_is_refused(tmp_path):
    text = DESIGN.replace("[styles.s]", '[styles.s]\nfont = "../x.otf"')
    with pytest.raises((SettingError, InputFileError), match=r"x\.otf"):
        page_files(Page(1, parse_design(text, folder=tmp_path), {"name": "x"}))


def test_a_picture_is_kept_with_the_page_and_a_changed_one_noticed(tmp_path):
    folder = tmp_path / "mine"
    folder.mkdir()
    Image.new("RGB", (8, 8), (250, 0, 0)).save(folder / "logo.png")
    box = '[[boxes]]\nid = "logo"\nplace = "right"\nheight = 9\npicture = { file = "logo.png" }\n'
    design = parse_design(DESIGN + box, folder=folder)
    store = tmp_path / "pages"
    for inside, content in page_files(Page(12, design, {"name": "Ines"})).items():
        file = store / inside
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content)
    assert load_page(store, 12).notices == ()
    (kept,) = store.glob("designs/*/logo.png")
    assert kept.read_bytes() == (folder / "logo.png").read_bytes()
    Image.new("RGB", (8, 8), (0, 0, 250)).save(kept)
    (notice,) = load_page(store, 12).notices
    assert "pictures have changed" in notice
    outside = parse_design(DESIGN + box.replace("logo.png", "../logo.png"), folder=folder)
    (tmp_path / "logo.png").write_bytes(kept.read_bytes())
    with pytest.raises(SettingError, match="own folder"):
        page_files(Page(12, outside, {"name": "Ines"}))


def test_a_fallback_font_is_kept_with_the_page(tmp_path):
    (tmp_path / "own.otf").write_bytes(Path(shipped_faces()[0].path).read_bytes())
    text = DESIGN.replace("[styles.s]", '[styles.s]\nfallback = ["own.otf"]')
    files = page_files(Page(1, parse_design(text, folder=tmp_path), {"name": "x"}))
    assert [name for name in files if name.endswith("/own.otf")]
