import numpy as np
import pytest
from scipy import ndimage

from keyer.measure.coverage import judge_coverage, measure_coverage


def _disc(softness: float, size: int = 200, radius: float = 60.0):
    y, x = np.mgrid[:size, :size] - (size - 1) / 2
    distance = radius - np.hypot(x, y)
    return np.clip(distance / softness + 0.5, 0, 1).astype(np.float32)


def test_shares_of_a_stepped_matte():
    """By hand: 20 clear, 30 edge and 50 solid columns of 100."""
    matte = np.zeros((10, 100), np.float32)
    matte[:, 20:50] = 0.5
    matte[:, 50:] = 1.0
    coverage = measure_coverage(matte)
    assert (coverage.clear_percent, coverage.edge_percent, coverage.solid_percent) == (20, 30, 50)


@pytest.mark.parametrize("width", [1.0, 3.0, 8.0, 20.0])
def test_edge_width_is_that_of_the_ramp(width):
    """A ramp over `width` pixels; a one-pixel ramp at an angle spreads over up to 1.5."""
    assert measure_coverage(_disc(width)).edge_width_px == pytest.approx(width, rel=0.08, abs=0.45)


def test_no_edge_no_width():
    assert measure_coverage(np.zeros((9, 9), np.float32)).edge_width_px == 0.0


def test_holes_and_specks_are_counted_as_scipy_labels_them():
    matte = _disc(1.0)
    matte[100, 100] = 0.3
    matte[90:93, 90:94] = 0.0
    matte[10, 10:13] = 0.4
    coverage = measure_coverage(matte)
    labels, count = ndimage.label(matte < 0.98)
    sizes = ndimage.sum_labels(np.ones_like(matte), labels, range(1, count + 1))
    assert coverage.holes.count == 2 == np.sum(sizes < 80)
    assert coverage.holes.area_px == 13 == sizes[sizes < 80].sum()
    assert (coverage.specks.count, coverage.specks.area_px) == (1, 3)


def test_a_large_opening_is_no_hole():
    matte = _disc(1.0) - _disc(1.0, radius=20.0)
    assert measure_coverage(matte).holes.count == 0


def _verdicts(matte):
    return {v.measure: v for v in judge_coverage(measure_coverage(matte), matte.shape[0])}


def test_a_thin_subject_fails_with_a_remedy():
    matte = _disc(1.0)
    matte[80:100:3, 80:100:3] = 0.9
    verdicts = _verdicts(matte)
    assert verdicts["coverage.holes"].verdict == "fails"
    assert verdicts["coverage.holes"].value == pytest.approx(100 * 49 / 40_000)
    assert "with a hold-in matte" in verdicts["coverage.holes"].remedy
    assert verdicts["coverage.specks"].verdict == "holds"
    assert verdicts["coverage.specks"].remedy == ""


def test_a_clear_opening_wants_a_look_but_does_not_fail():
    matte = _disc(1.0)
    matte[95:100, 95:100] = 0.0
    verdicts = _verdicts(matte)
    assert verdicts["coverage.holes"].verdict == "holds"
    assert verdicts["coverage.openings"].verdict == "watch"
    assert verdicts["coverage.openings"].value == pytest.approx(100 * 25 / 40_000)


def test_a_veil_of_specks_fails():
    matte = _disc(1.0)
    matte[4:40:4, 4:40:4] = 0.1
    assert _verdicts(matte)["coverage.specks"].verdict == "fails"


def test_loose_ends_beside_the_subject_are_no_specks():
    """Hair whose middle is too thin to be seen; as far away it would be grain."""
    matte = _disc(1.0)
    matte[92:108:4, 163] = 0.3  # the disc ends at column 160, a twenty-fifth of 200 rows is 8
    assert _verdicts(matte)["coverage.specks"].verdict == "holds"
    far = _disc(1.0)
    far[92:108:4, 183] = 0.3
    assert _verdicts(far)["coverage.specks"].verdict == "watch"


@pytest.mark.parametrize("level", [0.0, 1.0])
def test_a_matte_without_subject_or_background_fails(level):
    coverage = measure_coverage(np.full((50, 50), level, np.float32))
    verdicts = {v.measure: v.verdict for v in judge_coverage(coverage, 50)}
    assert verdicts["coverage.balance"] == "fails"


def test_one_pixel():
    assert measure_coverage(np.ones((1, 1), np.float32)).solid_percent == 100.0


@pytest.mark.parametrize(("check", "left"), [("coverage.holes", 1400), ("coverage.specks", 300)])
@pytest.mark.parametrize(
    ("side", "verdict"),
    [(10, "holds"), (11, "watch"), (32, "watch"), (33, "fails"), (60, "fails")],
)
def test_a_thin_part_is_one_however_large_it_is(check, left, side, verdict):
    """By hand: 0.005 % of 1920 x 1080 are 104 pixels, 0.05 % are 1037, 0.2 % are 4147."""
    matte = np.zeros((1080, 1920), np.float32)
    matte[:, 960:] = 1
    matte[400 : 400 + side, left : left + side] = 0.5
    found = judge_coverage(measure_coverage(matte), 1080)
    assert next(v.verdict for v in found if v.measure == check) == verdict


def test_a_thin_part_among_others_is_an_opening():
    """Gaps between strands: each alone would be one, together they leave too little solid."""
    matte = np.zeros((1080, 1920), np.float32)
    matte[:, 960:] = 1
    for left in range(1300, 1500, 8):
        matte[400:460, left : left + 5] = 0.5
    holes = measure_coverage(matte).holes
    assert holes.count == 25
    assert holes.semi_transparent_percent == 0
