"""Contrast, letter height, safe area and reading time against published and worked values."""

from fractions import Fraction

import numpy as np
import pytest
from support import reference, solid

from keyer.errors import SettingError
from keyer.kinds.limits import LIMITS
from keyer.measure.legibility import (
    EASY_WORDS_A_MINUTE,
    HARD_WORDS_A_MINUTE,
    SHORT_TITLE,
    SHORTEST_TITLE,
    Contrast,
    contrast_ratio,
    count_words,
    judge_contrast,
    judge_letter_height,
    judge_passage,
    judge_reading_time,
    judge_safe_area,
    reading_seconds,
    relative_luminance,
    worst_contrast,
)
from keyer.measure.safe_areas import SAFE_AREAS, inset

TOLERANCES = reference("tolerances")
FACTS = {fact["id"]: fact for fact in reference("practice")["fact"]}


def colour(text):
    return tuple(int(text[i : i + 2], 16) / 255 for i in (1, 3, 5))


@pytest.mark.parametrize("pair", TOLERANCES["contrast_pair"], ids=lambda p: f"{p['a']}-{p['b']}")
def test_contrast_agrees_with_the_worked_pairs(pair):
    says = f"tolerances.toml contrast_pair ({pair['source']})"
    first, second = (
        float(relative_luminance(solid(colour(pair[key])))[0, 0]) for key in ("a", "b")
    )
    assert first == pytest.approx(pair["luminance_a"], abs=2e-6), says
    assert second == pytest.approx(pair["luminance_b"], abs=2e-6), says
    assert contrast_ratio(first, second) == pytest.approx(pair["ratio"], abs=1e-3), says


def test_limits_are_the_published_ones():
    limits = TOLERANCES["contrast"]
    assert limits["aa_text"]["minimum"] == LIMITS["title.contrast"].watch
    assert limits["aa_large"]["minimum"] == LIMITS["title.contrast"].fails
    speed = FACTS["reading-speed-read"]
    assert (speed["low"], speed["difficult_above"]) == (EASY_WORDS_A_MINUTE, HARD_WORDS_A_MINUTE)
    shortest = FACTS["title-minimum"]
    assert (shortest["low"], shortest["high"]) == (SHORTEST_TITLE, SHORT_TITLE)
    assert FACTS["text-height"]["low"] * 100 == LIMITS["title.letter_height"].watch


def stem_on(behind, ink=1.0, height=40.0):
    """Contrast of an upright stem, 6 pixels wide, over a picture."""
    letters = np.zeros(behind.shape[1:], np.float32)
    letters[20:60, 50:56] = 1
    return worst_contrast(ink, behind, letters, height)


def test_flat_picture_gives_the_plain_ratio():
    grey = solid((0.5, 0.5, 0.5), 80, 120)
    expected = contrast_ratio(1.0, float(relative_luminance(grey)[0, 0]))
    assert stem_on(grey).ratio == pytest.approx(expected, rel=1e-4)


def test_worst_part_is_found_where_it_lies():
    behind = solid((0.0, 0.0, 0.0), 80, 120)
    behind[:, 38:, :] = 0.9  # the lower half of the stem stands on a bright picture
    found = stem_on(behind)
    bright = float(relative_luminance(behind)[70, 0])
    assert found.ratio == pytest.approx(contrast_ratio(1.0, bright), rel=0.02)
    assert 50 <= found.x < 56
    assert found.y > 45


def test_outline_counts_as_surroundings():
    behind = solid((1.0, 1.0, 1.0), 80, 120)
    assert stem_on(behind).ratio == pytest.approx(1.0)
    behind[:, 10:70, 40:66] = 0.0  # a wide dark edge round the stem
    assert stem_on(behind).ratio == pytest.approx(21.0, rel=1e-3)


def test_picture_far_from_the_letters_does_not_count():
    behind = solid((0.0, 0.0, 0.0), 80, 120)
    behind[:, :, 90:] = 1.0
    assert stem_on(behind).ratio == pytest.approx(21.0, rel=1e-3)


def test_see_through_letters_by_what_is_seen_of_them():
    behind = solid((0.0, 0.0, 0.0), 80, 120)
    half = np.full((80, 120), 0.5, np.float32)  # luminance of the finished picture
    assert stem_on(behind, half).ratio == pytest.approx(11.0)  # by hand: 0.55 / 0.05


def test_no_letters_no_contrast():
    grey = solid((0.5, 0.5, 0.5), 8, 8)
    assert worst_contrast(1.0, grey, np.zeros((8, 8), np.float32), 4.0) is None


