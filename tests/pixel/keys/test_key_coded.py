from dataclasses import replace

import numpy as np
import pytest
from coded_plates import plate, settings
from hypothesis import given
from hypothesis import strategies as st

from keyer.kinds.picture import RgbPicture
from keyer.pixel.colour.encode_ycc import encode
from keyer.pixel.colour.load import load
from keyer.pixel.compose.over import over_in_place
from keyer.pixel.keys.fast import key_matte, take_subject
from keyer.pixel.keys.key_coded import key_coded, key_spans


def step_by_step(over, under, use, opacity, sampling):
    """The same by the stages that are tested by themselves, over the whole picture."""
    fill, ground = load(over), load(under)
    matte = np.empty(fill.shape[1:], np.float32)
    key_matte(fill, use, over.matrix, matte)
    take_subject(fill, matte, use, over.matrix)
    fill *= np.float32(opacity)
    over_in_place(fill, matte * np.float32(opacity), ground)
    return encode(RgbPicture(ground), sampling=sampling, bits=under.bits, matrix=under.matrix)


def blank(picture):
    return replace(
        picture,
        luma=np.zeros_like(picture.luma),
        cb=np.zeros_like(picture.cb),
        cr=np.zeros_like(picture.cr),
    )


@pytest.mark.parametrize("sampling", ["420", "422", "444"])
@given(
    seed=st.integers(0, 2**31),
    size=st.tuples(st.integers(2, 21), st.integers(2, 33)),
    opacity=st.sampled_from([1.0, 0.4]),
    left_sited=st.booleans(),
)
def test_twin(sampling, seed, size, opacity, left_sited):
    """All columns: the codes of the stages, but for one where float32 rounds beside a half."""
    rows, columns = size
    over = plate(seed, sampling, rows=rows, columns=columns, noise=60, left_sited=left_sited)
    under = plate(seed + 1, sampling, rows=rows, columns=columns, noise=60)
    use, out = settings(), blank(under)
    spans = np.tile(np.array([0, columns]), (over.cb.shape[0], 1))
    key_coded(over, under, use, opacity, out, spans, 0, len(spans))
    wanted = step_by_step(over, under, use, opacity, sampling)
    for name in ("luma", "cb", "cr"):
        found, exact = getattr(out, name).astype(int), getattr(wanted, name).astype(int)
        assert np.abs(found - exact).max() <= 1
        # in the smallest planes one sample is more than 2 %
        assert (found != exact).sum() <= max(1, 0.02 * found.size)


@pytest.mark.parametrize("sampling", ["420", "422", "444"])
@given(seed=st.integers(0, 2**31))
def test_on_its_spans_it_is_the_key_of_the_whole_and_beside_them_nothing(sampling, seed):
    over = plate(seed, sampling, rows=40, columns=96, noise=2)
    under = plate(seed + 1, sampling, rows=40, columns=96, noise=60)
    use = settings(clip_percent=12.0)
    spans = key_spans(over, use, 0.0)
    everywhere = np.tile(np.array([0, over.width]), (over.cb.shape[0], 1))
    part, whole = blank(under), blank(under)
    key_coded(over, under, use, 1.0, part, spans, 0, len(spans))
    key_coded(over, under, use, 1.0, whole, everywhere, 0, len(spans))
    step_x = over.width // over.cb.shape[1]
    step_y = over.height // over.cb.shape[0]
    for row, (first, end) in enumerate(spans):
        inside = np.zeros(over.width, bool)
        inside[first:end] = True
        for y in range(row * step_y, row * step_y + step_y):
            np.testing.assert_array_equal(part.luma[y, inside], whole.luma[y, inside])
            assert not part.luma[y, ~inside].any()
        thin = inside[::step_x]
        np.testing.assert_array_equal(part.cr[row, thin], whole.cr[row, thin])
        assert not part.cr[row, ~thin].any()


def test_it_does_not_depend_on_how_rows_are_dealt_out():
    over, under = plate(3, rows=40, columns=64), plate(4, rows=40, columns=64, noise=60)
    use = settings()
    spans = key_spans(over, use, 0.0)
    one, several = blank(under), blank(under)
    key_coded(over, under, use, 1.0, one, spans, 0, 20)
    for top in range(0, 20, 3):
        key_coded(over, under, use, 1.0, several, spans, top, min(top + 3, 20))
    np.testing.assert_array_equal(one.luma, several.luma)
    np.testing.assert_array_equal(one.cb, several.cb)
