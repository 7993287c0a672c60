"""When a voice is heard: words, pauses, room noise, clicks."""

import numpy as np
import pytest
from media.tones import sine, write_sound

from keyer.media.phrases import phrases
from keyer.media.sound import SAMPLE_RATE
from keyer.media.stretch import Stretch

TENTH = SAMPLE_RATE // 10


@pytest.fixture
def voice(tmp_path):
    """4 s of room at -66 dBFS with "words" at -9 dBFS: 0.5 to 1.2, 1.6 to 2 and 3 to 3.5 s."""
    samples = np.random.default_rng(5).normal(0, 5e-4, 4 * SAMPLE_RATE).astype(np.float32)
    for start, stop in ((5, 12), (16, 20), (30, 35)):
        samples[start * TENTH : stop * TENTH] += sine((stop - start) / 10)
    samples[25 * TENTH : 25 * TENTH + 480] += 0.5  # a click of 10 ms
    return write_sound(tmp_path / "voice.wav", samples)


def tenths(spans):
    return [(round(start / TENTH, 1), round(stop / TENTH, 1)) for start, stop in spans]


def test_pauses_part_phrases(voice):
    stretch = Stretch(voice, 0, 0, 4 * SAMPLE_RATE)
    assert tenths(phrases(stretch, 2 * TENTH)) == [(5, 12), (16, 20), (30, 35)]
    assert tenths(phrases(stretch, 5 * TENTH)) == [(5, 20), (30, 35)]
    assert tenths(phrases(stretch, 20 * TENTH)) == [(5, 35)]


def test_times_are_those_of_the_sheet(voice):
    stretch = Stretch(voice, 7 * TENTH, 10 * TENTH, 15 * TENTH)
    # by hand: the file from 1.0 to 2.5 s, heard from 0.7 s on
    assert tenths(phrases(stretch, TENTH)) == [(7, 9), (13, 17)]


def test_silence_says_nothing(tmp_path):
    path = write_sound(tmp_path / "none.wav", np.zeros(SAMPLE_RATE, np.float32))
    assert phrases(Stretch(path, 0, 0, SAMPLE_RATE), TENTH) == ()


def test_a_file_that_was_replaced_is_listened_to_anew(tmp_path):
    path = write_sound(tmp_path / "a.wav", np.zeros(SAMPLE_RATE, np.float32))
    stretch = Stretch(path, 0, 0, SAMPLE_RATE)
    assert phrases(stretch, TENTH) == ()
    write_sound(path, sine(1.5))
    assert tenths(phrases(stretch, TENTH)) == [(0, 10)]
