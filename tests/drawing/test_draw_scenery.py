"""Backgrounds of the demo: seeded, in range, of any size, and moving."""

import itertools

import numpy as np
import pytest

from examples.drawing import scenery
from keyer.errors import SettingError

pytestmark = pytest.mark.slow  # any change of the drawing is seen by test_same

SIZE = (240, 135)
MOVING = ("morning", "evening", "shopfront", "wheel")


@pytest.fixture(scope="module")
def pictures():
    return {name: scenery.draw(name, *SIZE) for name in scenery.SCENES}


@pytest.mark.parametrize("name", scenery.SCENES)
def test_scene_is_a_picture(pictures, name):
    picture = pictures[name]
    assert picture.shape == (135, 240, 3)
    assert picture.dtype == np.float32
    assert 0 <= picture.min() <= picture.max() <= 1
    # Neither a dark nor a washed-out picture, and one with contrast.
    assert 0.2 < picture.mean() < 0.75
    assert picture.std() > 0.1


@pytest.mark.parametrize("name", scenery.SCENES)
def test_the_same_seed_gives_the_same_scene(pictures, name):
    assert (scenery.draw(name, *SIZE) == pictures[name]).all()


@pytest.mark.parametrize("name", MOVING)
def test_scene_moves_with_time(pictures, name):
    later = scenery.draw(name, *SIZE, frame=20)
    assert np.abs(later - pictures[name]).mean() > 0.008


def test_scenes_differ(pictures):
    for first, second in itertools.combinations(pictures.values(), 2):
        assert np.abs(first - second).mean() > 0.08


@pytest.mark.parametrize("name", scenery.SCENES)
@pytest.mark.parametrize("size", [(2, 3), (40, 100), (131, 17)])
def test_any_size(name, size):
    assert scenery.draw(name, *size).shape == (size[1], size[0], 3)


def test_a_scene_is_the_same_at_another_size(pictures):
    """Four by four pixels of the larger picture average to one of the smaller, but for detail."""
    large = scenery.draw("evening", 960, 540).reshape(135, 4, 240, 4, 3).mean(axis=(1, 3))
    assert np.abs(large - pictures["evening"]).mean() < 0.03


def test_drawing_twice_does_not_change_what_is_kept():
    first = scenery.draw("workshop", *SIZE).copy()
    scenery.draw("workshop", *SIZE)[:] = 0
    assert (scenery.draw("workshop", *SIZE) == first).all()


def test_unknown_scene_is_refused():
    with pytest.raises(SettingError, match="scene must be one of morning"):
        scenery.draw("desert")
