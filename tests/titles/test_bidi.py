"""Order of the characters where scripts of both directions meet."""

import pytest
from PIL import Image, ImageChops, ImageDraw, ImageFont

from keyer.titles.bidi import base_level, levels, visual_order

ALEF, BET, GIMEL = "\u05d0", "\u05d1", "\u05d2"
ARABIC = "\u0627\u0644"


def shown(text: str, base: int | None = None) -> str:
    """The text as it is seen, left to right."""
    depth = levels(text, base_level(text) if base is None else base)
    return "".join(visual_order(list(text), depth))


# by hand from the rules of UAX #9 named beside each
CASES = [
    ("abc", 0, [0, 0, 0]),  # I1
    (f"{ALEF}{BET}", 1, [1, 1]),  # I2
    (f"a {ALEF}", 0, [0, 0, 1]),  # N2: the blank takes the line's direction
    (f"{ALEF} {BET}", 0, [1, 1, 1]),  # N1: a blank between two right-to-left letters
    (f"{ALEF} 12", 1, [1, 1, 2, 2]),  # I2: numbers go one deeper
    (f"{ARABIC} 1-2", 1, [1, 1, 1, 2, 1, 2]),  # W2, W4: after Arabic a hyphen parts numbers
    (f"{ALEF} 1-2", 1, [1, 1, 2, 2, 2]),  # W4: elsewhere a hyphen joins them
    (f"{ALEF} 5%", 1, [1, 1, 2, 2]),  # W5
    ("a 5%", 1, [2, 2, 2, 2]),  # W7: after a Latin letter a number counts as Latin
    (f"{ALEF}(b){GIMEL}", 1, [1, 1, 2, 1, 1]),  # N0: brackets in the line's direction
    (f"a({BET})c", 0, [0, 0, 1, 0, 0]),  # N0
    (f"a ({BET} c) {ALEF}", 0, [0, 0, 0, 1, 0, 0, 0, 0, 1]),  # N0 b
    (f"{ALEF}\u0301b", 0, [1, 1, 0]),  # W1: a mark goes with its letter
    (f"{ALEF} ", 0, [1, 0]),  # L1: blank at the end
    (f"{ALEF}\u200e", 0, [1, 0]),  # a left-to-right mark is a strong character
]


@pytest.mark.parametrize(("text", "base", "expected"), CASES)
def test_levels_by_hand(text, base, expected):
    assert levels(text, base) == expected


def test_base_level_is_that_of_the_first_letter():
    assert base_level("12 abc") == 0
    assert base_level(f"12 {ALEF}") == 1
    assert base_level("12") == 0


def test_order_seen():
    assert shown(f"a {ALEF}{BET} 12 c") == f"a {BET}{ALEF} 12 c".replace(
        f"{BET}{ALEF} 12", f"12 {BET}{ALEF}"
    )
    assert shown("plain") == "plain"
    assert visual_order([], []) == []


@pytest.mark.parametrize(
    "text",
    [
        f"{ALEF}{BET} 123 {GIMEL} abc",
        f"abc {ALEF} ({BET}) 5% x",
        f"{ARABIC} 12-34 (abc) {ARABIC}",
        f"1,234.5 {ALEF}: {BET}",
        f"a-{ALEF}/b+{BET}",
        f"[{ALEF} (b)] {GIMEL}, c!",
    ],
)
def test_order_agrees_with_the_layout_engine(text):
    """The same line ordered by Raqm itself, drawn in a face with all the letters."""
    try:
        font = ImageFont.truetype("DejaVuSans.ttf", 40)
    except OSError:
        pytest.skip("needs the DejaVu fonts on the system")
    theirs = Image.new("L", (900, 70))
    draw = ImageDraw.Draw(theirs)
    way = "rtl" if base_level(text) else "ltr"
    draw.text((10, 50), text, 255, font, anchor="ls", direction=way)
    ours = Image.new("L", (900, 70))
    draw = ImageDraw.Draw(ours)
    depth = levels(text, base_level(text))
    runs: list[tuple[str, int]] = []
    for char, level in zip(text, depth, strict=True):
        if runs and runs[-1][1] == level:
            runs[-1] = (runs[-1][0] + char, level)
        else:
            runs.append((char, level))
    x = 10.0
    for run, level in visual_order(runs, [level for _, level in runs]):
        way = "rtl" if level % 2 else "ltr"
        draw.text((x, 50), run, 255, font, anchor="ls", direction=way)
        x += font.getlength(run, direction=way)
    difference = ImageChops.difference(theirs, ours).getextrema()[1]
    assert difference <= 2, f"differs by {difference}"
