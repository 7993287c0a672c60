import shutil
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from media.made import write_clip
from media.tones import counted, sine, write_sound

from keyer.errors import InputFileError
from keyer.media.sound import (
    SAMPLE_RATE,
    Mixer,
    SoundReader,
    sound_length,
    to_samples,
)
from keyer.media.stretch import Ducking, Mixed, Stretch


def everything(path):
    reader = SoundReader(path)
    block = reader.read(100 * SAMPLE_RATE)
    reader.close()
    return block


def mixed(stretches, count, start=0, step=997):
    mixer = Mixer(Mixed(tuple(stretches)), start)
    parts = [mixer.read(min(step, count - at)) for at in range(0, count, step)]
    mixer.close()
    return np.concatenate(parts, axis=1)


@pytest.fixture(scope="module")
def ramp(tmp_path_factory):
    """Two seconds of stereo whose samples tell their numbers; right is left turned over."""
    left = counted(2 * SAMPLE_RATE)
    return write_sound(tmp_path_factory.mktemp("sound") / "ramp.wav", [left, -left])


@pytest.mark.parametrize(
    ("frame", "rate", "sample"),
    [
        (25, Fraction(25), 48_000),
        (1, Fraction(24), 2000),
        (30_000, Fraction(30_000, 1001), 48_048_000),
        (1, Fraction(30_000, 1001), 1602),  # by hand: 1601.6, rounded half up
        (5, Fraction(30_000, 1001), 8008),
    ],
)
def test_frames_in_samples(frame, rate, sample):
    assert to_samples(frame, rate) == sample


def test_every_sample_of_a_file_comes_in_order(ramp):
    assert sound_length(ramp) == 2 * SAMPLE_RATE
    np.testing.assert_array_equal(everything(ramp)[0], counted(2 * SAMPLE_RATE))
    np.testing.assert_array_equal(everything(ramp)[1], -counted(2 * SAMPLE_RATE))


@pytest.mark.parametrize("codec", ["flac", "pcm_s16le"])
def test_whole_numbers_come_back(tmp_path, codec):
    name = "a.flac" if codec == "flac" else "a.wav"
    samples = counted(SAMPLE_RATE)
    path = write_sound(tmp_path / name, [samples, samples], codec=codec)
    np.testing.assert_allclose(everything(path)[0], samples, atol=1 / 32_767)


def test_one_channel_is_heard_from_both_sides_at_its_own_level(tmp_path):
    samples = sine(0.5)
    block = everything(write_sound(tmp_path / "a.wav", samples))
    np.testing.assert_array_equal(block, [samples, samples])


def test_another_sample_rate_is_resampled(tmp_path):
    """A tone stays that tone; the first and last 2 ms are the filter's."""
    path = write_sound(tmp_path / "a.wav", sine(1, rate=44_100), rate=44_100)
    block = everything(path)
    assert abs(block.shape[1] - SAMPLE_RATE) <= 1
    np.testing.assert_allclose(block[0, 100:-100], sine(1)[100 : block.shape[1] - 100], atol=2e-3)


def test_six_channels_become_two(tmp_path):
    """Centre alone (third of 5.1) is in both; the library keeps the mix below full scale."""
    channels = np.zeros((6, SAMPLE_RATE), np.float32)
    channels[2] = sine(1)
    block = everything(write_sound(tmp_path / "a.wav", channels))
    np.testing.assert_array_equal(block[0], block[1])
    assert 0.1 < np.abs(block).max() <= 0.5


