"""The fast chroma key: a matte from each pixel's own colour, at playback speed.

The steps are separate so that each can be looked at: key signal, matte (clip
and gain), and the backing lifted off the edges. `keyer.pixel.spill` and
`keyer.pixel.over` finish the picture.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.picture import Matrix, Planes
from keyer.kinds.settings import KeySettings, Rgb
from keyer.pixel.colour import hue_axes
from keyer.pixel.jit import kernel

Flat = NDArray[np.float32]

_NO_LIMIT = np.float32(16.0)


@kernel
def _signal(
    red: Flat,
    green: Flat,
    blue: Flat,
    along: Flat,
    across: Flat,
    slope: np.float32,
    scale: np.float32,
    out: Flat,
) -> None:
    ar, ag, ab = along[0], along[1], along[2]
    cr, cg, cb = across[0], across[1], across[2]
    for i in range(out.size):
        x = ar * red[i] + ag * green[i] + ab * blue[i]
        z = cr * red[i] + cg * green[i] + cb * blue[i]
        inside = x - slope * abs(z)
        inside = inside if inside > np.float32(0.0) else np.float32(0.0)
        out[i] = np.float32(1.0) - scale * inside


@kernel
def _clip_gain(signal: Flat, clip: np.float32, gain: np.float32) -> None:
    for i in range(signal.size):
        level = (signal[i] - clip) * gain
        level = level if level > np.float32(0.0) else np.float32(0.0)
        signal[i] = level if level < np.float32(1.0) else np.float32(1.0)


@kernel
def _lift(channel: Flat, matte: Flat, backing: np.float32) -> None:
    for i in range(channel.size):
        cover = matte[i]
        value = channel[i] - (np.float32(1.0) - cover) * backing
        value = value if value > np.float32(0.0) else np.float32(0.0)
        top = cover if cover < np.float32(1.0) else _NO_LIMIT
        channel[i] = value if value < top else top


def wedge_slope(acceptance_deg: float) -> float:
    """Fall of the key signal with distance from the hue's axis.

    Parameters
    ----------
    acceptance_deg : float
        Full angle of the wedge.

    Returns
    -------
    float
        1 / tan(acceptance / 2); 0 for a half plane.
    """
    return 1.0 / math.tan(math.radians(acceptance_deg) / 2)


def backing_level(backing: Rgb, hue_deg: float, acceptance_deg: float, matrix: Matrix) -> float:
    """Key component of the backing's own colour, the level that counts as clear.

    Parameters
    ----------
    backing : tuple of three floats
    hue_deg, acceptance_deg : float
    matrix : {"bt601", "bt709"}

    Returns
    -------
    float
        Chroma along the hue less the fall across it; at least 0.02, so that a
        grey backing makes a poor key and no division by nothing.
    """
    axes = hue_axes(hue_deg, matrix)
    colour = np.array(backing)
    inside = axes.along @ colour - wedge_slope(acceptance_deg) * abs(axes.across @ colour)
    return max(float(inside), 0.02)


def key_signal(
    band: Planes, settings: KeySettings, matrix: Matrix, out: NDArray[np.float32]
) -> None:
    """Key signal of a band: 0 at the backing's colour, 1 outside the wedge.

    K = X - |Z| / tan(acceptance / 2), not below 0, with X the chroma along the
    key hue and Z across it; the signal is 1 - K / K(backing). The wedge in the
    chroma plane is the classical chroma keyer (from memory: K. Jack, "Video
    Demystified", chroma keying).

    Parameters
    ----------
    band : (3, rows, W) float32, C-contiguous
    settings : KeySettings
    matrix : {"bt601", "bt709"}
    out : (rows, W) float32
        Below 0 where the picture is purer than the backing.
    """
    axes = hue_axes(settings.hue_deg, matrix)
    level = backing_level(settings.backing, settings.hue_deg, settings.acceptance_deg, matrix)
    red, green, blue = band.reshape(3, -1)
    _signal(
        red,
        green,
        blue,
        axes.along,
        axes.across,
        np.float32(wedge_slope(settings.acceptance_deg)),
        np.float32(1.0 / level),
        out.reshape(-1),
    )


def clip_and_gain(signal: NDArray[np.float32], clip_percent: float, gain: float) -> None:
    """Turn a key signal into a matte, in place: (signal - clip) x gain, held in 0..1.

    Common practice for every kind of key.

    Parameters
    ----------
    signal : (rows, W) float32
        Becomes the matte: 1 = subject.
    clip_percent : float
        Signal at and below which the matte is clear.
    gain : float
    """
    _clip_gain(signal.reshape(-1), np.float32(clip_percent / 100), np.float32(gain))


def lift_backing(band: Planes, matte: NDArray[np.float32], backing: Rgb) -> None:
    """Take the backing's share out of a band, in place, leaving the premultiplied subject.

    A recorded pixel is C = a F + (1 - a) K (Porter and Duff 1984; Smith and
    Blinn 1996), so a F = C - (1 - a) K. It is held between 0 and the matte, so
    that a clear pixel is exactly 0 whatever the noise of the backing; a solid
    pixel may be whiter than white.

    Parameters
    ----------
    band : (3, rows, W) float32, C-contiguous
    matte : (rows, W) float32
    backing : tuple of three floats
    """
    cover = matte.reshape(-1)
    for channel, level in zip(band, backing, strict=True):
        _lift(channel.reshape(-1), cover, np.float32(level))
