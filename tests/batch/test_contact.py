"""Contact sheets of stills and clips."""

from dataclasses import replace

import numpy as np
import pytest
from batch.made import guests, project
from batch.rendering import picture, render_all
from PIL import Image

from keyer.batch.contact import _write, contact_sheets
from keyer.batch.front import BatchOrder, batch, check_batch
from keyer.errors import OutputError
from keyer.media.source import open_source
from keyer.pixel.colour.load import load


def contact(order):
    found = check_batch(order)
    return contact_sheets(render_all(order).entries, order.folder, order.contact, found.files)


def test_contact_sheet(tmp_path):
    order = BatchOrder(
        project(tmp_path), guests(tmp_path, 26), tmp_path / "out", "alpha",
        contact=tmp_path / "contact.png",
    )  # fmt: skip
    pages = contact(order)
    assert [page.name for page in pages] == ["contact.png", "contact-2.png"]
    sizes = [load(open_source(page).read(0)).shape for page in pages]
    assert sizes[0][2] == sizes[1][2]
    assert sizes[0][1] > sizes[1][1]
    with pytest.raises(OutputError, match="exists"):
        check_batch(replace(order, folder=tmp_path / "new"))


def test_contact_sheet_of_a_resumed_batch_replaces_contact_sheets_alone(tmp_path):
    order = BatchOrder(
        project(tmp_path), guests(tmp_path, 2), tmp_path / "out", contact=tmp_path / "c.png"
    )
    contact(order)
    check_batch(replace(order, resume=True))
    (tmp_path / "c.png").write_bytes((tmp_path / "back.png").read_bytes())
    with pytest.raises(OutputError, match=r"c\.png is no contact sheet"):
        check_batch(replace(order, resume=True))


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
    cell = np.s_[100:360, 70:640]
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


def test_label_begins_with_the_row_in_any_script():
    """A name that reads from right to left does not send the row's number to its end."""
    pages = [np.ones((3, 60, 400), np.float32) for _ in range(2)]
    _write(pages[0], "12  \u0644\u064a\u0644\u0649", 10, 40)
    _write(pages[1], "12", 10, 40)
    digits = np.flatnonzero((pages[1] < 1).any(axis=(0, 1)))
    part = np.s_[:, :, digits[0] : digits[-1] + 1]
    assert np.array_equal(pages[0][part], pages[1][part])