def test_a_hole_in_the_time_stamps_is_silence(tmp_path):
    samples = np.full(SAMPLE_RATE, 0.5, np.float32)
    path = write_sound(tmp_path / "a.mkv", samples, gap=SAMPLE_RATE // 4)
    block = everything(path)[0]
    assert abs(block.size - 5 * SAMPLE_RATE // 4) <= 48  # stamps are in milliseconds
    silent = np.flatnonzero(block == 0)
    assert abs(silent.size - SAMPLE_RATE // 4) <= 48
    assert np.all(np.diff(silent) == 1)


def test_a_stretch_is_heard_where_it_is_due(ramp):
    mix = mixed([Stretch(ramp, at=1000, first=5000, length=3000)], 8000)
    assert not mix[:, :1000].any()
    np.testing.assert_array_equal(mix[0, 1000:4000], counted(3000, start=5000))
    assert not mix[:, 4000:].any()


@given(start=st.integers(0, 5000), step=st.integers(1, 3000))
def test_a_mix_does_not_depend_on_where_it_is_begun_or_how_it_is_read(ramp, start, step):
    stretches = [
        Stretch(ramp, 500, 100, 2500, level=-6, fade_in=300, fade_out=700),
        Stretch(ramp, 1200, 4000, 3000, level=-12),
        Stretch(ramp, 900, 0, 4000, ducking=Ducking(-12.0, 300, 700, ((1500, 2500), (3000, 3100)))),
    ]
    whole = mixed(stretches, 6000)
    np.testing.assert_array_equal(mixed(stretches, 6000 - start, start, step), whole[:, start:])


def test_stretches_are_added(ramp):
    one = Stretch(ramp, 0, 0, 2000, level=-6)
    other = Stretch(ramp, 700, 9000, 2000, level=-9)
    both = mixed([other, one], 3000)
    np.testing.assert_allclose(both, mixed([one], 3000) + mixed([other], 3000), atol=1e-7)


def test_level_and_fades(tmp_path):
    """By hand: -6.0206 dB is a half; fades are straight, sample k at (k + 1/2) / n."""
    path = write_sound(tmp_path / "a.wav", np.ones(SAMPLE_RATE, np.float32))
    level = 20 * np.log10(0.5)
    mix = mixed([Stretch(path, 0, 0, 4000, level, fade_in=1000, fade_out=500)], 4000)[0]
    np.testing.assert_allclose(mix[1000:3500], 0.5, rtol=1e-6)
    np.testing.assert_allclose(mix[:1000], 0.5 * (np.arange(1000) + 0.5) / 1000, rtol=1e-5)
    np.testing.assert_allclose(mix[3500:], 0.5 * (500 - np.arange(500) - 0.5) / 500, rtol=1e-5)


def test_sound_of_a_clip_counts_from_the_clip_s_beginning(tmp_path):
    """Pictures from 0, sound from 0.5 s on."""
    import av

    path = tmp_path / "a.mkv"
    with av.open(str(path), "w") as container:
        video = container.add_stream("ffv1", rate=25)
        video.width, video.height, video.pix_fmt = 64, 36, "yuv420p"
        audio = container.add_stream("pcm_f32le", rate=SAMPLE_RATE)
        audio.codec_context.layout, audio.codec_context.format = "mono", "flt"
        for number in range(25):
            frame = av.VideoFrame(64, 36, "yuv420p")
            frame.pts = number
            container.mux(video.encode(frame))
        samples = np.full((1, SAMPLE_RATE // 2), 0.5, np.float32)
        frame = av.AudioFrame.from_ndarray(samples, format="flt", layout="mono")
        frame.sample_rate, frame.pts = SAMPLE_RATE, SAMPLE_RATE // 2
        frame.time_base = Fraction(1, SAMPLE_RATE)
        container.mux(audio.encode(frame))
        container.mux(video.encode())
        container.mux(audio.encode())
    block = everything(path)[0]
    assert not block[: SAMPLE_RATE // 2].any()
    np.testing.assert_array_equal(block[SAMPLE_RATE // 2 :], 0.5)


# --- what is broken


def test_a_file_that_is_cut_short_is_said_to_be(ramp, tmp_path):
    path = tmp_path / "short.wav"
    path.write_bytes(ramp.read_bytes()[: ramp.stat().st_size // 2])
    with pytest.raises(InputFileError, match=r"short.wav is cut short: it ends at 1.00 s of 2.00"):
        mixed([Stretch(path, 0, 0, 2 * SAMPLE_RATE)], 2 * SAMPLE_RATE)


@pytest.mark.parametrize(
    ("make", "finding"),
    [
        (lambda _: None, "does not exist"),
        (lambda path: path.mkdir(), "is not a file"),
        (lambda path: path.write_text("no sound"), "cannot be opened as sound"),
        (lambda path: path.write_bytes(b""), "cannot be opened as sound"),
        (lambda path: shutil.move(write_clip(path.with_suffix(".mp4")), path), "holds no sound"),
    ],
    ids=["missing", "folder", "text", "empty", "silent clip"],
)
def test_what_is_no_sound(tmp_path, make, finding):
    path = tmp_path / "a.wav"
    make(path)
    for use in (sound_length, SoundReader):
        with pytest.raises(InputFileError, match=finding) as caught:
            use(path)
        assert "\n" not in str(caught.value)


def complaint(path):
    """What is said of a file; nothing of one that can be heard."""
    try:
        length = min(sound_length(path), SAMPLE_RATE)
        mixed([Stretch(path, 0, 0, length)], length, step=8000)
    except InputFileError as error:
        return str(error)
    return ""


@given(st.data())
def test_noise_in_a_file_is_sound_or_one_line(ramp, tmp_path_factory, data):
    body = bytearray(ramp.read_bytes()[:20_000])
    for place in data.draw(st.lists(st.integers(0, 200), min_size=1, max_size=8)):
        body[place] = data.draw(st.integers(0, 255))
    path = tmp_path_factory.mktemp("noise") / "a.wav"
    path.write_bytes(body)
    assert "\n" not in complaint(path)
