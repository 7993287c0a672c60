"""The error measures give the worked values of the literature."""

import numpy as np
import pytest
from plates import errors
from plates.triangulation import triangulate
from support import reference

EXAMPLES = reference("compositing")["matte_example"]


def truth():
    matte = np.zeros((32, 32))
    matte[:, 16:] = 1
    return matte


def changed(name):
    matte = truth()
    if name == "soft edge":
        matte[:, 15] = 0.5
    elif name == "edge moved one pixel":
        matte[:, 15] = 1
    elif name == "stray speck":
        matte[5, 5] = 0.4
    elif name == "pinhole":
        matte[16, 24] = 0
    elif name == "thin core":
        matte[:, 16:] = 0.9
    elif name == "thinner core":
        matte[:, 16:] = 0.8
    elif name == "veil":
        matte[:, :16] += 0.05
    return matte


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example["name"])
@pytest.mark.parametrize("measure", ["sad", "mse", "gradient", "connectivity"])
def test_worked_examples(example, measure):
    found = getattr(errors, measure)(changed(example["name"]), truth())
    # compositing.toml rounds to nine digits or six decimals
    assert found == pytest.approx(example[measure], rel=1e-6, abs=1e-8), example["source"]


@pytest.mark.parametrize(
    "example",
    reference("compositing")["triangulation_example"],
    ids=lambda example: example["name"],
)
def test_triangulation_examples(example):
    parts = (np.array(example[key])[:, None] for key in ("Cf1", "Cf2", "Ck1", "Ck2"))
    matte, fill = triangulate(*parts)
    assert matte[0] == pytest.approx(example["alpha_out"], abs=1e-9), example["source"]
    assert fill[:, 0] == pytest.approx(example["Co"], abs=1e-9), example["source"]


def test_psnr_by_hand():
    # an error of 0.1 everywhere: 10 log10(1 / 0.01)
    assert errors.psnr(np.full((3, 4, 4), 0.6), np.full((3, 4, 4), 0.5)) == pytest.approx(20.0)


def test_ciede2000_of_a_picture_with_itself_is_nothing():
    picture = np.random.default_rng(1).random((3, 8, 8))
    assert errors.ciede2000(picture, picture) == pytest.approx(0, abs=1e-9)
