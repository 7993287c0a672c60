"""Clips as telephones record them: HLG and PQ in BT.2020, 10 bits; logarithmic ones are refused."""

import av
import numpy as np
import pytest

from keyer.errors import InputFileError
from keyer.media.source import open_source
from keyer.pixel.colour.hdr import to_standard
from keyer.pixel.colour.load import load

PQ, HLG, BT2020_10, LOG, BT709 = 16, 18, 14, 9, 1  # ITU-T H.273 table 3
WIDE, NARROW = 9, 1  # the same, tables 2 and 4


def write(path, luma, cb, cr, *, trc, primaries=WIDE, matrix=WIDE, codec="ffv1", notes=None):
    """A clip of one colour in 10-bit codes of narrow range."""
    with av.open(str(path), "w") as container:
        container.metadata.update(notes or {})
        stream = container.add_stream(codec, rate=25)
        stream.width, stream.height, stream.pix_fmt = 64, 48, "yuv444p10le"
        context = stream.codec_context
        context.color_trc, context.color_primaries = trc, primaries
        context.colorspace, context.color_range = matrix, 1
        if codec == "libx265":
            stream.options = {"x265-params": "lossless=1:log-level=none"}
        for number in range(3):
            frame = av.VideoFrame(64, 48, "yuv444p10le")
            for plane, value in zip(frame.planes, (luma, cb, cr), strict=True):
                codes = np.full((48, plane.line_size // 2), value, np.uint16)
                plane.update(codes.tobytes())
            frame.color_trc, frame.color_primaries = trc, primaries
            frame.colorspace, frame.color_range = matrix, 1
            frame.pts = number
            container.mux(stream.encode(frame))
        container.mux(stream.encode())
    return path


def seen(path):
    source = open_source(path)
    planes = load(source.read(1))
    props = source.props
    source.close()
    return planes[:, 20, 30], props


@pytest.mark.parametrize("codec", ["ffv1", "libx265"])
@pytest.mark.parametrize(("trc", "said"), [(HLG, "HLG of ITU-R BT.2100"), (PQ, "PQ of ITU-R")])
def test_reference_white_comes_near_white(trc, said, codec, tmp_path):
    level = {HLG: 0.75, PQ: 0.58}[trc]  # Report BT.2408 table 1
    suffix = {"ffv1": "mkv", "libx265": "mp4"}[codec]
    code = round(64 + 876 * level)  # BT.2100-2 table 9, narrow range of 10 bits
    rgb, props = seen(write(tmp_path / f"white.{suffix}", code, 512, 512, trc=trc, codec=codec))
    # 203 cd/m2 becomes 90.67 of 100 by method C of BT.2446: 0.9067 ** (1 / 2.4) = 0.960
    assert rgb == pytest.approx(0.960, abs=0.004)
    assert props.bits == 10
    (notice,) = props.notices
    assert said in notice
    assert "method C" in notice
    assert "BT.2407" in notice


def test_ten_bits_are_kept(tmp_path):
    one, _ = seen(write(tmp_path / "one.mkv", 500, 512, 512, trc=HLG))
    next_, _ = seen(write(tmp_path / "next.mkv", 501, 512, 512, trc=HLG))
    step = next_[1] - one[1]
    assert 0.2 / 876 < step < 3 / 876


def test_colours_have_the_matrix_of_bt2020(tmp_path):
    # BT.2020-2 table 4, narrow range of 10 bits
    red, green, blue = 0.30, 0.60, 0.25
    luma = 0.2627 * red + 0.6780 * green + 0.0593 * blue
    codes = (64 + 876 * luma, 512 + 896 * (blue - luma) / 1.8814, 512 + 896 * (red - luma) / 1.4746)
    path = write(tmp_path / "colour.mkv", *(round(code) for code in codes), trc=HLG)
    signal = np.array([red, green, blue], np.float32)[:, None, None]
    expected = to_standard(signal, "hlg", wide=True)[:, 0, 0]
    assert seen(path)[0] == pytest.approx(expected, abs=0.004)


def test_bt2020_of_standard_range(tmp_path):
    rgb, props = seen(write(tmp_path / "wide.mkv", 64 + 438, 512, 512, trc=BT2020_10))
    assert rgb == pytest.approx(0.5, abs=1e-3)
    assert "BT.2020 colours" in props.notices[0]
    assert "BT.2446" not in props.notices[0]


def test_bt709_is_left_as_it_is(tmp_path):
    path = write(tmp_path / "usual.mkv", 502, 512, 512, trc=BT709, primaries=1, matrix=1)
    assert seen(path)[1].notices == ()


def test_a_logarithmic_clip_is_refused_with_the_cure(tmp_path):
    path = write(tmp_path / "log.mkv", 502, 512, 512, trc=LOG, primaries=1, matrix=1)
    with pytest.raises(InputFileError, match=r"logarithmic.*Export it for BT\.709"):
        open_source(path)


@pytest.mark.parametrize("curve", ["X-Log3", "log-c", "c log 2", "QLog"])
def test_a_clip_that_names_a_logarithmic_curve_is_refused(curve, tmp_path):
    path = tmp_path / "named.mkv"
    write(path, 502, 512, 512, trc=BT709, primaries=1, matrix=1, notes={"CaptureGamma": curve})
    with pytest.raises(InputFileError, match="logarithmic"):
        open_source(path)


@pytest.mark.parametrize(
    "notes", [{"CaptureGamma": "rec709"}, {"comment": "x-log3"}, {"gamma": "Catalogue 3"}]
)
def test_other_words_are_no_curve(notes, tmp_path):
    path = write(tmp_path / "n.mkv", 502, 512, 512, trc=BT709, primaries=1, matrix=1, notes=notes)
    assert seen(path)[1].notices == ()
