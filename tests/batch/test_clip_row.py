"""Rows as clips."""

import io

import av
import numpy as np
import pytest
from batch.made import project

from keyer.batch.job import make_job
from keyer.batch.render_row import RowRenderer
from keyer.batch.stored import Stored, suffixes

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
