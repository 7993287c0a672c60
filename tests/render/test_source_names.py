"""What changes a source's picture changes its signature: settings, times, the files themselves."""

import numpy as np
import pytest
from PIL import Image
from render.spots import CARD, sheet_of

from keyer.render.plan import Plan


def shown(folder, source, frame=0, **sheet):
    """Signature and picture of a source alone."""
    cues = [{"source": "s"}]
    made = sheet_of(folder, sources={"s": source}, cues=cues, sheet={"length": 20, **sheet})
    with Plan(made) as plan:
        node = plan.frame(frame)
        return node.signature, plan.picture(frame, np.uint8).planes


@pytest.fixture(scope="module")
def folder(media):
    """The clips and titles of all, and two wide stills."""
    for seed in (1, 2):
        codes = np.random.default_rng(seed).integers(0, 256, (40, 300, 3), dtype=np.uint8)
        Image.fromarray(codes).save(media / f"wide{seed}.png")
    return media


STILL = {"file": "wide1.png"}
CLIP = {"file": "n25.mp4"}
GROUND = {"look": "copper-silk", "loop": 10}
TITLE = {"title": CARD}
PAIRS = {
    "file": (STILL, {"file": "wide2.png"}),
    "fit": (STILL, STILL | {"fit": "contain"}),
    "keep": (STILL, STILL | {"keep": [10, 50]}),
    "correction": (STILL, STILL | {"correct": {"gamma": 1.3}}),
    "in": (CLIP, CLIP | {"in": 7}),
    "speed": (CLIP, CLIP | {"speed": 2}, 4),
    "at": (CLIP, CLIP | {"at": 3}, 8),
    "loop": (CLIP | {"out": 5, "freeze": True}, CLIP | {"out": 5, "loop": True}, 7),
    "look": ({"background": GROUND}, {"background": GROUND | {"look": "ember-drift"}}),
    "colours": (
        {"background": GROUND},
        {"background": GROUND | {"colours": ["#FF0000", "#0000FF"]}},
    ),
    "soft": ({"background": GROUND}, {"background": GROUND | {"soft": 10}}),
    "drift": ({"background": GROUND}, {"background": GROUND | {"drift": -3}}, 4),
    "seed": ({"background": GROUND}, {"background": GROUND | {"seed": 9}}),
    "still ground": ({"background": GROUND}, {"background": {"look": "copper-silk"}}, 4),
    "words": (TITLE, {"title": CARD | {"fields": {"name": "Bo"}}}),
    "colour": ({"colour": "#102030"}, {"colour": "#102031"}),
    "gradient": (
        {"gradient": {"first": "#000000", "second": "#FFFFFF"}},
        {"gradient": {"first": "#000000", "second": "#FFFFFF", "angle": 0}},
    ),
    "bars": ({"bars": 75}, {"bars": 100}),
    "squares": ({"checkerboard": {}}, {"checkerboard": {"squares": 5}}),
}


@pytest.mark.parametrize("pair", PAIRS.values(), ids=PAIRS)
def test_what_changes_the_picture_changes_the_signature(folder, pair):
    first, second, *frame = pair
    (one, before), (again, _), (other, after) = (
        shown(folder, source, *frame) for source in (first, first, second)
    )
    assert (before != after).any()
    assert one == again != other


@pytest.mark.parametrize("source", [CLIP, {"background": GROUND}], ids=["clip", "background"])
def test_a_frame_is_not_the_next(folder, source):
    found = [shown(folder, source, frame) for frame in (0, 1, 5)]
    assert len({signature for signature, _ in found}) == 3
    assert (found[0][1] != found[1][1]).any()


@pytest.mark.parametrize(
    "source", [STILL, {"background": GROUND}, TITLE], ids=["still", "ground", "title"]
)
def test_another_shape_of_pixels_is_another_picture(folder, source):
    square, wide = (shown(folder, source, format=name) for name in ("720x576@25", "576p25-16:9"))
    assert square[0] != wide[0]
    assert (square[1] != wide[1]).any()


def test_a_file_that_is_written_anew_is_another_picture(folder):
    path = folder / "changing.png"
    found = []
    for grey in (90, 140):
        Image.fromarray(np.full((54, 96, 3), grey, np.uint8)).save(path)
        found.append(shown(folder, {"file": path.name})[0])
    assert found[0] != found[1]
