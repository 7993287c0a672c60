"""Curves between signal and light, written from the standards; `keyer` is not asked.

White is 1 on both sides. Signals below black and above white go on as the
formula does.
"""

import numpy as np


def bt709_signal(light):
    """Opto-electronic curve of a camera: ITU-R BT.709-6 item 1.2 (BT.601-7 item 2.6 alike)."""
    light = np.asarray(light, np.float64)
    power = 1.099 * np.maximum(light, 0.018) ** 0.45 - 0.099
    return np.where(light < 0.018, 4.5 * light, power)


def bt709_light(signal):
    """Its inverse: the light before the camera."""
    signal = np.asarray(signal, np.float64)
    power = ((np.maximum(signal, 0.081) + 0.099) / 1.099) ** (1 / 0.45)
    return np.where(signal < 0.081, signal / 4.5, power)


def relit(signal, stops):
    """Signal of a surface that gets `stops` more light."""
    return bt709_signal(bt709_light(signal) * 2.0 ** np.asarray(stops, np.float64))


def srgb_light(signal):
    """Relative light of sRGB (IEC 61966-2-1; WCAG "relative luminance")."""
    signal = np.asarray(signal, np.float64)
    return np.where(signal <= 0.04045, signal / 12.92, ((signal + 0.055) / 1.055) ** 2.4)


def bt1886_light(signal):
    """Light of a screen with black at 0: ITU-R BT.1886 Annex 1, L = V^2.4 for Lb = 0."""
    return np.maximum(np.asarray(signal, np.float64), 0.0) ** 2.4
