"""Random graphs: whole or in bands, by one thread or two, in one pass or node by node."""

from dataclasses import dataclass, fields, replace
from fractions import Fraction

import numpy as np
import pytest
from coded_plates import plate
from hypothesis import given
from hypothesis import strategies as st
from support import planes

from keyer.kinds.field import Modifiers, Modulation
from keyer.kinds.picture import RgbPicture
from keyer.kinds.settings import BoxLook, Correction, Edge, Finish, KeySettings, Shade
from keyer.library import load_patterns
from keyer.pixel.compose.place import Placement
from keyer.pixel.mattes.masks import Rectangle
from keyer.render.between import Mix, Move, Opacity, Wipe
from keyer.render.correcting import Corrected
from keyer.render.effect import Effect, Lit, flat
from keyer.render.evaluate import Evaluator
from keyer.render.fine import Fine, Plate, WholeNode
from keyer.render.finishing import Finished, Masks, Shadow
from keyer.render.graph import Box, Layer, Node
from keyer.render.keying import Key, Level
from keyer.render.leaves import Clear, Colour, Lettering, Source
from keyer.render.leaves import given as in_memory
from keyer.render.placing import Fitted, Placed
from keyer.render.sinks.pictures import picture
from keyer.titles.ink import Canvas
from keyer.titles.layers import Drawn

ROWS, COLUMNS = 41, 70
GREEN = (0.1, 0.7, 0.15)
SETTINGS = KeySettings(225.0, 110.0, 4.0, 1.1, 80.0, GREEN)
PATTERNS = [
    load_patterns().find(name)
    for name in ("barWipe/leftToRight", "ellipseWipe/circle", "clockWipe/clockwiseTwelve")
]


PLACES = [Placement(30, 60, 55), Placement(crop=(20, 0, 0, 9))]


def _codes(seed):
    return np.random.default_rng(seed).integers(0, 256, (3, ROWS, COLUMNS), dtype=np.uint8)


def _alpha(seed):
    alpha = np.random.default_rng(seed).random((ROWS, COLUMNS), dtype=np.float32)
    return np.clip(1.6 * alpha - 0.3, 0, 1).astype(np.float32)


