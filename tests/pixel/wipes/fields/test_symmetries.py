"""Symmetries that the names of the patterns promise, over the whole list."""

import re

import numpy as np
import pytest
from wiping import ACROSS, DOWN, NAMES, SWAPPED, plain

WORDS = re.compile(
    r"(?i)counterClockwise|clockwise|left|right|top|bottom|up|down|horizontal|vertical"
)

BY_FOLDED = {name.casefold(): name for name in NAMES}

TURN = {"pinWheelWipe/twoBladeVertical", "pinWheelWipe/twoBladeHorizontal"}
"""Both sweep clockwise, so they are each other turned, not each other mirrored."""


def renamed(name: str, words: dict[str, str]) -> str | None:
    """The pattern that the name becomes when its directions are exchanged, if there is one."""
    kind, subtype = name.split("/")
    changed = WORDS.sub(lambda m: words.get(m[0].casefold(), m[0]), subtype)
    folded = f"{kind}/{changed}".casefold()
    corners = re.sub(r"(left|right)(top|bottom)", r"\2\1", folded)
    if kind in {"veeWipe", "barnVeeWipe", "triangleWipe", "arrowHeadWipe"} and words is SWAPPED:
        kept = {"left": "up", "right": "down", "up": "left", "down": "right"}
        corners = f"{kind}/{kept[subtype]}".casefold()
    found = BY_FOLDED.get(corners)
    return found if found != name else None


def pairs(words: dict[str, str]) -> list[tuple[str, str]]:
    return [(name, other) for name in NAMES if (other := renamed(name, words)) and name < other]


def test_enough_pairs_are_found():
    """Counted by hand in the list: a word that is no longer understood would lower them."""
    assert len(pairs(ACROSS)) == 23
    assert len(pairs(DOWN)) == 24
    assert len(pairs(SWAPPED)) == 42


@pytest.mark.parametrize(("name", "other"), pairs(ACROSS))
def test_left_and_right_are_mirror_images(name, other):
    np.testing.assert_allclose(plain(other).picture[:, ::-1], plain(name).picture, atol=3e-6)


@pytest.mark.parametrize(("name", "other"), pairs(DOWN))
def test_up_and_down_are_mirror_images(name, other):
    np.testing.assert_allclose(plain(other).picture[::-1], plain(name).picture, atol=3e-6)


# a diagonal route sets out across in every corner: it has no lying and standing kind
UPRIGHT_PAIRS = [
    pair for pair in pairs(SWAPPED) if pair[0] not in TURN and "Diagonal" not in pair[0]
]


@pytest.mark.parametrize(("name", "other"), UPRIGHT_PAIRS)
def test_lying_and_standing_are_each_others_transpose(name, other):
    lying, standing = plain(name, 96, 54), plain(other, 54, 96)
    np.testing.assert_allclose(standing.picture.T, lying.picture, atol=3e-6)


def test_the_pinwheels_blades_are_a_quarter_turn_apart():
    one, other = (plain(name, 60, 60).picture for name in sorted(TURN))
    np.testing.assert_allclose(np.rot90(other, -1), one, atol=3e-6)


def test_the_waterfalls_left_ones_are_each_others_transpose():
    lying = plain("waterfallWipe/horizontalLeft", 96, 54).picture
    standing = plain("waterfallWipe/verticalLeft", 54, 96).picture
    np.testing.assert_allclose(standing.T, lying, atol=3e-6)


@pytest.mark.parametrize(
    "name",
    [
        "irisWipe/rectangle",
        "irisWipe/diamond",
        "ellipseWipe/circle",
        "starWipe/fourPoint",
        "starWipe/sixPoint",
        "miscShapeWipe/heart",
        "miscShapeWipe/keyhole",
        "fourBoxWipe/cornersIn",
        "fourBoxWipe/cornersOut",
        "miscDiagonalWipe/doubleDiamond",
    ],
)
def test_these_are_their_own_mirror_image(name):
    field = plain(name).picture
    np.testing.assert_allclose(field[:, ::-1], field, atol=3e-6)
