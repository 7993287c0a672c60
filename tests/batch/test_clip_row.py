"""Rows as clips."""

import io

import av
import numpy as np
import pytest
from batch.made import project, table

from keyer.batch.job import make_job
from keyer.batch.preflight import preflight
from keyer.batch.render_row import RowRenderer
from keyer.batch.rows import read_rows
from keyer.batch.stored import Stored, suffixes
from keyer.errors import SettingError

ROW = {"file": "a", "name": "Ines"}


def made(tmp_path, kind, form="clip", at=None):
    sheet = project(tmp_path)
    sheet.write_text(sheet.read_text().replace('"4s"', '"1s"').replace("out = 90", "out = 24"))
    renderer = RowRenderer(make_job(sheet, tuple(ROW), Stored(kind, form), at=at))
    found = renderer.render(ROW)
    renderer.close()
    return dict(found.files)


def frames(data, layout="rgb24"):
    with av.open(io.BytesIO(data)) as container:
        return [frame.to_ndarray(format=layout) for frame in container.decode(video=0)]


@pytest.mark.parametrize("kind", ["over", "alpha", "keyfill"])
def test_clip_of_each_kind(tmp_path, kind):
    files = made(tmp_path, kind)
    assert tuple(files) == suffixes("clip", kind)
    for data in files.values():
        assert len(frames(data)) == 25


def test_alpha_of_the_clip_is_that_of_the_still(tmp_path):
    clip = frames(made(tmp_path, "alpha")[".mov"], "rgba64le")
    assert not clip[5][..., 3].any()  # before the title comes
    with av.open(io.BytesIO(made(tmp_path, "alpha", "png", at="23")[".png"])) as still:
        expected = next(still.decode(video=0)).to_ndarray(format="rgba").astype(float)
    difference = np.abs(clip[23][..., 3] / 257 - expected[..., 3])
    assert difference.mean() < 0.3  # coded, and of 10 bits
    assert difference.max() <= 3


@pytest.mark.parametrize("kind", ["alpha", "keyfill"])
def test_in_hold_and_out_join_without_a_seam(tmp_path, kind):
    """They are the frames of the whole clip, bit for bit: ProRes codes each by itself."""
    layout = "rgba64le" if kind == "alpha" else "rgb48le"
    whole = [frames(data, layout) for data in made(tmp_path, kind).values()]
    files = made(tmp_path, kind, "parts")
    assert tuple(files) == suffixes("parts", kind)
    clips = [frames(data, layout) for data in files.values()]
    count = len(whole)
    coming, staying, going = clips[:count], clips[count : 2 * count], clips[2 * count :]
    for n in range(count):
        # on air from 10 to 24, fully there from 10 + 12 to the end: it goes by a cut
        assert [len(one[n]) for one in (coming, staying, going)] == [14, 25, 2]
        joined = [*coming[n][1:], *staying[n][:1], *going[n][:-1]]
        picked = [*range(10, 23), 22, 23]
        for found, frame in zip(joined, picked, strict=True):
            np.testing.assert_array_equal(found, whole[n][frame])
        assert all(np.array_equal(one, staying[n][0]) for one in staying[n])
        cover = np.s_[..., 3] if kind == "alpha" else np.s_[...]
        black = whole[n][0][cover]  # before the title comes
        np.testing.assert_array_equal(coming[n][0][cover], black)
        np.testing.assert_array_equal(going[n][-1][cover], black)


def test_a_hold_that_moves_is_whole_and_said_not_to_loop(tmp_path):
    sheet = project(tmp_path)
    sheet.write_text(sheet.read_text().replace('"4s"', '"1s"').replace("out = 90", "out = 24"))
    design = tmp_path / "design.toml"
    design.write_text(f"{design.read_text()}\n[flash]\non = 13\noff = 13\n")
    renderer = RowRenderer(make_job(sheet, tuple(ROW), Stored("alpha", "parts")))
    standing = renderer.render(ROW).parts
    renderer.close()
    assert standing == {"in": 14, "hold": 2, "out": 2, "loops": False}


def test_titles_that_are_never_there_together_have_no_hold(tmp_path):
    sheet = project(tmp_path)
    later = '[[overlays]]\nsource = "guest"\nin = 91\nout = 99\n'
    sheet.write_text(f"{sheet.read_text()}\n{later}")
    job = make_job(sheet, tuple(ROW), Stored("alpha", "parts"))
    (fault,) = preflight(job, read_rows(table(tmp_path, "file,name\na,Ines\nb,Bo\n"))).faults
    assert "needs a frame on which every title is fully there" in str(fault)


def test_parts_over_a_picture_are_refused():
    with pytest.raises(SettingError, match="format parts needs kind alpha or keyfill, got over"):
        Stored("over", "parts")
