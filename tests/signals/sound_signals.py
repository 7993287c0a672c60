"""Loudness by ITU-R BS.1770, written from the recommendation (its figures from memory).

Annex 1: two filters (tables 1 and 2, for 48 kHz), mean square over blocks of
0.4 s that overlap by three quarters, gates at -70 LUFS and 10 LU below.
"""

import numpy as np
from scipy import signal

RATE = 48000
_SHELF = ([1.53512485958697, -2.69169618940638, 1.19839281085285],
          [1.0, -1.69065929318241, 0.73248077421585])  # fmt: skip
_HIGH_PASS = ([1.0, -2.0, 1.0], [1.0, -1.99004745483398, 0.99007225036621])


def lufs(sound):
    """Programme loudness of (channels, n) samples, left and right counting alike."""
    weighted = signal.lfilter(*_HIGH_PASS, signal.lfilter(*_SHELF, sound.astype(np.float64)))
    size, step = int(0.4 * RATE), int(0.1 * RATE)
    starts = range(0, sound.shape[1] - size + 1, step)
    power = np.array([(weighted[:, i : i + size] ** 2).mean(1).sum() for i in starts])
    power = power[power > 10 ** ((-70 + 0.691) / 10)]
    level = -0.691 + 10 * np.log10(power.mean())
    loud = power[-0.691 + 10 * np.log10(power) > level - 10]
    return -0.691 + 10 * np.log10(loud.mean())


def tone(frequency, seconds, level_db):
    """A sine on one channel."""
    time = np.arange(int(seconds * RATE)) / RATE
    return (10 ** (level_db / 20) * np.sin(2 * np.pi * frequency * time)).astype(np.float32)


def both(samples):
    """The same on the left and on the right."""
    return np.stack([samples, samples])


def left(samples):
    """On the left alone."""
    return np.stack([samples, np.zeros_like(samples)])


def noise(parts, seed=2):
    """White noise, uncorrelated, of parts (seconds, RMS in dB)."""
    rng = np.random.default_rng(seed)
    drawn = [10 ** (db / 20) * rng.standard_normal((2, int(s * RATE))) for s, db in parts]
    return np.concatenate(drawn, 1).astype(np.float32)
