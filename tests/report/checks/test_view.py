import numpy as np
from render.frames import Base, Frame, Mix, compose
from support import planes

from keyer.kinds.picture import RgbPicture
from keyer.measure.cells import make_grid
from keyer.render.evaluate import Evaluator
from keyer.report.checks.view import Viewer

A, B = (RgbPicture(planes(seed, 54, 96)) for seed in (1, 2))


def test_a_view_shows_the_composed_picture_unlimited():
    bright = RgbPicture(planes(3, 54, 96) * 2 - 0.5)
    frame = Frame(Base(bright, A, Mix(), 0.25))
    view = Viewer(make_grid(96, 54), Evaluator()).view(0, frame.node)
    np.testing.assert_array_equal(view.planes, compose(frame, np.float32).planes)
    assert view.planes.max() > 1
    assert not view.same


def test_a_still_is_composed_once():
    viewer = Viewer(make_grid(96, 54), Evaluator())
    first = viewer.view(0, Frame(Base(A)).node)
    second = viewer.view(1, Frame(Base(A)).node)
    assert second.same
    assert second.fine is first.fine
    assert not viewer.view(2, Frame(Base(B)).node).same
