"""The survey believes walls, whatever stands before them, and nothing else.

A fixed part of the cases runs always, all of them with `pytest -m slow`.
"""

import cv2
import numpy as np
import pytest
from plates import making, scenes, walls
from plates.proof import GREEN

from keyer.errors import NoBackingError
from keyer.measure.areas import find_areas, spot_on
from keyer.measure.backing import survey_backing
from keyer.measure.hues import hue_distance
from keyer.measure.plate import inner, purity_of, small_copy, sure_backing
from keyer.pixel.colour.luma_chroma import hue_of, rgb_to_ycc
from keyer.pixel.colour.transfer import encode_light

ALWAYS = (1, 2)
MANY = range(3, 15)


def fault_of(picture):
    """What is wrong with the survey of a picture with a wall; empty if nothing."""
    try:
        found = survey_backing(picture.recorded, "bt709")
    except NoBackingError as error:
        return str(error)
    copy = small_copy(picture.recorded, "bt709")
    sure = sure_backing(copy, found.rgb, "bt709")
    size = sure.shape[::-1]
    wall, paint = (
        cv2.resize(part.astype(np.float32), size, interpolation=cv2.INTER_AREA)
        for part in (picture.wall, picture.paint)
    )
    open_ = cv2.erode((paint > 0.99).astype(np.uint8), np.ones((3, 3))) > 0
    checks = {
        "hue": hue_distance(found.hue_deg, hue_of(picture.colour, "bt709")) < 4,
        "colour": np.abs(np.array(found.rgb) - picture.colour).max() < 0.08,
        "evenness": abs(found.evenness_stops - picture.stops) < 0.3 + 0.2 * picture.stops,
        "what is no wall is taken for it": wall[inner(sure)].mean() > 0.97,
        "most of the wall is seen": sure[open_].mean() > 0.7,
    }
    return ", ".join(name for name, holds in checks.items() if not holds)


def believed(scene):
    """What is believed to be a backing in a picture that has none; empty if nothing."""
    try:
        found = survey_backing(scene, "bt709")
    except NoBackingError:
        return ""
    return f"{found.hue_deg:.0f} degrees on {found.share_percent:.0f} %"


@pytest.mark.parametrize("seed", ALWAYS)
@pytest.mark.parametrize("kind", walls.KINDS)
def test_a_wall_is_found(kind, seed):
    assert not fault_of(walls.walled(kind, seed))


@pytest.mark.parametrize("seed", ALWAYS)
@pytest.mark.parametrize("kind", scenes.KINDS)
def test_what_has_no_wall_is_refused(kind, seed):
    assert not believed(scenes.unwalled(kind, seed))


@pytest.mark.slow
@pytest.mark.timeout(600)
def test_99_of_100_answers_are_right():
    """The same on every kind many times: no wall refused, and few wrong answers in all."""
    walled = {(kind, n): fault_of(walls.walled(kind, n)) for kind in walls.KINDS for n in MANY}
    bare = {(kind, n): believed(scenes.unwalled(kind, n)) for kind in scenes.KINDS for n in MANY}
    wrong = {case: why for case, why in (walled | bare).items() if why}
    assert len(walled) + len(bare) >= 400
    assert len(wrong) <= 0.01 * (len(walled) + len(bare)), wrong
    assert not [case for case, why in walled.items() if "no backing" in why], wrong


@pytest.mark.parametrize("matrix", ["bt601", "bt709"])
def test_purity_is_the_same_in_any_light(matrix):
    light = np.array([0.05, 0.4, 0.08])  # of R, G, B; above 0.018 in all stops below
    stops = np.linspace(-1.4, 1.3, 20)
    coded = encode_light(light[:, None] * 2**stops).astype(np.float32)
    luma, cb, cr = rgb_to_ycc(coded, matrix)
    purity = purity_of(luma, np.hypot(cb, cr))
    # BT.709-6 item 1.2: V + 0.099 = 1.099 L^0.45, so all scale alike
    assert np.ptp(purity) < 1e-5


def two_in_black():
    """Before a bright wall, 0 in red: cloth of black and dark blue with a trace of its light."""
    rows, cols = np.mgrid[0:270, 0:480]
    wall = making.flat((0.0, 0.75, 0.31), 270, 480) * 2 ** (0.3 * (cols / 480 - 0.5))
    cloth = [(0.03, 0.06, 0.045), (0.05, 0.09, 0.13)]
    for middle, colour in zip((150, 330), cloth, strict=True):
        head = np.hypot(rows - 90, (cols - middle) * 1.2) < 45
        body = np.hypot(rows - 290, cols - middle) < 140
        dim = np.array(colour)[:, None, None] * np.ones((3, 270, 480))
        wall = np.where(body, dim, wall)
        wall = np.where(head, np.array((0.7, 0.56, 0.48))[:, None, None], wall)
    return wall.astype(np.float32)


def test_dark_cloth_with_a_trace_of_the_wall_is_no_wall():
    found = survey_backing(two_in_black(), "bt709")
    assert found.rgb[1] == pytest.approx(0.75, abs=0.05)
    # the wall's signal varies by 2**0.3 from side to side: 0.65 stops
    assert found.evenness_stops < 0.8


def test_what_is_refused_names_the_area_that_would_be_taken():
    scene = scenes.unwalled("jacket", 1)
    with pytest.raises(NoBackingError, match="name the sample area") as caught:
        survey_backing(scene, "bt709")
    x, y, width, height = caught.value.sample
    assert f"{x},{y},{width},{height}" in str(caught.value)
    inside = np.median(scene[:, y : y + height, x : x + width], axis=(1, 2))
    taken = survey_backing(scene, "bt709", sample=caught.value.sample)
    assert hue_distance(taken.hue_deg, hue_of(tuple(inside), "bt709")) < 3


def test_where_there_is_no_colour_no_area_is_named():
    with pytest.raises(NoBackingError) as caught:
        survey_backing(np.full((3, 60, 80), 0.5, np.float32), "bt709")
    assert caught.value.sample is None
    assert "name a spot" in str(caught.value)


@pytest.mark.parametrize("kind", walls.KINDS)
def test_the_area_that_would_be_named_lies_on_the_wall(kind):
    picture = walls.walled(kind, 5)
    copy = small_copy(picture.recorded, "bt709")
    areas = find_areas(copy, "bt709")
    wall = min(
        areas[:2], key=lambda area: hue_distance(area.hue_deg, hue_of(picture.colour, "bt709"))
    )
    x, y, width, height = spot_on(wall, copy, *picture.wall.shape)
    assert picture.paint[y : y + height, x : x + width].mean() > 0.9


def test_a_spot_lies_within_a_picture_of_any_size():
    for size in ((1, 1), (2, 300), (300, 2), (271, 483), (1080, 1920)):
        copy = small_copy(making.flat(GREEN, *size), "bt709")
        x, y, width, height = spot_on(find_areas(copy, "bt709")[0], copy, *size)
        assert min(x, y) >= 0
        assert min(width, height) >= 1
        assert x + width <= size[1]
        assert y + height <= size[0]
