"""Versions of what draws."""

from keyer.kinds.version import __version__
from keyer.render.libraries import libraries


def test_every_one_has_a_version():
    found = libraries()
    assert found["keyer"] == __version__
    assert {"numpy", "av", "opencv-python-headless", "freetype2", "harfbuzz"} <= set(found)
    assert all(found[name] for name in ("numpy", "av", "freetype2"))
