"""The subject's own colour in every pixel of a plate, once its matte is known.

What a pixel has beyond a F + (1 - a) B is shared out between the subject's
colour, which varies, and grain, in proportion to their
variances (the step for the colour in Y.-Y. Chuang et al., "A Bayesian Approach
to Digital Matting", CVPR 2001, section 3). The film of backing light is then
taken off, and chroma that is left in the key hue's wedge near the edge, which
moves colour along the key hue and leaves luma.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Flat, Plane, Planes
from keyer.pixel.colour.luma_chroma import HueAxes
from keyer.pixel.kernels.bands import run_bands
from keyer.pixel.kernels.jit import kernel_beside
from keyer.pixel.keys.between import STEPS
from keyer.pixel.keys.wedge import SPILL_WEDGE_DEG, inside, inside_plainly, wedge_slope

Colours = NDArray[np.float32]

_NO_LIMIT = np.float32(16.0)


@dataclass(frozen=True, eq=False)
class Lifting:
    """What is known of a plate when the subject's colour is taken out of it.

    Attributes
    ----------
    subject, backing : (3, H, W) float32
        The subject's colour carried outwards; the backing.
    matte : (H, W) float32
    film : (H, W) float32
        Share of the backing in the subject, k.
    veil : float
        How much of itself the subject loses under the film, m.
    suppress : (H, W) float32
        How much of the spill that is left is taken out, 0..1.
    """

    subject: Planes
    backing: Planes
    matte: Plane
    film: Plane
    veil: float
    suppress: Plane


def _own_colour_plainly(
    picture: Colours,
    subject: Colours,
    backing: Colours,
    matte: Flat,
    film: Flat,
    suppress: Flat,
    veil: np.float32,
    table: NDArray[np.float32],
    along: Flat,
    across: Flat,
    unit: Flat,
    slope: np.float32,
    out: Colours,
) -> None:
    out.fill(0)
    some = np.flatnonzero(matte > 0)
    cover, behind, fill = matte[some], backing.take(some, 1), picture.take(some, 1)
    edge = np.flatnonzero(cover < 1)
    part = cover[edge]
    own = part * subject.take(some[edge], 1)
    left = fill.take(edge, 1) - own - (1 - part) * behind.take(edge, 1)
    shares = table[(part * np.float32(len(table) - 1) + np.float32(0.5)).astype(np.intp)]
    fill[:, edge] = own + np.einsum("nij,jn->in", shares, left)
    share = film[some]
    fill -= cover * share * behind
    fill /= 1 - veil * share
    spill = suppress[some] * inside_plainly(fill, along, across, slope)
    fill -= unit[:, None] * spill
    out[:, some] = fill.clip(0, np.where(cover < 1, cover, _NO_LIMIT))


@kernel_beside(_own_colour_plainly)
def _own_colour(
    picture: Colours,
    subject: Colours,
    backing: Colours,
    matte: Flat,
    film: Flat,
    suppress: Flat,
    veil: np.float32,
    table: NDArray[np.float32],
    along: Flat,
    across: Flat,
    unit: Flat,
    slope: np.float32,
    out: Colours,
) -> None:
    last = np.float32(table.shape[0] - 1)
    none, full = np.float32(0.0), np.float32(1.0)
    for i in range(matte.size):
        cover = matte[i]
        if cover <= none:
            out[0, i] = none
            out[1, i] = none
            out[2, i] = none
            continue
        gap = full - cover
        fr, fg, fb = picture[0, i], picture[1, i], picture[2, i]
        if cover < full:
            sr, sg, sb = cover * subject[0, i], cover * subject[1, i], cover * subject[2, i]
            rr = fr - sr - gap * backing[0, i]
            rg = fg - sg - gap * backing[1, i]
            rb = fb - sb - gap * backing[2, i]
            m = table[int(cover * last + np.float32(0.5))]
            fr = sr + m[0, 0] * rr + m[0, 1] * rg + m[0, 2] * rb
            fg = sg + m[1, 0] * rr + m[1, 1] * rg + m[1, 2] * rb
            fb = sb + m[2, 0] * rr + m[2, 1] * rg + m[2, 2] * rb
        share = film[i]
        scale = full / (full - veil * share)
        fr = (fr - cover * share * backing[0, i]) * scale
        fg = (fg - cover * share * backing[1, i]) * scale
        fb = (fb - cover * share * backing[2, i]) * scale
        x = along[0] * fr + along[1] * fg + along[2] * fb
        z = across[0] * fr + across[1] * fg + across[2] * fb
        spill = suppress[i] * inside(x, z, slope)
        fr, fg, fb = fr - unit[0] * spill, fg - unit[1] * spill, fb - unit[2] * spill
        top = cover if cover < full else _NO_LIMIT
        fr, fg, fb = max(fr, none), max(fg, none), max(fb, none)
        out[0, i] = min(fr, top)
        out[1, i] = min(fg, top)
        out[2, i] = min(fb, top)


def share_table(spread: NDArray[np.float64], noise: float) -> NDArray[np.float32]:
    """Table how much of what is left over belongs to the subject, for mattes from 0 to 1.

    Parameters
    ----------
    spread : (3, 3) float64
        Covariance of the subject's R'G'B' about the colour carried outwards.
    noise : float
        Standard deviation of the grain.

    Returns
    -------
    (STEPS + 1, 3, 3) float32
        a^2 S (a^2 S + N)^-1, N being grain.
    """
    error = noise**2 * np.eye(3)
    covers = np.linspace(0, 1, STEPS + 1)
    table = [cover**2 * spread @ np.linalg.inv(cover**2 * spread + error) for cover in covers]
    return np.array(table, np.float32)


def own_colour(
    planes: Planes, lifting: Lifting, table: NDArray[np.float32], axes: HueAxes
) -> Planes:
    """Take the subject's own colour out of a plate, premultiplied.

    Parameters
    ----------
    planes : (3, H, W) float32, C-contiguous
    lifting : Lifting
    table : (STEPS + 1, 3, 3) float32
        From `share_table`.
    axes : HueAxes
        Of the key hue.

    Returns
    -------
    (3, H, W) float32
        Between 0 and the matte; a solid pixel may be whiter than white.
    """
    out = np.empty_like(planes)
    slope = np.float32(wedge_slope(SPILL_WEDGE_DEG))

    def work(top: int, bottom: int) -> None:
        def band(stack: Planes) -> Colours:
            return np.ascontiguousarray(stack[:, top:bottom]).reshape(3, -1)

        done = np.empty((3, (bottom - top) * planes.shape[2]), np.float32)
        _own_colour(
            band(planes),
            band(lifting.subject),
            band(lifting.backing),
            lifting.matte[top:bottom].reshape(-1),
            lifting.film[top:bottom].reshape(-1),
            lifting.suppress[top:bottom].reshape(-1),
            np.float32(lifting.veil),
            table,
            axes.along,
            axes.across,
            axes.unit,
            slope,
            done,
        )
        out[:, top:bottom] = done.reshape(3, bottom - top, -1)

    _, height, width = planes.shape
    run_bands(height, width, work)
    return out
