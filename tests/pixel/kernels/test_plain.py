"""Kernels with a plain form: both do the same. Each has a twin of its own in its module's test."""

import importlib
import pkgutil

import numpy as np
import pytest

import keyer.pixel
from keyer.pixel.colour import load, transfer
from keyer.pixel.colour.luma_chroma import hue_axes
from keyer.pixel.compose import codes, mix, over
from keyer.pixel.kernels.jit import Kernel
from keyer.pixel.keys import between, detail, own_colour
from keyer.pixel.keys import fast as key

COUNT = 3000
RANDOM = np.random.default_rng(3)
AXES = hue_axes(120.0, "bt709")
SLOPE = np.float32(0.577)
SPREAD = 0.01 * np.eye(3) + 0.004
TOLERANCE = 3e-6
"""Of 1; sums are regrouped and multiplications fused in compiled code."""


def values(*shape):
    """A little below 0 to a little above 1."""
    return (RANDOM.random(shape) * 1.2 - 0.1).astype(np.float32)


def matte():
    return np.clip(values(COUNT) * 1.3 - 0.15, 0, 1).astype(np.float32)


def triple(vector):
    return tuple(np.float32(value) for value in vector)


def room(*shape, dtype=np.float32):
    return np.zeros(shape, dtype)


LINES = [values(COUNT) for _ in range(3)]
STACKS = [values(3, COUNT) for _ in range(3)]
WANTED = (RANDOM.random(COUNT) < 0.6).astype(np.uint8)
HUE = triple(AXES.along), triple(AXES.across)
CASES = {
    load._from_codes: (RANDOM.integers(0, 65536, COUNT).astype(np.uint16), np.float32(1 / 65535),
                       room(COUNT)),
    load._to_codes: (np.append(values(COUNT - 2), [np.nan, np.inf]).astype(np.float32),
                     np.float32(255), room(COUNT, dtype=np.uint8)),
    detail._add: (matte(), values(COUNT) - np.float32(0.5), (values(COUNT) > 1).astype(np.uint8)),
    transfer._to_light: (LINES[0], transfer._DECODE),
    transfer._to_signal: (LINES[0], transfer._ENCODE),
    mix._weighted: (LINES[0], LINES[1], np.float32(0.3)),
    mix._brighter: (LINES[0], LINES[1], np.float32(0.3)),
    mix._toward: (LINES[0], np.float32(0.8), np.float32(0.3)),
    codes._mix_all: (*RANDOM.integers(0, 256, (2, COUNT)).astype(np.uint8), np.float32(0.3),
                     room(COUNT, dtype=np.uint8)),
    over._over: (LINES[0], matte(), LINES[1]),
    over._multiply: (LINES[0], matte()),
    over._divide: (LINES[0], matte()),
    key._signal: (*LINES, *HUE, SLOPE, np.float32(2.2), room(COUNT)),
    key._clip_gain: (LINES[0], np.float32(0.1), np.float32(1.4)),
    key.take_from: (*LINES, matte(), triple((0.1, 0.6, 0.2)), *HUE, triple(-AXES.unit), SLOPE),
    between._between: (*STACKS, WANTED, between.weight_table(SPREAD, 0.02), matte()),
    own_colour._own_colour: (*STACKS, matte(), 0.2 * matte(), matte(), np.float32(0.3),
                             own_colour.share_table(SPREAD, 0.02),
                             AXES.along, AXES.across, AXES.unit, SLOPE, room(3, COUNT)),
}  # fmt: skip


MAY_DIFFER = {load._to_codes: 1e-3, codes._mix_all: 1e-2, between._between: 1e-2}
"""Share of values: a code may fall on either side of a half, a guess of a step of the table."""


def with_plain_form():
    """Every kernel of the house that has one."""
    for module in pkgutil.walk_packages(keyer.pixel.__path__, "keyer.pixel."):
        for found in vars(importlib.import_module(module.name)).values():
            if isinstance(found, Kernel) and found.plain is not None:
                yield found


def test_no_kernel_is_left_out():
    assert set(with_plain_form()) == set(CASES)


@pytest.mark.parametrize("which", CASES, ids=lambda which: which.__name__.strip("_"))
@pytest.mark.parametrize("first", [0.5, np.nan])
def test_both_forms_do_the_same(which, first):
    def done(call):
        given = [part.copy() if isinstance(part, np.ndarray) else part for part in CASES[which]]
        if given[0].dtype == np.float32:
            given[0].reshape(-1)[0] = first
        call(*given)
        return [part for part in given if isinstance(part, np.ndarray)]

    untouched = [part for part in CASES[which] if isinstance(part, np.ndarray)]
    with np.errstate(invalid="ignore"):
        compiled, plain = done(which), done(which.plain)
    changed = False
    for before, one, other in zip(untouched, compiled, plain, strict=True):
        changed |= not np.array_equal(before[..., 1:], one[..., 1:], equal_nan=True)
        off = ~np.isclose(one, other, rtol=0, atol=TOLERANCE, equal_nan=True)
        if one.dtype == np.uint8:
            assert np.abs(one.astype(int) - other).max() <= 1
        assert off.mean() <= MAY_DIFFER.get(which, 0)
    assert changed
