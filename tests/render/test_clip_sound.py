from fractions import Fraction

import av
import numpy as np
import pytest
from media.tones import RATE as SAMPLES
from media.tones import sine
from render.spots import sheet_of

from keyer.errors import (
    InputFileError,
    SheetError,
)
from keyer.render.clip import render_clip


def heard_in(path):
    with av.open(str(path)) as container:
        stream = container.streams.audio[0]
        assert stream.codec_context.sample_rate == SAMPLES
        resampler = av.AudioResampler("fltp", "stereo", SAMPLES)
        blocks = [
            made.to_ndarray()
            for frame in container.decode(stream)
            for made in resampler.resample(frame)
        ]
        return stream.codec_context.name, np.concatenate(blocks, axis=1)


@pytest.mark.parametrize(
    ("name", "codec", "coded", "away"),
    [
        ("a.mp4", "h264", "aac", 0.02),
        ("a.mov", "h264", "aac", 0.02),
        ("a.mov", "prores-hq", "pcm_s24le", 2e-7),
        ("a.mov", "png", "pcm_s24le", 2e-7),
        ("a.mkv", "ffv1", "flac", 2e-7),
        ("a.mkv", "h264", "flac", 2e-7),
    ],
)
def test_sound_is_there_sample_for_sample(media, tmp_path, name, codec, coded, away):
    """Half a second in, from frame 12.5 x 1920 on; AAC to its own error, its delay taken off."""
    sheet = sheet_of(media, "25", 30, sound=[{"file": "tone.wav", "at": 10, "level": -6}])
    report = render_clip(sheet, tmp_path / name, codec=codec)
    found, block = heard_in(tmp_path / name)
    assert found == coded
    assert abs(block.shape[1] - 30 * 1920) < 1024
    expected = np.zeros((2, 30 * 1920), np.float32)
    tone = sine(1, frequency=440, level=0.25)[: 20 * 1920] * 10 ** (-6 / 20)
    expected[:, 10 * 1920 :] = [tone, 0.5 * tone]
    count = min(block.shape[1], 30 * 1920 - 1024)
    np.testing.assert_allclose(block[:, :count], expected[:, :count], atol=away)
    assert report.loudness.sample_peak_dbfs == pytest.approx(-18.05, abs=0.05)


def test_a_part_of_a_sheet_has_that_part_of_its_sound(media, tmp_path):
    sheet = sheet_of(media, "29.97", 30, sound=[{"file": "tone.wav", "at": 4}])
    render_clip(sheet, tmp_path / "whole.mkv")
    render_clip(sheet, tmp_path / "part.mkv", start=7, end=25)
    _, whole = heard_in(tmp_path / "whole.mkv")
    _, part = heard_in(tmp_path / "part.mkv")
    first = int(Fraction(7 * 1001 * SAMPLES, 30_000) + Fraction(1, 2))
    np.testing.assert_array_equal(part, whole[:, first : first + part.shape[1]])


def test_sound_that_is_too_loud_is_told_with_a_cure(media, tmp_path):
    sheet = sheet_of(media, "25", 30, sound=[{"file": "tone.wav", "level": 18}])
    report = render_clip(sheet, tmp_path / "a.mkv")
    assert report.loudness.true_peak_dbtp == pytest.approx(6, abs=0.3)
    assert "Set its level 7 dB lower" in report.notices[-1]


def test_sound_past_the_end_is_told(media, tmp_path):
    sheet = sheet_of(media, "25", 10, sound=[{"file": "tone.wav", "at": 5}])
    report = render_clip(sheet, tmp_path / "a.mkv")
    assert "sound[0]: tone.wav is cut off at the end of the sheet, 0.80 s" in report.notices[0]
    assert heard_in(tmp_path / "a.mkv")[1].shape[1] == 10 * 1920


@pytest.mark.parametrize(
    ("sounds", "kind", "finding"),
    [
        ([{"file": "none.wav"}], InputFileError, "none.wav does not exist"),
        ([{"file": "plate.mp4"}], InputFileError, "holds no sound"),
        ([{"file": "tone.wav", "in": 30}], SheetError, "in must lie within the file"),
        ([{"file": "tone.wav", "out": 60}], SheetError, "out must lie within the file"),
        ([{"file": "tone.wav", "fade_in": 20, "fade_out": 20}], SheetError, "fades do not fit"),
        (
            [{"file": "none.wav"}, {"file": "tone.wav", "in": 30}],
            SheetError,
            r"(?s)sound\[0\].*none.wav.*sound\[1\]",
        ),
    ],
    ids=["missing", "silent", "in", "out", "fades", "two"],
)
def test_sound_that_cannot_be_used(media, tmp_path, sounds, kind, finding):
    with pytest.raises(kind, match=finding):
        render_clip(sheet_of(media, sound=sounds), tmp_path / "a.mp4")
    assert not list(tmp_path.iterdir())
