"""Errors of a matte against the true one, and of a composite, as the literature measures them.

Matte errors: C. Rhemann et al., "A Perceptually Motivated Online Benchmark for
Image Matting", CVPR 2009, in the variant of `tests/references/compositing.toml`
(all pixels counted, nothing divided by 1000, connectivity over the largest
foreground region).
"""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from skimage import color

Matte = NDArray[np.floating]


def sad(matte: Matte, truth: Matte) -> float:
    """Sum of absolute differences."""
    return float(np.abs(matte - truth).sum(dtype=np.float64))


def mse(matte: Matte, truth: Matte) -> float:
    """Mean of squared differences."""
    return float(((matte - truth) ** 2).mean(dtype=np.float64))


def gradient(matte: Matte, truth: Matte, sigma: float = 1.4) -> float:
    """Sum of squared differences of the gradients' amplitudes."""
    reach = np.arange(-4, 5)
    gauss = np.exp(-(reach**2) / (2 * sigma**2)) / (sigma * np.sqrt(2 * np.pi))
    kernel = np.outer(gauss, -reach * gauss / sigma**2)
    kernel /= np.sqrt((kernel**2).sum())

    def amplitude(plane: Matte) -> Matte:
        plane = plane.astype(np.float64)
        across = ndimage.convolve(plane, kernel, mode="nearest")
        down = ndimage.convolve(plane, kernel.T, mode="nearest")
        return np.hypot(across, down)

    return float(((amplitude(matte) - amplitude(truth)) ** 2).sum())


def connectivity(matte: Matte, truth: Matte, step: float = 0.1, theta: float = 0.15) -> float:
    """Sum of differences of how firmly each pixel hangs together with the largest region."""
    level = np.full(matte.shape, -1.0)
    thresholds = np.round(np.arange(0, 1 + step / 2, step), 6)
    for before, threshold in itertools.pairwise(thresholds):
        labels, count = ndimage.label((matte >= threshold) & (truth >= threshold))
        if count:
            largest = labels == 1 + np.argmax(np.bincount(labels.ravel())[1:])
        else:
            largest = np.zeros(matte.shape, bool)
        level[(level == -1) & ~largest] = before
    level[level == -1] = 1

    def firmness(plane: Matte) -> Matte:
        distance = plane - level
        return 1 - distance * (distance >= theta)

    return float(np.abs(firmness(matte) - firmness(truth)).sum(dtype=np.float64))


def psnr(picture: Matte, truth: Matte) -> float:
    """Peak signal to noise ratio in dB, peak 1."""
    error = float(((picture - truth) ** 2).mean(dtype=np.float64))
    return float(-10 * np.log10(max(error, 1e-12)))


def ciede2000(picture: Matte, truth: Matte) -> float:
    """Mean CIEDE2000 of two (3, H, W) R'G'B' pictures read as sRGB."""
    first, second = (
        color.rgb2lab(np.clip(planes, 0, 1).transpose(1, 2, 0).astype(np.float64))
        for planes in (picture, truth)
    )
    return float(color.deltaE_ciede2000(first, second).mean())
