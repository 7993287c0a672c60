import os

import numpy as np
import pytest
from media.made import write_clip
from PIL import Image

from keyer.errors import InputFileError
from keyer.kinds.picture import YccPicture
from keyer.media.source import open_source
from keyer.media.stills import decode_ahead


def test_a_still_is_the_same_at_every_time(tmp_path):
    Image.new("RGBA", (5, 3), (10, 20, 30, 40)).save(tmp_path / "a.png")
    source = open_source(str(tmp_path / "a.png"))
    assert source.props.description == "still, 8 bit with alpha, 5 x 3"
    assert (source.props.width, source.props.height) == (5, 3)
    assert source.props.frames is None
    assert source.props.rate is None
    assert source.props.has_alpha
    assert source.read(0) is source.read(1000)
    np.testing.assert_array_equal(source.read(0).planes[:, 1, 1], [10, 20, 30])
    source.close()


def test_a_clip_is_told_by_what_it_holds(tmp_path):
    write_clip(tmp_path / "a.mp4", frames=3)
    (tmp_path / "a.mp4").rename(tmp_path / "a.dat")
    source = open_source(tmp_path / "a.dat")
    assert isinstance(source.read(0), YccPicture)
    source.close()


def test_a_still_named_as_a_clip_is_still_a_still(tmp_path):
    Image.new("L", (4, 4)).save(tmp_path / "a.mov", "PNG")
    assert open_source(tmp_path / "a.mov").props.frames is None


@pytest.mark.parametrize(
    ("name", "finding"),
    [
        ("gone.png", "does not exist"),
        ("gone.mp4", "does not exist"),
        ("nul\0.png", "cannot be read"),
        ("x" * 300, "cannot be read"),
        ("/dev/null", "is not a file"),
    ],
    ids=["still", "clip", "nul", "long", "device"],
)
def test_what_cannot_be_opened(tmp_path, name, finding):
    with pytest.raises(InputFileError, match=finding) as refusal:
        open_source(tmp_path / name)
    assert "\n" not in str(refusal.value)


def test_a_still_is_decoded_anew_when_its_file_changes(tmp_path):
    path = tmp_path / "still.png"
    for value in (10, 200):
        Image.fromarray(np.full((4, 6, 3), value, np.uint8)).save(path)
        os.utime(path, ns=(value, value))
        decode_ahead((path, tmp_path / "missing.png"))
        assert open_source(path).read(0).planes.max() == value
