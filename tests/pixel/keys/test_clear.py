import numpy as np
import pytest
from coded_plates import STEPS, plate, settings
from hypothesis import given
from hypothesis import strategies as st

from keyer.pixel.colour.load import load
from keyer.pixel.keys.clear import unclear_spans
from keyer.pixel.keys.fast import key_matte


def matte_of(picture, use):
    band = load(picture)
    matte = np.empty(band.shape[1:], np.float32)
    key_matte(band, use, picture.matrix, matte)
    return matte


@pytest.mark.parametrize("sampling", STEPS)
@given(
    seed=st.integers(0, 2**31),
    acceptance=st.floats(10, 180),
    clip=st.floats(0, 60),
    faint=st.sampled_from([0.0, 1 / 1024]),
    left_sited=st.booleans(),
)
def test_outside_its_spans_a_matte_is_clear(sampling, seed, acceptance, clip, faint, left_sited):
    """The matte of the key itself, worked out for every pixel, is the judge."""
    step_y = STEPS[sampling][1]
    picture = plate(seed, sampling, left_sited=left_sited)
    use = settings(acceptance_deg=acceptance, clip_percent=clip)
    spans, matte = unclear_spans(picture, use, faint), matte_of(picture, use)
    for y in range(picture.height):
        near = spans[max(y // step_y - 1, 0) : y // step_y + 2] if step_y == 2 else spans[y : y + 1]
        seen = np.zeros(picture.width, bool)
        for first, end in near:
            seen[first:end] = True
        if seen.any():  # a row's spans are taken together
            seen[np.argmax(seen) : len(seen) - np.argmax(seen[::-1])] = True
        assert matte[y, ~seen].max(initial=0) <= faint


def test_a_clean_backing_has_no_span_and_a_subject_a_narrow_one():
    picture = plate(1, rows=16, columns=64, noise=0)
    picture.cb[:], picture.cr[:] = 82, 66
    assert not unclear_spans(picture, settings()).any()
    picture.cb[3, 10:14], picture.cr[3, 10:14] = 128, 128
    spans = unclear_spans(picture, settings())
    # by hand: samples 10 to 13 tell on columns 19 to 28
    assert spans[3].tolist() == [19, 29]
    assert not np.delete(spans, 3, axis=0).any()


def test_what_counts_as_clear_grows_with_what_is_faint():
    picture = plate(5, noise=12)
    use = settings(clip_percent=3.0)
    wide, narrow = (unclear_spans(picture, use, faint) for faint in (0.0, 0.2))
    assert (narrow[:, 1] - narrow[:, 0]).sum() < (wide[:, 1] - wide[:, 0]).sum()
