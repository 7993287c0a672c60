"""Stills of a sheet as files: where they go, and what is left when they cannot."""

import av
import pytest
from media.made import write_clip

from keyer.errors import InputFileError, KeyerError, OutputError
from keyer.kinds import stopping
from keyer.render.stills import render_files

SHEET = """
version = 1
[sheet]
title = "Ramp"
format = "64x36@25"
length = "2s"
[sources]
a = SOURCE
[[cues]]
source = "a"
at = 0
"""


def made(tmp_path, source='{ colour = "#808080" }'):
    (tmp_path / "s.toml").write_text(SHEET.replace("SOURCE", source))
    return tmp_path / "s.toml"


def test_a_folder_is_made_for_stills_at_several_times(tmp_path):
    written, _ = render_files(
        made(tmp_path), ["0", "1s"], tmp_path / "new", show="picture", force=False
    )
    names = ["s-00000000.png", "s-00000100.png"]
    assert [entry["output"] for entry in written] == [str(tmp_path / "new" / n) for n in names]
    assert sorted(path.name for path in (tmp_path / "new").iterdir()) == names


def test_no_folder_is_left_where_a_source_is_missing(tmp_path):
    sheet = made(tmp_path, '{ file = "missing.png" }')
    with pytest.raises(KeyerError, match=r"missing\.png"):
        render_files(sheet, ["0"], tmp_path / "new", show="picture", force=False)
    assert not (tmp_path / "new").exists()


def test_a_still_of_no_kind_is_refused_before_a_source_is_opened(tmp_path):
    (tmp_path / "broken.png").write_text("no picture")
    sheet = made(tmp_path, '{ file = "broken.png" }')
    with pytest.raises(OutputError, match=r"a\.doc must end in"):
        render_files(sheet, ["0"], tmp_path / "a.doc", show="picture", force=False)


def test_of_several_stills_all_appear_or_none(tmp_path):
    """The clip is damaged at its picture 7 (a slice's check sum, RFC 9043, 4.9.3)."""
    path = write_clip(
        tmp_path / "a.mkv", codec="ffv1", layout="bgr0", options={"slicecrc": "1"}, frames=10
    )
    data = bytearray(path.read_bytes())
    with av.open(str(path)) as container:
        packets = [bytes(packet) for packet in container.demux(video=0)]
    data[data.index(packets[7][:64]) + len(packets[7]) // 2] ^= 1
    path.write_bytes(data)
    sheet = tmp_path / "sheet.toml"
    sheet.write_text(
        'version = 1\n[sheet]\nformat = "160x96@25"\nlength = 10\n'
        '[sources.a]\nfile = "a.mkv"\n[[cues]]\nsource = "a"\n'
    )
    before = sorted(tmp_path.iterdir())
    for output in (tmp_path / "new", tmp_path):
        with pytest.raises(InputFileError, match="damaged at picture 7"):
            render_files(sheet, ["1", "2", "7"], output, show="picture", force=False)
    stopping.take_back()  # as at the end of every command
    assert sorted(tmp_path.iterdir()) == before
    written, _ = render_files(sheet, ["1", "2"], tmp_path / "new", show="picture", force=False)
    assert len(list((tmp_path / "new").iterdir())) == len(written) == 2
