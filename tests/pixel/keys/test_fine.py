"""The fine key on plates whose matte is known."""

import cv2
import numpy as np
import pytest
from plates import errors, making
from plates.keys import fine, textbook
from plates.portrait import LIME, SCARF, portrait, product, scarf
from plates.proof import GREEN, KINDS, make

from keyer.measure.backing import survey_backing
from keyer.measure.plate import backing_surface
from keyer.pixel.colour.luma_chroma import hue_of
from keyer.pixel.keys.fine import fine_key

SEED = 31  # another than that of the benchmark


def by_name(name):
    return next(kind for kind in KINDS if kind.name == name)


def keyed(recorded, **more):
    backing = survey_backing(recorded, "bt709")
    surface = backing_surface(recorded, backing.rgb, "bt709")
    noise = backing.noise_percent / 100
    return fine_key(recorded, surface.planes, backing.hue_deg, noise, "bt709", **more)


@pytest.fixture(scope="module")
def proof():
    """Matte error of textbook and fine key and PSNR of the fine key, kind by kind."""
    rows = []
    for kind in KINDS:
        plate = make(kind, seed=SEED)
        plain, _ = textbook(plate.recorded)
        matte, fill = fine(plate.recorded)
        picture = fill + (1 - matte) * plate.behind
        rows.append(
            (
                errors.mse(plain, plate.matte),
                errors.mse(matte, plate.matte),
                errors.psnr(picture, plate.composite),
            )
        )
    return np.array(rows)


def test_mean_matte_error(proof):
    plain, fine_error, _ = proof.mean(0)
    assert fine_error < 0.8e-3
    assert fine_error < 0.3 * plain


def test_mean_composite(proof):
    assert proof[:, 2].mean() > 39.5


def test_no_kind_of_plate_is_far_off(proof):
    assert proof[:, 1].max() < 6e-3


@pytest.mark.parametrize("name", ["plain", "strands", "motion blur", "see-through", "spill veil"])
def test_backing_clear_subject_solid_and_the_fill_nothing_where_clear(name):
    plate = make(by_name(name), seed=SEED)
    key = keyed(plate.recorded)
    assert (key.matte[plate.matte == 0] > 0.02).mean() < 0.005
    assert (key.matte[plate.matte == 1] < 0.98).mean() < 0.025
    assert not key.fill[:, key.matte == 0].any()
    assert key.matte.min() >= 0
    assert key.matte.max() <= 1


def test_spill_is_left_on_when_asked():
    plate = make(by_name("spill veil"), seed=SEED)
    solid = plate.matte == 1
    left_on = keyed(plate.recorded, spill_percent=0.0)
    off = keyed(plate.recorded)
    assert np.abs(left_on.fill - plate.recorded)[:, solid & (left_on.matte == 1)].max() < 1e-6
    error = [np.abs(key.fill - plate.subject)[:, solid].mean() for key in (left_on, off)]
    assert error[1] < 0.5 * error[0]


@pytest.mark.parametrize(("paint", "colour"), [(scarf, SCARF), (product, LIME)])
def test_what_is_no_mixture_of_subject_and_backing_stays_and_keeps_its_colour(paint, colour):
    plate, matte, marks = portrait(paint=paint)
    key = keyed(plate)
    inside = cv2.erode(marks, np.ones((7, 7), np.uint8)) > 0.5
    assert errors.mse(key.matte, matte) < 0.3e-3
    assert (key.matte[inside] > 0.98).mean() > 0.99
    own = np.array(colour)
    assert np.abs(np.median(key.fill[:, inside], axis=1) - own).max() < 0.03


def test_solid_and_clear_parts_are_steady_over_noisy_frames():
    """Standard deviation in time under 0.4 % of full scale, over 60 frames."""
    plate = make(by_name("strands"), 120, 160, seed=SEED)
    rng = np.random.default_rng(2)
    mattes, model = [], None
    for _ in range(60):
        frame = making.rounded(making.noisy(plate.recorded, 0.02, rng))
        if model is None:
            backing = survey_backing(frame, "bt709")
            surface = backing_surface(frame, backing.rgb, "bt709")
        key = fine_key(frame, surface.planes, backing.hue_deg, 0.02, "bt709", model=model)
        model = key.model
        mattes.append(key.matte)
    wander = np.std(mattes, axis=0)
    assert wander[plate.matte == 0].mean() < 0.004
    assert wander[plate.matte == 1].mean() < 0.004
    edge = (plate.matte > 0) & (plate.matte < 1)
    # Grain of 0.02 over the distance of subject and backing, about 0.5.
    assert wander[edge].mean() < 0.02 / 0.5 * 1.5


@pytest.mark.parametrize("size", [(1, 1), (1, 30), (2, 3), (24, 40), (37, 53)])
def test_a_picture_of_backing_alone_is_clear(size):
    key = keyed(making.flat(GREEN, *size))
    assert not key.matte.any()
    assert not key.fill.any()


def test_the_result_does_not_depend_on_the_run():
    plate = make(by_name("all at once"), 120, 160, seed=SEED)
    first, second = keyed(plate.recorded), keyed(plate.recorded)
    assert np.array_equal(first.matte, second.matte)
    assert np.array_equal(first.fill, second.fill)


def test_a_subject_of_one_brightness_is_keyed():
    """Nothing tells its darker third from its brighter one."""
    planes = np.empty((3, 120, 160), np.float32)
    planes[:] = np.array((0.1, 0.6, 0.15), np.float32)[:, None, None]
    backing = planes.copy()
    planes[:, 20:, 40:120] = np.array((0.75, 0.5, 0.4), np.float32)[:, None, None]
    key = fine_key(planes, backing, hue_of((0.1, 0.6, 0.15), "bt709"), 0.0, "bt709")
    assert key.matte[30:110, 50:110].min() == 1
    assert key.matte[:, :30].max() == 0
