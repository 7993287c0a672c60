"""The fast chroma key: a matte from each pixel's own colour, at playback speed.

Key signal, clip and gain make the matte; `take_subject` then lifts the backing
off and takes the spill out, and `keyer.pixel.compose.over` lays the subject down. The
steps that follow each other on the same planes share a pass over them.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Flat, Planes
from keyer.kinds.picture import Matrix
from keyer.kinds.settings import KeySettings, Rgb
from keyer.pixel.colour.luma_chroma import hue_axes
from keyer.pixel.kernels.jit import kernel, kernel_beside
from keyer.pixel.keys.wedge import SPILL_WEDGE_DEG, inside, inside_plainly, wedge_slope

Triple = tuple[np.float32, np.float32, np.float32]
"""Three values; an array of three might, to the compiler, be part of a plane that is written."""

_NO_LIMIT = np.float32(16.0)


@kernel
def signal_at(
    r: np.float32,
    g: np.float32,
    b: np.float32,
    along: Triple,
    across: Triple,
    slope: np.float32,
    scale: np.float32,
) -> np.float32:
    """Key signal of one colour; for use in kernels, as all of these."""
    x = along[0] * r + along[1] * g + along[2] * b
    z = across[0] * r + across[1] * g + across[2] * b
    return np.float32(1.0) - scale * inside(x, z, slope)


@kernel
def matte_at(signal: np.float32, clip: np.float32, gain: np.float32) -> np.float32:
    """Return the matte (0..1) of one key signal."""
    level = (signal - clip) * gain
    level = level if level > np.float32(0.0) else np.float32(0.0)
    return level if level < np.float32(1.0) else np.float32(1.0)


@kernel
def subject_at(
    r: np.float32,
    g: np.float32,
    b: np.float32,
    cover: np.float32,
    backing: Triple,
    along: Triple,
    across: Triple,
    change: Triple,
    slope: np.float32,
) -> Triple:
    """Subject of one colour, premultiplied, backing lifted off and spill out."""
    none = np.float32(0.0)
    gap = np.float32(1.0) - cover
    top = cover if cover < np.float32(1.0) else _NO_LIMIT
    r, g, b = r - gap * backing[0], g - gap * backing[1], b - gap * backing[2]
    r, g, b = r if r > none else none, g if g > none else none, b if b > none else none
    r, g, b = r if r < top else top, g if g < top else top, b if b < top else top
    x = along[0] * r + along[1] * g + along[2] * b
    z = across[0] * r + across[1] * g + across[2] * b
    spill = inside(x, z, slope)
    return r + change[0] * spill, g + change[1] * spill, b + change[2] * spill


def _signal_plainly(
    red: Flat,
    green: Flat,
    blue: Flat,
    along: Triple,
    across: Triple,
    slope: np.float32,
    scale: np.float32,
    out: Flat,
) -> None:
    out[:] = 1 - scale * inside_plainly((red, green, blue), along, across, slope)


@kernel_beside(_signal_plainly)
def _signal(
    red: Flat,
    green: Flat,
    blue: Flat,
    along: Triple,
    across: Triple,
    slope: np.float32,
    scale: np.float32,
    out: Flat,
) -> None:
    for i in range(out.size):
        out[i] = signal_at(red[i], green[i], blue[i], along, across, slope, scale)


def _clip_gain_plainly(signal: Flat, clip: np.float32, gain: np.float32) -> None:
    signal -= clip
    signal *= gain
    np.fmax(signal, 0, out=signal)
    np.minimum(signal, 1, out=signal)


@kernel_beside(_clip_gain_plainly)
def _clip_gain(signal: Flat, clip: np.float32, gain: np.float32) -> None:
    for i in range(signal.size):
        signal[i] = matte_at(signal[i], clip, gain)


@kernel
def matte_of(
    red: Flat,
    green: Flat,
    blue: Flat,
    along: Triple,
    across: Triple,
    slope: np.float32,
    scale: np.float32,
    clip: np.float32,
    gain: np.float32,
    out: Flat,
) -> None:
    """Matte of flat planes; for use in kernels."""
    for i in range(out.size):
        signal = signal_at(red[i], green[i], blue[i], along, across, slope, scale)
        out[i] = matte_at(signal, clip, gain)


def _take_plainly(
    red: Flat,
    green: Flat,
    blue: Flat,
    matte: Flat,
    backing: Triple,
    along: Triple,
    across: Triple,
    change: Triple,
    slope: np.float32,
) -> None:
    gap, top = 1 - matte, np.where(matte < 1, matte, _NO_LIMIT)
    planes = red, green, blue
    for plane, behind in zip(planes, backing, strict=True):
        np.fmax(plane - gap * behind, 0, out=plane)
        np.minimum(plane, top, out=plane)
    spill = inside_plainly(planes, along, across, slope)
    for plane, unit in zip(planes, change, strict=True):
        np.add(plane, unit * spill, out=plane)


@kernel_beside(_take_plainly)
def take_from(
    red: Flat,
    green: Flat,
    blue: Flat,
    matte: Flat,
    backing: Triple,
    along: Triple,
    across: Triple,
    change: Triple,
    slope: np.float32,
) -> None:
    """Subject of flat planes, in place; for use in kernels."""
    for i in range(red.size):
        red[i], green[i], blue[i] = subject_at(
            red[i], green[i], blue[i], matte[i], backing, along, across, change, slope
        )


class Constants(NamedTuple):
    """What the kernels need of a key's settings."""

    along: Triple
    across: Triple
    slope: np.float32
    scale: np.float32
    clip: np.float32
    gain: np.float32
    backing: Triple
    change: Triple
    spill_slope: np.float32


