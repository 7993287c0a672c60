"""Contact sheets of stills and clips."""

from dataclasses import replace

import numpy as np
import pytest
from batch.made import guests, project
from batch.rendering import picture, render_all
from PIL import Image

from keyer.batch.contact import ContactSheets, _padded, _page
from keyer.batch.front import BatchOrder, batch, check_batch
from keyer.errors import OutputError, SettingError
from keyer.paper.page import Photo, Words


def contact(order):
    """Render a batch with its contact sheets."""
    made = []

    def sheets(checked):
        tasks, job = checked.found.tasks, checked.job
        zones = checked.zones
        made.append(
            ContactSheets(order.contact, tasks, order.folder, job, checked.files, zones=zones)
        )
        return made[0]

    render_all(order, sheets)
    try:
        return made[0].finish()
    finally:
        made[0].close()


def test_contact_sheet(tmp_path):
    order = BatchOrder(
        project(tmp_path), guests(tmp_path, 26), tmp_path / "out", "alpha",
        contact=tmp_path / "contact.png",
    )  # fmt: skip
    pages = contact(order)
    assert [page.name for page in pages] == ["contact.png", "contact-2.png"]
    for page in pages:
        assert picture(page).shape[:2] == (2339, 3307)  # A3 at 200 dpi
    with pytest.raises(OutputError, match="exists"):
        check_batch(replace(order, folder=tmp_path / "new"))


def test_contact_sheet_of_a_resumed_batch_replaces_contact_sheets_alone(tmp_path):
    order = BatchOrder(
        project(tmp_path), guests(tmp_path, 2), tmp_path / "out", contact=tmp_path / "c.png"
    )
    contact(order)
    check_batch(replace(order, resume=True))
    (tmp_path / "c.png").write_bytes((tmp_path / "back.png").read_bytes())
    with pytest.raises(OutputError, match=r"c\.png is not a contact sheet"):
        check_batch(replace(order, resume=True))


@pytest.mark.parametrize(
    ("kind", "form", "settings"),
    [
        ("over", "png", {}),
        ("alpha", "tiff", {"bits": 16, "premultiplied": True}),
    ],
)
def test_contact_sheets_of_kept_rows_are_those_of_rendered_ones(tmp_path, kind, form, settings):
    """A former run's files, read back band by band, give the same sheet to the byte."""
    order = BatchOrder(
        project(tmp_path), guests(tmp_path, 3), tmp_path / "out", kind, form, **settings,
        contact=tmp_path / "c.png",
    )  # fmt: skip
    (sheet,) = contact(order)
    rendered = sheet.read_bytes()
    next((tmp_path / "out").glob("001*")).unlink()
    contact(replace(order, resume=True))
    assert sheet.read_bytes() == rendered


def test_a_row_that_fails_after_all_leaves_its_place_to_the_next(tmp_path):
    order = BatchOrder(
        project(tmp_path), guests(tmp_path, 3), tmp_path / "out", contact=tmp_path / "c.png"
    )
    outcome = render_all(order)
    checked = check_batch(replace(order, resume=True))
    sheets = ContactSheets(
        order.contact, checked.found.tasks, order.folder, checked.job, checked.files
    )
    told = []
    for entry in outcome.entries:
        sheets.add(entry.row, None if entry.row == 3 else entry)
    sheets.finish(lambda *counts: told.append(counts))
    sheets.close()
    assert told[-1] == (1, 1)
    assert order.contact.is_file()


@pytest.mark.parametrize("kind", ["over", "alpha", "keyfill"])
def test_contact_sheet_of_clips(tmp_path, kind):
    """Where a clip's title is fully in, its cell looks as the still's."""
    sheet = project(tmp_path)
    sheet.write_text(sheet.read_text().replace('"4s"', '"1s"').replace("out = 90", "out = 24"))
    Image.fromarray(np.full((180, 320, 3), 90, np.uint8)).save(tmp_path / "back.png")
    order = BatchOrder(
        sheet, guests(tmp_path, 1), tmp_path / "png", kind, contact=tmp_path / "p.png"
    )
    (still,) = contact(order)
    clips = replace(order, form="clip", folder=tmp_path / "clips", contact=tmp_path / "c.png")
    (clip,) = contact(clips)
    cell = np.s_[400:2000, 300:3000]
    difference = np.abs(picture(still)[cell] - picture(clip)[cell])
    assert difference.mean() < 2  # coded; without the title some ten codes more
    assert picture(still)[cell].std() > 10


@pytest.mark.parametrize("name", ["c.txt", "none/c.png", "back.png", "out/000.png"])
def test_contact_sheet_that_cannot_be_is_told_before_rendering(tmp_path, name):
    order = BatchOrder(
        project(tmp_path),
        guests(tmp_path, 1),
        tmp_path / "out",
        contact=tmp_path / name,
        force=True,
    )
    with pytest.raises(OutputError):
        batch(order)
    assert not order.folder.exists()


def test_results_of_another_shape_keep_theirs():
    """By hand: 40 x 40 on a sheet of 2 : 1 gets 20 columns of white at either side."""
    square = np.full((40, 40, 3), 90, np.uint8)
    wide = _padded(square, 2.0)
    assert wide.shape == (40, 80, 3)
    assert (wide[:, :20] == 255).all()
    assert (wide[:, 20:60] == 90).all()
    assert _padded(square, 0.5).shape == (80, 40, 3)
    assert _padded(square, 1.0) is square


def test_a_row_s_number_stands_before_its_name_in_any_script(tmp_path):
    """A name that reads from right to left does not send the row's number to its end."""
    order = BatchOrder(project(tmp_path), guests(tmp_path, 2), tmp_path / "out")
    entries = [
        replace(entry, name="\u0644\u064a\u0644\u0649") for entry in render_all(order).entries
    ]
    shown = [np.zeros((9, 16, 3), np.uint8)] * 2
    page = _page(entries, shown, "out", (1, 1))
    words = [item for item in page.items if isinstance(item, Words)]
    photos = [item for item in page.items if isinstance(item, Photo)]
    for entry, photo in zip(entries, photos, strict=True):
        (number,) = (one for one in words if one.line.text == str(entry.row))
        assert number.x == photo.x
        assert number.baseline > photo.y + photo.height


@pytest.mark.slow
def test_zones_are_drawn_into_contact_sheets_and_into_nothing_else(tmp_path):
    plain = BatchOrder(project(tmp_path), guests(tmp_path, 2), tmp_path / "out",
                       contact=tmp_path / "contact.png")  # fmt: skip
    zoned = replace(plain, folder=tmp_path / "zoned", contact=tmp_path / "zones.png", zones=True)
    with pytest.raises(SettingError, match="zones needs a station's rules"):
        check_batch(zoned)
    (tmp_path / "lantern.toml").write_text(
        'version = 1\nstation = "Lantern"\n[[zones]]\nname = "mark"\nbox = [0, 0, 100, 100]\n'
    )
    text = plain.sheet.read_text(encoding="utf-8")
    plain.sheet.write_text(text.replace("[sheet]", '[sheet]\nrules = "lantern.toml"'))
    with pytest.raises(SettingError, match="Name it"):
        check_batch(replace(zoned, contact=None))
    (before,), (after,) = contact(plain), contact(zoned)
    # a haze over both pictures, which are most of the sheet: on average lighter by far
    assert picture(after).mean() - picture(before).mean() > 10
    for name in ("000.png", "001.png"):
        assert (plain.folder / name).read_bytes() == (zoned.folder / name).read_bytes()
