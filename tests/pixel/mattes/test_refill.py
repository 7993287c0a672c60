"""The subject's colour where its matte was changed by hand."""

import numpy as np

from keyer.pixel.mattes.refill import carry_fill, refill

SIZE = (40, 60)


def flat(*colour):
    planes = np.empty((3, *SIZE), np.float32)
    planes[:] = np.array(colour, np.float32)[:, None, None]
    return planes


def test_where_nothing_changed_the_fill_stays_bit_for_bit():
    rng = np.random.default_rng(2)
    matte = rng.random(SIZE, np.float32)
    matte[:10], matte[30:] = 0, 1
    fill = rng.random((3, *SIZE), np.float32) * matte
    done = refill(fill, matte, matte, flat(0, 1, 0), flat(0, 1, 0))
    np.testing.assert_array_equal(done, fill)


def test_a_lowered_matte_lowers_the_fill():
    matte = np.full(SIZE, 0.8, np.float32)
    done = refill(flat(0.4, 0.2, 0.1), matte, matte / 2, flat(0, 1, 0), flat(0, 1, 0))
    np.testing.assert_allclose(done, flat(0.2, 0.1, 0.05), atol=1e-6)


def test_a_raised_matte_takes_the_picture_without_spill():
    """By hand: 0.1 of red at a quarter, and 3/4 of the colour seen."""
    matte = np.full(SIZE, 0.25, np.float32)
    done = refill(
        flat(0.1, 0, 0), matte, np.ones(SIZE, np.float32), flat(0.4, 0.4, 0.4), flat(0, 1, 0)
    )
    np.testing.assert_allclose(done, flat(0.1 + 0.3, 0.3, 0.3), atol=1e-6)


def test_what_is_held_keeps_the_recorded_hue():
    matte, solid = np.zeros(SIZE, np.float32), np.ones(SIZE, np.float32)
    hold = np.zeros(SIZE, np.float32)
    hold[:, 30:] = 1
    done = refill(flat(0, 0, 0), matte, solid, flat(0.3, 0.3, 0.3), flat(0.2, 0.9, 0.1), hold)
    np.testing.assert_allclose(done[:, :, :30], flat(0.3, 0.3, 0.3)[:, :, :30], atol=1e-6)
    np.testing.assert_allclose(done[:, :, 30:], flat(0.2, 0.9, 0.1)[:, :, 30:], atol=1e-6)


def test_a_grown_edge_has_the_colour_of_the_subject():
    before = np.zeros(SIZE, np.float32)
    before[:, 30:] = 1
    after = np.zeros(SIZE, np.float32)
    after[:, 26:] = 1
    done = carry_fill(flat(0.7, 0.3, 0.2) * before, before, after)
    np.testing.assert_allclose(done, flat(0.7, 0.3, 0.2) * after, atol=1e-4)


def test_grain_of_what_is_nearly_clear_is_not_blown_up():
    before = np.full(SIZE, 0.004, np.float32)
    before[:, 30:] = 1
    fill = flat(0.5, 0.5, 0.5) * before
    fill[0, :, :30] = 0.004
    fill[1:, :, :30] = 0
    done = carry_fill(fill, before, np.ones(SIZE, np.float32))
    assert np.ptp(done[:, :, 24:28], axis=0).max() < 0.05