def _triple(vector: Flat) -> Triple:
    first, second, third = vector
    return first, second, third


@lru_cache(maxsize=64)
def constants(settings: KeySettings, matrix: Matrix) -> Constants:
    """Work out what the kernels need of a key's settings.

    Parameters
    ----------
    settings : KeySettings
    matrix : {"bt601", "bt709"}
    """
    axes = hue_axes(settings.hue_deg, matrix)
    level = backing_level(settings.backing, settings.hue_deg, settings.acceptance_deg, matrix)
    return Constants(
        along=_triple(axes.along),
        across=_triple(axes.across),
        slope=np.float32(wedge_slope(settings.acceptance_deg)),
        scale=np.float32(1.0 / level),
        clip=np.float32(settings.clip_percent / 100),
        gain=np.float32(settings.gain),
        backing=_triple(np.array(settings.backing, np.float32)),
        change=_triple(axes.unit * np.float32(-settings.spill_percent / 100)),
        spill_slope=np.float32(wedge_slope(SPILL_WEDGE_DEG)),
    )


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
    component = axes.along @ colour - wedge_slope(acceptance_deg) * abs(axes.across @ colour)
    return max(float(component), 0.02)


def key_signal(
    band: Planes, settings: KeySettings, matrix: Matrix, out: NDArray[np.float32]
) -> None:
    """Key signal of a band: 0 at the backing's colour, 1 outside the wedge.

    1 - K / K(backing), with K the component inside the wedge of the acceptance
    angle about the key hue (`keyer.pixel.keys.wedge`).

    Parameters
    ----------
    band : (3, rows, W) float32, C-contiguous
    settings : KeySettings
    matrix : {"bt601", "bt709"}
    out : (rows, W) float32
        Below 0 where the picture is purer than the backing.
    """
    use = constants(settings, matrix)
    red, green, blue = band.reshape(3, -1)
    _signal(red, green, blue, use.along, use.across, use.slope, use.scale, out.reshape(-1))


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


def key_matte(
    band: Planes, settings: KeySettings, matrix: Matrix, out: NDArray[np.float32]
) -> None:
    """Matte of a band: key signal, clip and gain in one pass.

    Parameters
    ----------
    band : (3, rows, W) float32, C-contiguous
    settings : KeySettings
    matrix : {"bt601", "bt709"}
    out : (rows, W) float32
        1 = subject.
    """
    use = constants(settings, matrix)
    red, green, blue = band.reshape(3, -1)
    matte_of(
        red,
        green,
        blue,
        use.along,
        use.across,
        use.slope,
        use.scale,
        use.clip,
        use.gain,
        out.reshape(-1),
    )


def take_subject(
    band: Planes, matte: NDArray[np.float32], settings: KeySettings, matrix: Matrix
) -> None:
    """Turn a band into the premultiplied subject, in place: backing lifted off, spill out.

    A recorded pixel is C = a F + (1 - a) K (Porter and Duff 1984; Smith and
    Blinn 1996), so a F = C - (1 - a) K. It is held between 0 and the matte, so
    that a clear pixel is exactly 0 whatever the noise of the backing; a solid
    pixel may be whiter than white. Spill is then taken out with the wedge of
    `keyer.pixel.keys.wedge`.

    Parameters
    ----------
    band : (3, rows, W) float32, C-contiguous
    matte : (rows, W) float32
    settings : KeySettings
    matrix : {"bt601", "bt709"}
    """
    use = constants(settings, matrix)
    red, green, blue = band.reshape(3, -1)
    take_from(
        red,
        green,
        blue,
        matte.reshape(-1),
        use.backing,
        use.along,
        use.across,
        use.change,
        use.spill_slope,
    )
