"""What the network reads, and that its answer is the same however it is run."""

import hashlib
from importlib import resources

import numpy as np
import pytest

from keyer.errors import InputFileError
from keyer.pixel.colour.luma_chroma import hue_axes, hue_of
from keyer.pixel.kernels import bands
from keyer.pixel.keys import network
from keyer.pixel.keys.edge_light import light_of

GREEN = (0.13, 0.62, 0.25)
AXES = hue_axes(hue_of(GREEN, "bt709"), "bt709")


def scene(height, width):
    backing = np.empty((3, height, width), np.float32)
    backing[:] = np.array(GREEN, np.float32)[:, None, None]
    plate = backing.copy()
    rows, cols = np.mgrid[0:height, 0:width]
    inside = np.hypot(rows - height / 2, cols - width / 2) < min(height, width) / 3
    plate[:, inside] = np.array((0.7, 0.5, 0.4), np.float32)[:, None]
    return plate, backing, inside


def test_the_weights_are_small_and_those_that_were_trained():
    weights = resources.files("keyer.pixel.keys").joinpath(network.WEIGHTS).read_bytes()
    assert len(weights) < 2_000_000
    assert hashlib.sha256(weights).hexdigest() == network.DIGEST


def test_damaged_weights_are_refused(monkeypatch):
    monkeypatch.setattr(network, "DIGEST", "0" * 64)
    network._session.cache_clear()
    with pytest.raises(InputFileError, match="Install keyer anew"):
        network._session()
    network._session.cache_clear()


def test_what_is_read_of_the_backing_and_of_grey():
    plate, backing, inside = scene(40, 60)
    plate[:, inside] = 0.4
    read = network.reading(plate, backing, AXES, "bt709")
    assert read.shape == (15, 40, 60)
    np.testing.assert_allclose(read[:3, ~inside], read[3:6, ~inside], atol=1e-6)
    for signal in read[6:8]:  # 0 at the backing, 1 at grey
        np.testing.assert_allclose(signal[~inside], 0, atol=1e-5)
        np.testing.assert_allclose(signal[inside], 1, atol=1e-5)
    assert not read[8:].any()


def test_the_signal_in_light_is_that_of_light():
    plate, backing, _ = scene(40, 60)
    read = network.reading(plate, backing, AXES, "bt709")
    lit, behind = (np.tensordot(AXES.along, light_of(p), 1)[20, 30] for p in (plate, backing))
    assert read[7, 20, 30] == pytest.approx(min(1 - lit / behind, 1.5), abs=1e-5)


def test_a_first_look_tells_subject_from_backing():
    plate, backing, inside = scene(200, 300)
    matte, colour = network.look(plate, backing, AXES, "bt709")
    assert matte[inside].mean() > 0.99
    assert matte[~inside].mean() < 0.01
    assert np.abs(colour - plate)[:, inside].mean() < 0.02


@pytest.mark.parametrize("threads", [1, 2, 5])
def test_the_answer_does_not_depend_on_threads(monkeypatch, threads):
    plate, backing, _ = scene(350, 700)
    usual, _ = network.look(plate, backing, AXES, "bt709")
    monkeypatch.setattr(network, "default_threads", lambda: threads)
    again, _ = network.look(plate, backing, AXES, "bt709")
    np.testing.assert_array_equal(again, usual)
    assert bands.default_threads() >= 1


def test_only_what_is_wanted_is_changed():
    plate, backing, inside = scene(64, 96)
    out = np.full((1, 64, 96), 7, np.float32)
    network.in_tiles(
        inside,
        lambda r, c: network.reading(
            np.ascontiguousarray(plate[:, r, c]),
            np.ascontiguousarray(backing[:, r, c]),
            AXES,
            "bt709",
        ),
        out,
    )
    assert (out[0, ~inside] == 7).all()
    assert (out[0, inside] != 7).all()


def test_no_more_is_looked_at_than_what_is_wanted_and_its_margin(monkeypatch):
    """By hand: rows 250 to 259 and 32 about them, out to multiples of 32, are 192 to 319."""
    looked = []

    def read(rows, columns):
        looked.append((rows.start, rows.stop, columns.start, columns.stop))
        return np.zeros((15, rows.stop - rows.start, columns.stop - columns.start), np.float32)

    def answered(planes):
        return np.ones((4, *planes.shape[1:]), np.float32)

    monkeypatch.setattr(network, "answer", answered)
    wanted, out = np.zeros((500, 700), bool), np.zeros((1, 500, 700), np.float32)
    wanted[250:260, 500:510] = wanted[495:, 690:] = True
    network.in_tiles(wanted, read, out)
    assert sorted(looked) == [(192, 320, 448, 544), (448, 500, 640, 700)]
    np.testing.assert_array_equal(out[0] == 1, wanted)
