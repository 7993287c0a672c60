"""The stage: exact coverage, premultiplied colour, shadows that leave the alpha alone."""

import numpy as np
import pytest

from examples.drawing.noise import grain
from examples.drawing.parts import circle, cushion, knit, strands, tube, wash
from examples.drawing.stage import Stage, check_size, spline, taper
from keyer.errors import SettingError

RED = np.array([0.8, 0.1, 0.1], np.float32)


def test_alpha_of_a_disc_is_its_area():
    """By geometry: pi r^2 of a picture height squared."""
    stage = Stage(192, 108)
    wash(stage, [circle((0.1, 0.5), 0.3, 400)], RED, 1.0, on_subject=False)
    _, alpha = stage.finish()
    assert alpha.sum() / 108**2 == pytest.approx(np.pi * 0.3**2, rel=1e-3)
    assert alpha.min() == 0
    assert alpha.max() == 1


def test_a_thin_line_keeps_its_area():
    stage = Stage(192, 108)
    strands(stage, [np.array([[-0.7, 0.2], [0.7, 0.8]])], [np.full(2, 0.004)], RED, 1.0)
    colour, alpha = stage.finish()
    # Half a pixel wide: length times width, and half a disc at each end.
    assert alpha.sum() / 108**2 == pytest.approx(np.hypot(1.4, 0.6) * 0.004, rel=0.02)
    np.testing.assert_allclose(colour[alpha > 0], alpha[alpha > 0][:, None] * RED, atol=1e-6)


def test_colour_is_premultiplied_through_the_lens():
    stage = Stage(96, 54)
    wash(stage, [circle((0.0, 0.5), 0.3)], RED, 0.5, on_subject=False)
    colour, alpha = stage.finish(lens=1.5)
    np.testing.assert_allclose(colour, alpha[..., None] * RED, atol=3e-3)
    assert alpha.max() == pytest.approx(0.5, abs=1e-6)


def test_a_shadow_darkens_and_leaves_the_alpha():
    stage = Stage(96, 54)
    wash(stage, [circle((0.0, 0.5), 0.4)], RED, 1.0, on_subject=False)
    before, alpha = stage.colour.copy(), stage.alpha.copy()
    stage.darken([circle((0.0, 0.5), 0.1)], 0.5, 0.02, (0.0, 0.0))
    assert (stage.alpha == alpha).all()
    assert stage.colour[54, 96, 0] == pytest.approx(0.5 * before[54, 96, 0], abs=0.02)


def test_a_tint_stays_on_the_subject():
    stage = Stage(96, 54)
    wash(stage, [circle((0.0, 0.5), 0.2)], RED, 1.0, on_subject=False)
    alpha = stage.alpha.copy()
    wash(stage, [circle((0.2, 0.5), 0.2)], np.ones(3, np.float32), 0.7, 0.01)
    assert (stage.alpha == alpha).all()


def test_what_is_off_stage_is_left_out():
    stage = Stage(96, 54)
    far = np.array([[5.0, 5.0], [6.0, 5.0], [6.0, 6.0]])
    tube(stage, far, np.full(3, 0.1), RED)
    cushion(stage, [far], RED, round_at=0.1)
    strands(stage, [far], [np.full(3, 0.1)], RED, 1.0)
    assert not stage.alpha.any()


def test_a_cut_tube_ends_square():
    """By geometry: length times width, where rounded ends would add a disc."""
    areas = []
    for cut in ("both", ""):
        stage = Stage(192, 108)
        tube(stage, np.array([[-0.3, 0.5], [0.3, 0.5]]), np.full(2, 0.1), RED, cut=cut)
        areas.append(float(stage.finish()[1].sum()) / 108**2)
    # The rim of the cut bows out by a little.
    assert areas[0] == pytest.approx(0.6 * 0.2, rel=0.05)
    assert areas[1] == pytest.approx(0.6 * 0.2 + np.pi * 0.1**2, rel=0.01)


def test_spline_goes_through_its_knots():
    knots = [(0.0, 0.0), (1.0, 0.5), (2.0, -1.0), (3.0, 0.0)]
    np.testing.assert_allclose(spline(knots, steps=10)[::10], knots, atol=1e-12)
    np.testing.assert_allclose(spline(knots, steps=10, closed=True)[::10], knots, atol=1e-12)


def test_taper_spreads_evenly():
    np.testing.assert_allclose(taper([1.0, 3.0], 5), [1, 1.5, 2, 2.5, 3])


def test_knit_repeats_with_its_columns():
    x, y = np.linspace(0, 1, 50)[None, :], np.linspace(0, 1, 40)[:, None]
    np.testing.assert_allclose(knit(x, y, 0.1), knit(x + 0.1, y, 0.1), atol=1e-3)
    assert 0 <= knit(x, y, 0.1).min() < knit(x, y, 0.1).max() <= 1


def test_grain_is_seeded_and_of_unit_spread():
    assert (grain((40, 50), 3) == grain((40, 50), 3)).all()
    assert (grain((40, 50), 3) != grain((40, 50), 4)).any()
    assert grain((200, 200), 3, 0.8).std() == pytest.approx(1, abs=1e-3)


@pytest.mark.parametrize("size", [(1, 100), (100, 1), (0, 0)])
def test_too_small_a_picture_is_refused(size):
    with pytest.raises(SettingError, match="at least 2 x 2"):
        check_size(*size)
