import numpy as np
from support import planes

from keyer.kinds.picture import RgbPicture
from keyer.kinds.settings import KeySettings
from keyer.measure.cells import make_grid
from keyer.render.compose import compose
from keyer.render.frame import Base, Frame, Keyed, Laid, Mix
from keyer.report.view import Viewer, same_picture

A, B = (RgbPicture(planes(seed, 54, 96)) for seed in (1, 2))
KEY = KeySettings(230.0, 110.0, 4.0, 1.1, 80.0, (0.1, 0.7, 0.15))


def test_same_pictures():
    still = Frame(Base(A), (Keyed(B, KEY), Laid(B, 0.5)))
    assert same_picture(still, Frame(Base(A), (Keyed(B, KEY), Laid(B, 0.5))))
    for other in (
        Frame(Base(B), still.overlays),
        Frame(Base(A)),
        Frame(Base(A), still.overlays[::-1]),
        Frame(Base(A), (Keyed(A, KEY), Laid(B, 0.5))),
        Frame(Base(A), (Keyed(B, KEY), Laid(B, 0.4))),
        Frame(Base(A), (Keyed(B, KEY), Laid(B, 0.5, None, 1))),
        Frame(Base(A, B, Mix(), 0.5), still.overlays),
    ):
        assert not same_picture(still, other)
    assert not same_picture(Frame(Base(A, B, Mix(), 0.5)), Frame(Base(A, B, Mix(), 0.5)))


def test_a_view_shows_the_composed_picture_unlimited():
    bright = RgbPicture(planes(3, 54, 96) * 2 - 0.5)
    frame = Frame(Base(bright, A, Mix(), 0.25))
    view = Viewer(make_grid(96, 54)).view(0, frame)
    np.testing.assert_array_equal(view.planes, compose(frame, np.float32).planes)
    assert view.planes.max() > 1
    assert not view.same


def test_a_still_is_composed_once():
    viewer = Viewer(make_grid(96, 54))
    first = viewer.view(0, Frame(Base(A)))
    second = viewer.view(1, Frame(Base(A)))
    assert second.same
    assert second.fine is first.fine
    assert not viewer.view(2, Frame(Base(B))).same
