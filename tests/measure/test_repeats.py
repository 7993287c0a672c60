"""Elements that repeat: BT.1702 (from memory), "may be formed by rows of repetitive elements"."""

import numpy as np
import pytest
from signals.curves import bt1886_light
from signals.stripes import COLUMNS, ROWS, bricks, checks, dots, straight, within
from skimage import data
from skimage.color import rgb2gray
from skimage.transform import resize

from keyer.measure.repeats import NO_REPEATS, find_repeats

ELEMENTS = {
    "squares of 3": lambda: checks(3),
    "squares of 10": lambda: checks(10),
    "squares of 28": lambda: checks(28),
    "dots": lambda: dots(9),
    "large dots": lambda: dots(30),
    "small dots": lambda: dots(12, 0.16),
    "dots in offset rows": lambda: dots(14, offset=0.5),
    "bricks": lambda: bricks(30, 12),
    "lines at an angle": lambda: straight(60, 37),
}


@pytest.mark.parametrize("name", ELEMENTS)
def test_rows_of_elements_all_over(name):
    found = find_repeats(ELEMENTS[name]())
    assert found.area > 0.9
    assert found.pairs > 5.35


@pytest.mark.parametrize(("made", "pairs"), [
    (lambda: checks(10), 450 / (10 * 2**0.5)), (lambda: dots(14), 450 / 14),
    (lambda: dots(30), 450 / 30), (lambda: bricks(30, 12), 450 / (15**2 + 12**2) ** 0.5),
])  # fmt: skip
def test_steps_along_the_width(made, pairs):
    """A step falls on whole cells of a copy."""
    assert find_repeats(made()).pairs == pytest.approx(pairs, rel=0.1)


@pytest.mark.parametrize("share", [0.26, 0.35, 0.45, 0.6])
@pytest.mark.parametrize("made", [lambda: checks(9), lambda: dots(14), lambda: bricks(30, 12)],
                         ids=["squares", "dots", "bricks"])  # fmt: skip
def test_area_is_never_too_small(made, share):
    found = find_repeats(within(made(), share))
    assert share - 0.005 < found.area < 1.36 * share


@pytest.mark.parametrize(("low", "high", "seen"), [
    (0, 49, False), (0, 55, True), (100, 118, False), (100, 124, True),
])  # fmt: skip
def test_light_and_difference_in_candelas(low, high, seen):
    """As for stripes: 50 cd/m2 of 200 (BT.1702), and 20 between them (ours)."""
    picture = (low + (high - low) * checks(10)) / 200
    assert (find_repeats(picture.astype(np.float32)).area > 0.9) == seen


def _noise(seed, fineness):
    rng = np.random.default_rng(seed)
    spectrum = np.fft.rfft2(rng.standard_normal((ROWS, COLUMNS)))
    frequency = np.hypot(np.fft.fftfreq(ROWS)[:, None], np.fft.rfftfreq(COLUMNS))
    frequency[0, 0] = 1
    picture = np.fft.irfft2(spectrum / frequency**fineness, (ROWS, COLUMNS))
    return ((picture - picture.min()) / np.ptp(picture)).astype(np.float32)


@pytest.mark.parametrize("fineness", [0, 0.5, 1, 1.5])
@pytest.mark.parametrize("seed", range(3))
def test_noise_repeats_nowhere(seed, fineness):
    picture = _noise(seed, fineness)
    assert find_repeats(picture) == NO_REPEATS
    assert find_repeats((picture > np.median(picture)).astype(np.float32)) == NO_REPEATS


@pytest.mark.parametrize("name", [
    "astronaut", "camera", "coffee", "coins", "page", "text", "rocket", "chelsea", "grass",
    "gravel", "moon",
])  # fmt: skip
def test_photographs_repeat_hardly_anywhere(name):
    """Photographs that come with scikit-image; its brick wall repeats, and is found."""
    picture = np.asarray(getattr(data, name)())
    grey = rgb2gray(picture) if picture.ndim == 3 else picture / 255
    rows = min(grey.shape[0], round(grey.shape[1] * ROWS / COLUMNS))
    light = bt1886_light(resize(grey[:rows], (ROWS, COLUMNS), anti_aliasing=True))
    assert find_repeats(light.astype(np.float32)).area < 0.05


def test_few_elements_are_no_pattern():
    """Five pairs and less are none (BT.1702)."""
    assert find_repeats(checks(450 / 7)) == NO_REPEATS
    assert find_repeats(dots(450 / 5)) == NO_REPEATS


@pytest.mark.parametrize("shape", [(1, 1), (47, 450), (48, 48), (63, 51), (252, 142)])
def test_planes_of_any_size(shape):
    assert find_repeats(np.zeros(shape, np.float32)) == NO_REPEATS
    assert 0 <= find_repeats(np.ascontiguousarray(checks(4)[: shape[0], : shape[1]])).area <= 1
