import numpy as np
from measured import fine_light, measure_levels
from render.frames import Base, Frame, Laid, Mix, compose
from support import planes

from keyer.kinds.formats import parse_format
from keyer.kinds.picture import RgbPicture
from keyer.measure.cells import coarse_light, make_grid
from keyer.measure.screen import screen_light
from keyer.render.evaluate import Evaluator
from keyer.report.checks.view import Viewer

A, B = (RgbPicture(planes(seed, 200, 256)) for seed in (1, 2))
VIDEO = parse_format("256x200@25")


def _viewer():
    return Viewer(VIDEO, Evaluator())


def _is_of(view, frame):
    pixels = compose(frame, np.float32, fuse=False).planes
    fine = fine_light(pixels, make_grid(256, 200))
    np.testing.assert_array_equal(view.fine, fine)
    np.testing.assert_array_equal(view.coarse, coarse_light(fine))
    np.testing.assert_array_equal(view.screen, screen_light(fine))
    return view.levels == measure_levels(pixels, VIDEO.matrix)


def test_a_view_measures_the_composed_picture_unlimited():
    bright = RgbPicture(planes(3, 200, 256) * 2 - 0.5)
    frame = Frame(Base(bright, A, Mix(), 0.25))
    view = _viewer().view(0, frame.node)
    assert _is_of(view, frame)
    assert max(view.levels.highest) > 100
    assert not view.same


def test_a_still_is_composed_once():
    viewer = _viewer()
    first = viewer.view(0, Frame(Base(A)).node)
    second = viewer.view(1, Frame(Base(A)).node)
    assert second.same
    assert second.fine is first.fine
    assert second.levels is first.levels
    assert not viewer.view(2, Frame(Base(B)).node).same


def test_what_has_changed_in_part_is_measured_as_if_it_were_all_new():
    """A bright patch that comes, moves, and goes again; the views before it stay what they were."""
    viewer, seen = _viewer(), []
    alpha = np.full((30, 40), 0.9, np.float32)
    patch = RgbPicture(planes(4, 30, 40) * 2, alpha)
    for place in (None, (10, 20), (150, 100), None):
        over = () if place is None else (Laid(patch, left=place[0], top=place[1]),)
        frame = Frame(Base(A), over)
        seen.append((viewer.view(len(seen), frame.node), frame))
    for view, frame in seen:
        assert _is_of(view, frame)
    assert seen[0][0].levels == seen[3][0].levels != seen[1][0].levels
