from dataclasses import replace

import numpy as np
import pytest
from coded_plates import plate, settings
from render.frames import (
    Base,
    Frame,
    Keyed,
    Laid,
    Matted,
    Mix,
    Reveal,
    Wipe,
    compose,
    compose_coded,
)

from keyer.kinds.picture import RgbPicture, YccPicture
from keyer.kinds.settings import Edge
from keyer.pixel.colour.encode_ycc import empty_ycc, encode
from keyer.pixel.colour.load import load
from keyer.render.effect import flat
from keyer.render.evaluate import Evaluator
from keyer.render.graph import Box
from keyer.render.sinks.coded import changed_boxes

WIDTH, HEIGHT = 96, 300
NAMES = ("luma", "cb", "cr")


def bottom(seed=1, sampling="420"):
    return plate(seed, sampling, rows=HEIGHT, columns=WIDTH, noise=60)


def subject(seed=2, sampling="420"):
    """A clean backing with a block of other colour."""
    picture = plate(seed, sampling, rows=HEIGHT, columns=WIDTH, noise=1)
    rows, columns = picture.cb.shape
    picture.cb[rows // 3 : rows // 2, columns // 4 : columns // 2] = 140
    return picture


def lettering(left=10, top=200, width=40, height=30):
    random = np.random.default_rng(5)
    planes = random.random((3, height, width), dtype=np.float32)
    return Laid(
        RgbPicture(planes, random.random((height, width), dtype=np.float32)), left=left, top=top
    )


def matted():
    matte = np.zeros((HEIGHT, WIDTH), np.float32)
    matte[140:150, 30:50] = 0.6
    return Matted(np.stack([matte] * 3) * np.float32(0.5), matte)


KEY = Keyed(subject(), settings(clip_percent=12.0))
FRAMES = {
    "base": Frame(Base(bottom())),
    "key": Frame(Base(bottom()), (KEY,)),
    "faint key": Frame(Base(bottom()), (replace(KEY, opacity=0.3),)),
    "unseen key": Frame(Base(bottom()), (replace(KEY, opacity=0.0),)),
    "title": Frame(Base(bottom()), (lettering(),)),
    "title at the edge": Frame(Base(bottom()), (lettering(WIDTH - 17, HEIGHT - 21, 17, 21),)),
    "key and title": Frame(Base(bottom()), (KEY, lettering(30, 100))),
    "title below key": Frame(Base(bottom()), (lettering(30, 100), KEY)),
    "two keys": Frame(Base(bottom()), (KEY, Keyed(subject(9), KEY.settings))),
    "matted": Frame(Base(bottom()), (matted(),)),
    "picture": Frame(Base(bottom()), (Laid(bottom(4), 0.5),)),
    "key in light": Frame(Base(bottom()), (KEY, lettering()), "linear"),
    "key of R'G'B'": Frame(Base(bottom()), (replace(KEY, picture=RgbPicture(load(subject()))),)),
    "uncovered": Frame(
        Base(bottom()), (replace(lettering(), reveal=Reveal(Wipe("barWipe", Edge()), 0.4)),)
    ),
    "done": Frame(Base(bottom(3), bottom(), Mix(), 1.0), (KEY,)),
}
WHOLE = {
    "mix": Frame(Base(bottom(), bottom(3), Mix(), 0.4), (KEY,)),
    "wipe": Frame(Base(bottom(), bottom(3), Wipe("barWipe", Edge(border=3)), 0.4)),
}


def coded(frame, threads=None, sampling="420", bits=8, matrix="bt709"):
    out = empty_ycc(WIDTH, HEIGHT, sampling=sampling, bits=bits, matrix=matrix)
    compose_coded(frame, out, threads=threads)
    return out


def whole(frame, sampling="420", bits=8, matrix="bt709"):
    exact = compose(frame, np.float32)
    return encode(exact, sampling=sampling, bits=bits, matrix=matrix)


def boxes_of(frame):
    """Boxes of what lies over the base."""
    node = frame.node
    ready = Evaluator().prepare(node)
    over = [layer.node for layer in node.layers]
    return changed_boxes(over, (WIDTH, HEIGHT), ready, 0.25 / 256)


def mask_of(frame):
    boxes = boxes_of(frame)
    seen = np.zeros((HEIGHT, WIDTH), bool)
    for left, top, right, bottom in boxes:
        seen[top:bottom, left:right] = True
    return seen


@pytest.mark.parametrize("name", FRAMES)
def test_touched_parts_are_composed_and_the_others_pass_as_they_are(name):
    """Composed: the codes of the whole frame, to the rounding of a key in one pass."""
    frame = FRAMES[name]
    base = frame.base.second or frame.base.first
    found, exact, seen = coded(frame), whole(frame), mask_of(frame)
    away = found.luma.astype(int) - exact.luma
    assert np.abs(away[seen]).max(initial=0) <= 1
    assert (away[seen] != 0).mean() < 0.02 if seen.any() else True
    # by hand: chroma of an untouched sample two columns off a touched one is the base's own
    far = ~np.repeat(seen.any(axis=1), WIDTH).reshape(HEIGHT, WIDTH)
    np.testing.assert_array_equal(found.luma[far], base.luma[far])
    thin = far[::2, ::2] & far[1::2, ::2]
    np.testing.assert_array_equal(found.cb[thin], base.cb[thin])
    assert np.abs(found.luma.astype(int) - exact.luma).max() <= 1


@pytest.mark.parametrize("name", FRAMES)
def test_outside_its_boxes_a_frame_is_its_base(name):
    """The composer is the judge: R'G'B' of the frame against that of its base alone."""
    frame = FRAMES[name]
    found = compose(frame, np.float32).planes
    alone = compose(Frame(frame.base, (), frame.light), np.float32).planes
    away = np.abs(found - alone).max(axis=0)
    assert away[~mask_of(frame)].max(initial=0) <= 0.25 / 256 + 1e-6


def test_boxes_are_no_larger_than_what_they_hold():
    assert boxes_of(FRAMES["base"]) == []
    assert [(b.left, b.right) for b in boxes_of(FRAMES["title"])] == [(10, 50)]
    assert [(b.top, b.bottom) for b in boxes_of(FRAMES["title"])] == [(128, 256)]
    assert mask_of(FRAMES["key"]).mean() < 0.35
    assert mask_of(FRAMES["matted"]).mean() < 0.1


@pytest.mark.parametrize("name", WHOLE)
def test_a_frame_of_two_pictures_is_composed_whole(name):
    frame = WHOLE[name]
    found, exact = coded(frame), whole(frame)
    for plane in NAMES:
        np.testing.assert_array_equal(getattr(found, plane), getattr(exact, plane))


@pytest.mark.parametrize("name", [*FRAMES, *WHOLE])
def test_a_result_does_not_depend_on_threads(name):
    frame = (FRAMES | WHOLE)[name]
    one, three = coded(frame, threads=1), coded(frame, threads=3)
    for plane in NAMES:
        np.testing.assert_array_equal(getattr(one, plane), getattr(three, plane))


@pytest.mark.parametrize(
    "wanted",
    [
        {"sampling": "422"},
        {"bits": 10},
        {"matrix": "bt601"},
        {"sampling": "444", "bits": 10},
    ],
    ids=str,
)
def test_planes_of_another_kind_are_composed_whole(wanted):
    frame = FRAMES["key and title"]
    found, exact = coded(frame, **wanted), whole(frame, **wanted)
    for plane in NAMES:
        np.testing.assert_array_equal(getattr(found, plane), getattr(exact, plane))


@pytest.mark.parametrize("change", [{"left_sited": False}, {"full_range": True}])
def test_a_base_whose_codes_mean_something_else_is_converted(change):
    frame = Frame(Base(replace(bottom(), **change)))
    np.testing.assert_array_equal(coded(frame).luma, whole(frame).luma)


def test_a_still_is_converted():
    frame = Frame(Base(RgbPicture(load(bottom()))), (lettering(),))
    np.testing.assert_array_equal(coded(frame).luma, whole(frame).luma)


@pytest.mark.parametrize("name", [*FRAMES, *WHOLE])
@pytest.mark.parametrize("box", [(0, 128, 96, 256), (0, 100, 64, 201), (64, 40, 96, 41)])
def test_a_box_is_that_part_of_the_whole_bit_for_bit(name, box):
    node = flat((FRAMES | WHOLE)[name].node)
    ready = Evaluator().prepare(node)
    part = ready.drawn(node, Box(*box)).planes
    left, top, right, bottom = box
    np.testing.assert_array_equal(part, ready.whole(node).planes[:, top:bottom, left:right])


def test_pictures_are_not_changed():
    frame = FRAMES["key and title"]
    picture = frame.base.first
    assert isinstance(picture, YccPicture)
    before = picture.luma.copy(), picture.cb.copy()
    coded(frame)
    np.testing.assert_array_equal(picture.luma, before[0])
    np.testing.assert_array_equal(picture.cb, before[1])
