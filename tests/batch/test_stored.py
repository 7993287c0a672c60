"""Depth, TIFF and premultiplied alpha of results."""

import json
from dataclasses import replace

import numpy as np
import pytest
import tifffile
from batch.made import guests, project
from batch.rendering import render_all

from keyer.batch.front import BatchOrder
from keyer.batch.stored import Stored
from keyer.errors import SettingError
from keyer.media.decode_still import decode_still


@pytest.fixture
def order(tmp_path):
    return BatchOrder(project(tmp_path), guests(tmp_path, 1), tmp_path / "out")


def results(order):
    """Every picture of a batch of one row, and what its manifest says of how it is stored."""
    render_all(order)
    line = json.loads((order.folder / "manifest.jsonl").read_text())
    files = [order.folder / output["file"] for output in line["outputs"]]
    return [decode_still(file) for file in files], line.get("stored", {})


def test_key_and_fill_of_16_bits_make_the_picture(order, tmp_path):
    """fill + (1 - key) x background is the finished picture, within one code of 16 bits."""
    (over,), stored = results(replace(order, bits=16))
    assert over.dtype == np.uint16
    assert stored == {"bits": 16}
    (fill, key), _ = results(replace(order, kind="keyfill", bits=16, folder=tmp_path / "k"))
    assert fill.dtype == key.dtype == np.uint16
    back = decode_still(tmp_path / "back.png").astype(np.float64) * 257
    laid = fill + (1 - key[..., np.newaxis] / 65535) * back
    assert np.abs(laid - over).max() <= 1.5  # fill, key and picture are rounded by half a code
    assert (over % 257 != 0).any()  # more than 8 bits are in use


def test_8_bits_are_the_default_of_titles_alone(order):
    (pixels,), stored = results(replace(order, kind="alpha"))
    assert pixels.dtype == np.uint8
    assert stored == {"alpha": "straight"}


def test_premultiplied_alpha_is_said_in_the_file_and_in_the_manifest(order, tmp_path):
    straight = replace(order, kind="alpha", form="tiff", bits=16)
    (colours,), stored = results(straight)
    assert stored == {"bits": 16, "alpha": "straight"}
    (_,), stored = results(replace(straight, premultiplied=True, folder=tmp_path / "p"))
    assert stored == {"bits": 16, "alpha": "premultiplied"}
    with tifffile.TiffFile(tmp_path / "p" / "000.tif") as file:
        assert file.pages[0].tags["ExtraSamples"].value == (1,)
        multiplied = file.asarray().astype(np.float64)
    alpha = colours[..., 3:] / 65535
    assert ((alpha > 0) & (alpha < 1)).any()
    wanted = colours[..., :3] * alpha
    assert np.abs(multiplied[..., :3] - wanted).max() <= 1.5  # three roundings by half a code
    np.testing.assert_array_equal(multiplied[..., 3], colours[..., 3])


def test_tiff_over_the_picture_is_the_png(order, tmp_path):
    (png,), stored = results(order)
    assert stored == {}
    (tiff,), _ = results(replace(order, form="tiff", folder=tmp_path / "t"))
    np.testing.assert_array_equal(png, tiff)


def test_another_depth_is_rendered_anew(order):
    render_all(order)
    assert render_all(replace(order, bits=16, resume=True)).rendered == 1


@pytest.mark.parametrize(
    ("settings", "words"),
    [
        ({"bits": 10}, "depth must be 8 or 16, got 10"),
        ({"bits": 16, "form": "clip"}, "a clip has that of its codec"),
        ({"premultiplied": True}, "premultiplied is for kind alpha, got over"),
        ({"premultiplied": True, "kind": "alpha", "form": "clip"}, "clips have straight alpha"),
        ({"premultiplied": True, "kind": "alpha"}, "needs format tiff"),
        ({"form": "gif"}, "format must be"),
    ],
)
def test_what_cannot_be_stored_is_refused(settings, words):
    with pytest.raises(SettingError, match=words):
        Stored(**settings)
