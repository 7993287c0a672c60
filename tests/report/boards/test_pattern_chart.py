"""Charts of patterns and backgrounds."""

from itertools import pairwise

import pytest

from keyer.library import load_patterns
from keyer.library.looks import load_looks
from keyer.paper.page import Photo, Words
from keyer.report.boards.pattern_chart import ACROSS, WIDTH, look_chart, pattern_chart


def _of(page, kind):
    return [item for item in page.items if isinstance(item, kind)]


@pytest.fixture(scope="module")
def chart():
    return pattern_chart(load_patterns())


def test_a_chart_has_a_picture_for_each_pattern_with_its_whole_name(chart):
    photos, words = _of(chart, Photo), _of(chart, Words)
    texts = [one.line.text for one in words]
    assert len(photos) == len(load_patterns())
    for pattern in load_patterns():
        assert pattern.subtype in texts
    assert not any("…" in text for text in texts)


def test_nothing_lies_on_anything_else(chart):
    """Pictures in rows of six, each row below the words of the one above."""
    photos, words = _of(chart, Photo), _of(chart, Words)
    rows = sorted({photo.y for photo in photos})
    for above, below in pairwise(rows):
        row = [photo for photo in photos if photo.y == above]
        assert len(row) <= ACROSS
        end = above + row[0].height
        assert all(one.baseline < below for one in words if end < one.baseline <= end + 9)
    for photo in photos:
        inside = [w for w in words if photo.y < w.baseline < photo.y + photo.height]
        assert not inside
        assert photo.x + photo.width <= WIDTH


def test_a_chart_ends_below_its_last_words(chart):
    last = max(one.baseline for one in _of(chart, Words))
    assert last < chart.height


def test_a_family_alone_is_a_chart_of_its_own():
    edges = load_patterns().of_family("edge")
    page = pattern_chart(edges)
    assert len(_of(page, Photo)) == len(edges)


def test_each_background_is_shown_at_three_moments():
    looks = list(load_looks().values())[:2]
    page = look_chart(looks, load_patterns())
    texts = [one.line.text for one in _of(page, Words)]
    assert len(_of(page, Photo)) == 3 * len(looks)
    assert [texts.count(look.name) for look in looks] == [3, 3]
