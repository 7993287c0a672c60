"""EBU Tech 3341 (minimum requirements of meters), from memory: 1 kHz stereo tones, true peaks."""

import numpy as np
import pytest
from media.tones import sine

from keyer.media.loudness import LoudnessMeter
from keyer.media.sound import SAMPLE_RATE


def heard(block, step=1920):
    meter = LoudnessMeter()
    for first in range(0, block.shape[1], step):
        meter.hear(block[:, first : first + step])
    return meter.result()


def stereo(samples):
    return np.stack([samples, samples])


@pytest.mark.parametrize("level", [-23.0, -33.0])
def test_a_tone_has_its_level(level):
    """Cases 1 and 2: 1 kHz at -23 and -33 dBFS reads as many LUFS, to 0.1."""
    found = heard(stereo(sine(20, level=10 ** (level / 20))))
    assert found.integrated_lufs == pytest.approx(level, abs=0.1)
    assert found.sample_peak_dbfs == pytest.approx(level, abs=0.01)
    assert found.true_peak_dbtp == pytest.approx(level, abs=0.1)


def test_what_is_soft_is_gated():
    """Case 3: 10 s at -36, 60 s at -23 and 10 s at -36 dBFS read -23 LUFS, to 0.1."""
    parts = [sine(s, level=10 ** (d / 20)) for s, d in ((10, -36), (60, -23), (10, -36))]
    assert heard(stereo(np.concatenate(parts))).integrated_lufs == pytest.approx(-23, abs=0.1)


@pytest.mark.parametrize(("phase", "sample"), [(0.0, -6.0), (45.0, -9.0)])
def test_a_peak_between_the_samples_is_found(phase, sample):
    """Cases 15 and 16: a quarter of the sampling rate at 0.5 peaks at -6 dBTP, +0.2 to -0.4."""
    tone = sine(1, frequency=SAMPLE_RATE / 4, level=0.5, phase=np.radians(phase))
    fade = np.minimum(1, np.arange(tone.size) / 4800).astype(np.float32)
    found = heard(stereo(tone * fade * fade[::-1]))
    assert -6.4 <= found.true_peak_dbtp <= -5.8
    assert found.sample_peak_dbfs == pytest.approx(sample, abs=0.05)


def test_silence_has_no_level():
    found = heard(np.zeros((2, SAMPLE_RATE), np.float32))
    assert (found.integrated_lufs, found.true_peak_dbtp, found.sample_peak_dbfs) == (None,) * 3


def test_a_sound_shorter_than_a_gating_block_has_peaks_but_no_loudness():
    found = heard(stereo(sine(0.2)))
    assert found.integrated_lufs is None
    assert found.sample_peak_dbfs == pytest.approx(-6.02, abs=0.01)


def test_nothing_heard():
    assert heard(np.empty((2, 0), np.float32)).sample_peak_dbfs is None


def test_it_does_not_matter_how_the_sound_is_dealt_out():
    random = np.random.default_rng(2)
    block = random.normal(0, 0.1, (2, 2 * SAMPLE_RATE)).astype(np.float32)
    assert heard(block, 1920) == heard(block, 4801)


def parts(*levels):
    """1 kHz tones one after the other: (seconds, dBFS)."""
    return np.concatenate([sine(s, level=10 ** (d / 20)) for s, d in levels])


@pytest.mark.parametrize(
    "levels",
    [
        ((10, -72), (10, -36), (60, -23), (10, -36), (10, -72)),
        ((20, -26), (20.1, -20), (20, -26)),
    ],
    ids=["case 4", "case 5"],
)
def test_both_gates(levels):
    """Cases 4 and 5: below the absolute gate, and about the relative one: -23 LUFS, to 0.1."""
    assert heard(stereo(parts(*levels))).integrated_lufs == pytest.approx(-23, abs=0.1)


@pytest.mark.parametrize(
    ("divisor", "phase", "level", "peak"),
    [
        (6, 60.0, 0.5, -6.0),
        (8, 67.5, 0.5, -6.0),
        (4, 45.0, 1.41, 3.0),
    ],
    ids=["case 17", "case 18", "case 19"],
)
def test_peaks_between_the_samples_at_other_rates(divisor, phase, level, peak):
    """Cases 17 to 19: a sixth and an eighth of the rate, and over full scale; +0.2 to -0.4."""
    tone = sine(1, frequency=SAMPLE_RATE / divisor, level=level, phase=np.radians(phase))
    fade = np.minimum(1, np.arange(tone.size) / 4800).astype(np.float32)
    found = heard(stereo(tone * fade * fade[::-1]))
    assert peak - 0.4 <= found.true_peak_dbtp <= peak + 0.2