def _green(seed):
    values = planes(seed, ROWS, COLUMNS)
    values[:, :, : COLUMNS // 2] = np.array(GREEN, np.float32)[:, None, None]
    return (255 * values + 0.5).astype(np.uint8)


def _title():
    small = RgbPicture(planes(8, 12, 30), _alpha(9)[:12, :30].copy())
    drawn = Drawn(small, 21, 17, Canvas(COLUMNS, ROWS, 1.0), ())
    return Lettering(("title",), COLUMNS, ROWS, lambda: drawn)


PICTURES = [
    RgbPicture(_codes(1)),
    RgbPicture(_codes(2)),
    RgbPicture(_green(3)),
    RgbPicture(planes(4, ROWS, COLUMNS), _alpha(5)),
    plate(6, "420", rows=ROWS, columns=COLUMNS, noise=60),
    plate(7, "422", rows=ROWS, columns=COLUMNS, noise=3),
]
LEAVES = [
    *map(in_memory, PICTURES),
    Colour((0.3, 0.8, 0.1), COLUMNS, ROWS),
    Clear(COLUMNS, ROWS),
    _title(),
]
A, B, C = LEAVES[0], LEAVES[1], LEAVES[2]
MASKS = Masks(COLUMNS, ROWS, (Rectangle(1, 2, 9, 9),), ((A, "bt709"),))
shares = st.sampled_from([0.1, 0.37, 0.5, 0.81])


def _inner(part):
    layers = st.lists(part.map(Layer), max_size=2).map(tuple)
    edges = st.sampled_from([Edge(), Edge(soft=9.0), Edge(2.0, 8.0, 0.0, (1.0, 0.5, 0.0))])
    changes = st.sampled_from([Modifiers(), Modifiers(repeat=(2, 1)), Modifiers(rotation=30.0)])
    return st.one_of(
        st.builds(Mix, part, part, shares, st.sampled_from(["mix", "non-additive"])),
        st.builds(
            Wipe, part, part, shares, st.sampled_from(PATTERNS), changes, edges,
            border=st.none() | part,
        ),
        st.builds(
            lambda *rest: Wipe(Clear(COLUMNS, ROWS), *rest, within=True),
            part, shares, st.sampled_from(PATTERNS), changes, edges,
        ),
        st.builds(
            Move, part, part, shares, st.sampled_from(["push", "slide"]),
            st.sampled_from(["left", "top", "right", "bottom"]),
        ),
        st.builds(Opacity, part, shares),
        st.builds(Corrected, part, st.just(Correction(5, 90, 1.3, 120, 20, (90, 100, 110)))),
        st.builds(Key, part, st.just(SETTINGS)),
        st.builds(Level, part, part, st.sampled_from(["luma", "alpha"])),
        st.builds(Placed, part, st.sampled_from(PLACES)),
        st.builds(
            lambda of, how: Fitted(of, COLUMNS, ROWS, Fraction(5, 4), how),
            part, st.sampled_from(["cover", "contain", "none"]),
        ),
        st.builds(
            lambda of, finish: Finished(Key(of, SETTINGS), of, MASKS, None, finish, SETTINGS),
            part, st.sampled_from([Finish(), Finish(grow=1.0), Finish(feather=2.0)]),
        ),
        st.builds(Effect, part, layers),
        st.builds(Effect, part, layers, fade=st.just(((0.2, 0.0, 0.1), 0.4))),
        st.builds(lambda base, over: Effect(Lit(base), over, "linear"), part, layers),
    )  # fmt: skip


def graphs(depth=4):
    found = st.sampled_from(LEAVES)
    for _ in range(depth):
        found = st.one_of(st.sampled_from(LEAVES), _inner(found))
    return _inner(found)


@given(graphs(), st.integers(1, ROWS + 2), st.integers(1, 2))
def test_bands_and_threads_do_not_matter(node, rows, threads):
    for alpha in (False, True):
        whole = picture(
            node, Evaluator(), np.float32, alpha=alpha, threads=1, rows=ROWS, fuse=False
        )
        found = picture(
            node, Evaluator(), np.float32, alpha=alpha, threads=threads, rows=rows, fuse=False
        )
        np.testing.assert_array_equal(found.planes, whole.planes)
        if whole.alpha is not None:
            np.testing.assert_array_equal(found.alpha, whole.alpha)


FADE = ((0.2, 0.0, 0.1), 0.4)


def _nearly(part):
    """What runs as one pass, and what comes near it and does not."""
    keyed = st.builds(Key, st.sampled_from(LEAVES[:3]), st.just(SETTINGS))
    laid = st.one_of(keyed, st.builds(Opacity, keyed, shares)).map(lambda node: (Layer(node),))
    return st.one_of(
        st.builds(Mix, part, part, shares, st.sampled_from(["mix", "non-additive"])),
        st.builds(
            Wipe, part, part, shares, st.sampled_from(PATTERNS), st.just(Modifiers()),
            st.sampled_from([Edge(soft=9.0), Edge(2.0, 8.0, 0.0, (1.0, 0.5, 0.0))]),
            border=st.none() | part, light=st.sampled_from(["video", "linear"]),
        ),
        st.builds(Effect, part, st.just(()) | laid, fade=st.none() | st.just(FADE)),
        st.builds(lambda base, over: Effect(Lit(base), over, "linear"), part, laid),
    )  # fmt: skip


def passes(depth=3):
    found = st.sampled_from(LEAVES[:3])
    for _ in range(depth):
        found = st.one_of(st.sampled_from(LEAVES[:3]), _nearly(found))
    return _nearly(found)


@given(passes())
def test_what_is_nearly_one_pass_is_the_plain_evaluation(node):
    """Within a code of 8 bits."""
    fused = picture(node, Evaluator()).planes.astype(int)
    plain = picture(node, Evaluator(), fuse=False).planes
    assert np.abs(fused - plain).max() <= 1


@pytest.mark.parametrize("opaque", [True, False])
def test_what_an_effect_does_is_not_passed_over(opaque):
    """A fade, and black under what is clear, of an effect around one that runs as one pass."""
    inner = Mix(LEAVES[0], LEAVES[1], 0.3)
    around = Effect(inner, fade=FADE) if opaque else Effect(Clear(COLUMNS, ROWS), flat=True)
    nodes = [
        around,
        Mix(around, LEAVES[2], 0.5),
        Effect(inner, (Layer(Key(C, SETTINGS)),), fade=FADE),
    ]
    for node in nodes:
        plain = picture(node, Evaluator(), fuse=False).planes
        assert np.abs(picture(node, Evaluator()).planes.astype(int) - plain).max() <= 1


def test_passes_within_each_other_do_not_add_their_roundings_up():
    """Each rounds by half a code at most; six of them, handed on almost whole, make up to three."""
    node = LEAVES[0]
    for index in range(6):
        node = Mix(LEAVES[1 + index % 2], node, 0.97)
    plain = picture(node, Evaluator(), fuse=False).planes
    assert np.abs(picture(node, Evaluator()).planes.astype(int) - plain).max() <= 1


@given(graphs(2))
def test_in_one_pass_it_is_the_plain_evaluation(node):
    """Within a code of 8 bits."""
    fused = picture(node, Evaluator()).planes.astype(int)
    plain = picture(node, Evaluator(), fuse=False).planes
    assert np.abs(fused - plain).max() <= 1


@pytest.mark.parametrize(
    "node",
    [
        LEAVES[0],
        Mix(LEAVES[0], LEAVES[1], 0.3),
        Wipe(LEAVES[0], LEAVES[1], 0.4, PATTERNS[1], Modifiers(), Edge(3.0, 5.0)),
        Effect(LEAVES[0], (Layer(Key(LEAVES[2], SETTINGS)),)),
        Effect(LEAVES[0], (Layer(Opacity(Key(LEAVES[2], SETTINGS), 0.4)),)),
        Effect(Effect(LEAVES[0]), (Layer(Key(LEAVES[2], SETTINGS)),)),
        Effect(
            Wipe(LEAVES[0], LEAVES[1], 0.4, PATTERNS[1], Modifiers(), Edge(3.0)),
            (Layer(Key(LEAVES[2], SETTINGS)),),
        ),
        Mix(Mix(LEAVES[0], LEAVES[1], 0.3), Mix(LEAVES[2], LEAVES[0], 0.6), 0.4),
    ],
    ids=[
        "copy",
        "mix",
        "wipe",
        "key",
        "faint key",
        "key over an effect",
        "key over a wipe",
        "mix of mixes",
    ],
)
def test_what_is_asked_for_most_runs_as_one_pass(node, monkeypatch):
    expected = picture(node, Evaluator(), fuse=False).planes
    monkeypatch.setattr("keyer.render.evaluate.Ready.bands", None)
    for rows in (7, 64):
        found = picture(node, Evaluator(), rows=rows).planes
        assert np.abs(found.astype(int) - expected).max() <= 1


@given(graphs(3))
def test_what_is_not_opaque_for_certain_has_an_alpha_and_what_is_has_none(node):
    ready = Evaluator().prepare(node)
    whole = ready.whole(node)
    assert (whole.alpha is None) == node.opaque
    if whole.alpha is not None:
        assert whole.alpha.min() >= -1e-6
        assert whole.alpha.max() <= 1 + 1e-6


@given(graphs(3), st.integers(0, ROWS - 1), st.integers(1, ROWS))
def test_beyond_the_columns_on_which_it_is_seen_it_is_clear(node, top, rows):
    ready, bottom = Evaluator().prepare(node), min(top + rows, ROWS)
    left, right = node.seen(top, bottom, ready, 0.0)
    found = ready.drawn(node, Box(0, top, COLUMNS, bottom))
    if found.alpha is None:
        assert (left, right) == (0, COLUMNS)
    else:
        assert not found.alpha[:, :left].any()
        assert not found.alpha[:, right:].any() or left == right == 0
        assert left < right or not found.alpha.any()


@pytest.mark.parametrize(
    "node", [Effect(Clear(COLUMNS, ROWS), (Layer(LEAVES[8]),), fade=((0.0, 0.0, 0.0), 0.5)),
             Effect(Clear(COLUMNS, ROWS), (Layer(LEAVES[8]),), flat=True)], ids=["fade", "flat"]
)  # fmt: skip
def test_what_covers_all_of_a_picture_is_seen_on_all_columns(node):
    assert node.seen(0, ROWS, Evaluator().prepare(node), 0.0) == (0, COLUMNS)


@given(graphs(2), graphs(2))
def test_equal_signatures_are_equal_pictures(one, other):
    pictures = [picture(node, Evaluator(), np.float32).planes for node in (one, other)]
    if one.signature == other.signature:
        np.testing.assert_array_equal(*pictures)
    if not np.array_equal(*pictures):
        assert one.signature != other.signature


# --- signatures

PLATE = Plate(C, None, GREEN, 0.01, 225.0, 100.0)
EVERY = [
    Source(("a", 1), 8, 8, lambda: PICTURES[0], opaque=True),
    Lettering(("a", 1), 8, 8, _title),
    Colour((0.1, 0.2, 0.3), 8, 8),
    Clear(8, 8),
    Mix(A, B, 0.5),
    Wipe(A, B, 0.5, PATTERNS[0], Modifiers(), Edge(), border=C),
    Move(A, B, 0.5, "push", "left"),
    Opacity(A, 0.5),
    Lit(A),
    Corrected(A, Correction(gamma=1.2)),
    Effect(A, (Layer(B, "overlays[0]"),)),
    Key(C, SETTINGS),
    Level(A, B),
    PLATE,
    Fine(PLATE, PLATE),
    MASKS,
    Finished(Key(C, SETTINGS), C, MASKS, None, Finish(), SETTINGS),
    Shadow(Key(C, SETTINGS), C, None, None, Shade(50.0), GREEN, 0.01),
    Placed(A, Placement(40.0)),
    Fitted(A, 9, 9, Fraction(1)),
]
OTHERS = {
    "look": [BoxLook(1.0), BoxLook(corners=2.0), BoxLook(shadow=9.0)],
    "correction": [Correction(gamma=1.3), Correction(balance=(99.0, 100.0, 100.0))],
    "keep": [(50.0, 0.0)],
    "how": ["fill"],
    "fade": [((1.0, 0.0, 0.0), 0.5), ((0.0, 0.0, 0.0), 0.4)],
    "kind": ["non-additive", "slide"],
    "light": ["linear"],
    "side": ["top"],
    "matrix": ["bt601"],
    "channel": ["alpha"],
    "settings": [replace(SETTINGS, gain=2.0), replace(SETTINGS, backing=(0.0, 0.7, 0.15))],
    "edge": [Edge(soft=1.0), Edge(border=1.0), Edge(border_ramp=(0.0, 0.0, 0.0))],
    "modifiers": [Modifiers(reverse=True), Modifiers(modulation=Modulation(seed=2))],
    "pattern": [PATTERNS[1], replace(PATTERNS[0], params={"x": 1})],
    "placement": [Placement(41.0), Placement(40.0, up_down=True)],
    "finish": [Finish(grow=1.0), Finish(feather=1.0)],
    "shade": [Shade(51.0), Shade(50.0, 1.0)],
    "shapes": [(), (Rectangle(1, 2, 9, 8),)],
    "pictures": [(), ((B, "bt709"),), ((A, "bt601"),)],
    "layers": [(), (Layer(C),), (Layer(B), Layer(B))],
    "name": [("a", 2), ("b", 1)],
    "plate": [replace(PLATE, noise=0.02)],
    "first": [replace(PLATE, of=A), LEAVES[6]],
    "garbage": [Masks(COLUMNS, ROWS, (Rectangle(0, 0, 1, 1),))],
    "hold": [Masks(COLUMNS, ROWS, (Rectangle(0, 0, 1, 1),))],
}


def others(node, name):
    """Other values of a field."""
    value = getattr(node, name)
    if name in OTHERS:
        kind = Node if isinstance(value, Node) else object if value is None else type(value)
        return [one for one in OTHERS[name] if isinstance(one, kind)]
    if isinstance(value, Node) or (value is None and name in {"border", "clean"}):
        return [Colour((0.9, 0.9, 0.9), COLUMNS, ROWS)]
    if isinstance(value, bool):
        return [not value]
    if isinstance(value, tuple):
        return [(*value[:-1], value[-1] / 2)]
    return [value + 1 if isinstance(value, int) else value + 2**-20]


@pytest.mark.parametrize("node", EVERY, ids=lambda node: type(node).__name__)
def test_every_field_is_in_the_signature(node):
    """But what brings a picture, which its name stands for."""
    assert replace(node).signature == node.signature
    assert node.signature != EVERY[EVERY.index(node) - 1].signature
    for part in fields(node):
        found = others(node, part.name) if part.compare else []
        assert found or not part.compare, part.name
        for value in found:
            assert replace(node, **{part.name: value}).signature != node.signature, part.name


def test_nothing_is_left_out_of_signatures_but_what_a_name_stands_for():
    apart = {
        (type(node).__name__, part.name)
        for node in EVERY
        for part in fields(node)
        if not part.compare
    }
    assert apart == {("Source", "fetch"), ("Lettering", "fetch")}


def test_the_order_of_layers_and_the_kind_of_a_node_are_in_the_signature():
    one, other = (Effect(A, layers) for layers in ((Layer(B), Layer(C)), (Layer(C), Layer(B))))
    assert one.signature != other.signature

    @dataclass(frozen=True, eq=False)
    class Twin(Node):
        width: int
        height: int

    assert Twin(8, 8).signature != Clear(8, 8).signature


def test_all_of_an_array_is_in_the_signature_and_its_shape_and_type():
    @dataclass(frozen=True, eq=False)
    class Held(Node):
        values: object

    zeros = np.zeros((6, 8), np.float32)
    last = zeros.copy()
    last[-1, -1] = 2**-20
    arrays = [zeros, last, zeros.reshape(8, 6), zeros.view(np.int32)]
    assert len({Held(one).signature for one in arrays}) == len(arrays)


def test_every_kind_of_node_is_tried():
    def kinds(kind):
        return {kind} | {one for sub in kind.__subclasses__() for one in kinds(sub)}

    named = {one for one in kinds(Node) if one.__module__.startswith("keyer")}
    assert {one for one in named if "rows" in vars(one) or "prepare" in vars(one)} - {
        type(node) for node in EVERY
    } == {Node, WholeNode}


def test_a_layers_path_is_who_it_is_and_not_what_it_shows():
    one, other = (Effect(A, (Layer(B, path),)) for path in ("overlays[0]", "overlays[7]"))
    assert one.signature == other.signature
    assert [layer.path for layer in one.below("overlays[0]").layers] == []
    assert one.without({"overlays[0]"}).layers == ()
    assert one.only({"overlays[0]"}).layers == one.layers
    assert flat(one) is one