@pytest.mark.parametrize(
    ("ratio", "verdict"),
    [(21, "holds"), (4.5, "holds"), (4.49, "watch"), (3, "watch"), (2.9, "fails")],
)
def test_contrast_verdicts(ratio, verdict):
    found = judge_contrast(Contrast(ratio, 7, 9))
    assert found.verdict == verdict
    assert bool(found.remedy) == (verdict != "holds")


@pytest.mark.parametrize(("height", "verdict"), [(4.0, "holds"), (3.9, "watch"), (2.4, "fails")])
def test_letter_height_verdicts(height, verdict):
    assert judge_letter_height(height).verdict == verdict


def test_safe_areas_are_the_published_ones():
    safe = TOLERANCES["safe"]
    for name, table in (("st2046-1", "st2046_1"),):
        assert SAFE_AREAS[name].title == safe[table]["title_width"], safe[table]["source"]
        assert SAFE_AREAS[name].action == safe[table]["action_width"], safe[table]["source"]
    assert SAFE_AREAS["r95"].action == pytest.approx(1 - 2 * safe["r95"]["action_inset"])
    assert SAFE_AREAS["r95"].title == pytest.approx(1 - 2 * safe["r95"]["graphics_inset"])
    assert SAFE_AREAS["legacy"].title == safe["legacy"]["title"]
    assert SAFE_AREAS["legacy"].action == safe["legacy"]["action"]


@pytest.mark.parametrize("height", [480, 486, 576])
def test_lines_of_720_are_counted_on_the_704_that_the_picture_spans(height):
    """By hand: 8 columns beside it, and a twentieth of 704."""
    assert inset("st2046-1", "title", 720, height).x == pytest.approx(8 + 35.2)
    assert inset("legacy", "title", 720, height).x == pytest.approx(8 + 70.4)
    assert inset("none", "title", 720, height).x == 0
    assert inset("st2046-1", "title", 720, 405).x == pytest.approx(36)


@pytest.mark.parametrize("row", TOLERANCES["safe_pixels"], ids=lambda r: f"{r['area']}{r['width']}")
def test_insets_in_pixels(row):
    name, area = (
        ("legacy", row["area"][7:]) if "legacy" in row["area"] else ("st2046-1", row["area"])
    )
    found = inset(name, area, row["width"], row["height"])
    assert [found.x, found.y] == pytest.approx(row["exact_inset"]), row["source"]
    assert (round(found.x), round(found.y)) == (row["inset_x"], row["inset_y"])


def test_unknown_safe_area():
    with pytest.raises(SettingError, match="st2046-1, r95, legacy"):
        inset("wide", "title", 1920, 1080)


@pytest.mark.parametrize(
    ("left", "verdict", "share"), [(96, "holds", 0), (90, "watch", 12), (66, "fails", 60)]
)
def test_letters_beyond_the_safe_area(left, verdict, share):
    """By hand: a block 50 pixels wide; title-safe begins at column 96, action-safe at 67."""
    block = np.ones((20, 50), np.float32)
    found = judge_safe_area(block, left, 500, (1920, 1080), "st2046-1")
    assert (found.verdict, found.value) == (verdict, pytest.approx(share))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Ines Marlow, keeper of the boat house", 7),
        ("", 0),
        ("— 4 %", 1),
        ("日本語字幕", 2.5),
        ("नमस्ते दुनिया", 2),
    ],
)
def test_words(text, words):
    assert count_words(text) == words


def test_reading_time_worked():
    eight = "one two three four five six seven eight"
    assert reading_seconds(eight) == pytest.approx(3.0)  # by hand: 8 x 60 / 160
    assert reading_seconds("one") == 2.0
    assert judge_reading_time(eight, 3).verdict == "holds"
    found = judge_reading_time(eight, Fraction(29, 10))
    assert found.verdict == "watch"
    assert found.remedy == "Hold it for 3.0 s (5.4 s to be read aloud twice), or shorten it."
    assert judge_reading_time(eight, 2.4).verdict == "watch"  # by hand: 8 x 60 / 200
    assert judge_reading_time(eight, 2.3).verdict == "fails"
    assert judge_reading_time("one", 1.4).verdict == "fails"


def test_passage_of_a_crawl():
    assert judge_passage(100, 100).verdict == "holds"
    found = judge_passage(90, 100)
    assert (found.verdict, found.value) == ("fails", 10)
