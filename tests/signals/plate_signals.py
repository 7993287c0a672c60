"""Plates with a known answer: a backing's colour, grain, shadows, a subject's hues.

`keyer` is not asked. Light is coded by BT.709-6 item 1.2.
"""

import numpy as np
from signals.curves import bt709_light, bt709_signal

MATRICES = {
    "bt709": (0.2126, 0.7152, 0.0722),
    "bt601": (0.299, 0.587, 0.114),
}
"""Luma of R', G', B': BT.709-6 item 3.2, BT.601-7 item 2.5.1."""

ROWS, COLUMNS = 360, 640
GREEN = (0.16, 0.68, 0.22)


def y_cb_cr(colour, standard="bt709"):
    """Y', Cb, Cr of one colour: BT.709-6 items 3.2 and 3.3."""
    red, _, blue = MATRICES[standard]
    luma = float(np.dot(MATRICES[standard], colour))
    return luma, (colour[2] - luma) / (2 * (1 - blue)), (colour[0] - luma) / (2 * (1 - red))


def hue(colour, standard="bt709"):
    """Angle on the vectorscope in degrees."""
    _, cb, cr = y_cb_cr(colour, standard)
    return float(np.rad2deg(np.arctan2(cr, cb)) % 360)


def chroma_percent(colour, standard="bt709"):
    """Length of Cb, Cr in percent of 0.5, the most that either can be."""
    _, cb, cr = y_cb_cr(colour, standard)
    return 100 * float(np.hypot(cb, cr)) / 0.5


def flat(colour, rows=ROWS, columns=COLUMNS):
    """Planes of one colour."""
    planes = np.array(colour, np.float32)[:, None, None]
    return np.broadcast_to(planes, (3, rows, columns)).copy()


def mixed_green(chroma):
    """A green of the bar's hue with so much chroma, in percent, and a luma of one half."""
    bar = np.array((0, 1, 0), float)
    luma, _, _ = y_cb_cr(bar)
    colour = 0.5 + (bar - luma) * chroma / chroma_percent(bar)
    assert abs(chroma_percent(colour) - chroma) < 1e-9
    return tuple(colour)


def grainy(sigma, colour=GREEN, seed=1):
    """Flat, with Gaussian grain of one standard deviation in each of R', G', B'."""
    grain = np.random.default_rng(seed).normal(0, sigma, (3, ROWS, COLUMNS))
    return (flat(colour) + grain).astype(np.float32)


def slope(stops, colour=GREEN):
    """Light that grows evenly across: between its 1st and 99th percentile by so many stops."""
    ramp = np.linspace(-0.5, 0.5, COLUMNS) * stops / 0.98
    return bt709_signal(bt709_light(flat(colour)) * 2.0**ramp).astype(np.float32)


def shaded(stops, colour=GREEN):
    """A soft round shadow in which so many stops are missing; the share that lacks over a third."""
    y, x = np.mgrid[:ROWS, :COLUMNS]
    away = np.hypot(y - ROWS / 2, x - COLUMNS / 2)
    missing = stops * np.clip((110 - away) / 50, 0, 1)
    light = bt709_light(flat(colour)) * 2.0**-missing
    return bt709_signal(light).astype(np.float32), 100 * float((missing > 1 / 3).mean())


def turned(degrees, colour=GREEN):
    """A colour so far from another's hue, of 60 % of full chroma and a luma of one half."""
    angle = np.deg2rad(hue(colour) + degrees)
    cb, cr = 0.3 * np.cos(angle), 0.3 * np.sin(angle)
    kr, kg, kb = MATRICES["bt709"]
    red, blue = 0.5 + 2 * (1 - kr) * cr, 0.5 + 2 * (1 - kb) * cb
    return red, (0.5 - kr * red - kb * blue) / kg, blue


def with_subject(share, patch):
    """A grey block before the backing, with a square of another colour on some percent of it."""
    planes = np.repeat(np.repeat(flat(GREEN), 2, axis=1), 2, axis=2)
    block = planes[:, 80:, 320:960]
    block[:] = np.array((0.55, 0.5, 0.52), np.float32)[:, None, None]
    side = round(np.sqrt(share / 100 * block[0].size))
    block[:, 100 : 100 + side, 200 : 200 + side] = np.array(patch, np.float32)[:, None, None]
    return planes


def rim(percent, matte_value=0.5):
    """Straight colour and matte of a grey square whose rim shows so much green over grey."""
    matte = np.zeros((400, 400), np.float32)
    matte[100:300, 100:300] = matte_value
    matte[110:290, 110:290] = 1
    colour = flat((0.4, 0.4, 0.4), 400, 400)
    colour[1, matte == matte_value] += percent / 100 / matte_value
    return colour, matte
