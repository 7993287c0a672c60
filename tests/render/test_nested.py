"""Effects as sources: a sheet's own, within each other, and other sheets."""

import numpy as np
import pytest
from PIL import Image
from render.spots import CARD, make_media
from support import TWIN

import keyer
from keyer.errors import SheetError
from keyer.render.plan import Plan
from keyer.render.recipe import source_files
from keyer.render.sinks.pictures import picture
from keyer.render.still import render_still
from keyer.sheet.load import build_sheet, load_sheet

WIDTH, HEIGHT = 96, 54
GREEN, JACKET = (20, 180, 40), (160, 60, 50)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A plate with a jacket, an old picture, a new one, a design; and other sheets."""
    path = tmp_path_factory.mktemp("nested")
    plate = np.empty((HEIGHT, WIDTH, 3), np.uint8)
    plate[:] = GREEN
    plate[10:, 30:60] = JACKET
    Image.fromarray(plate).save(path / "plate.png")
    for seed, name in enumerate(("old", "new", "third")):
        codes = np.random.default_rng(seed).integers(0, 256, (HEIGHT, WIDTH, 3), dtype=np.uint8)
        Image.fromarray(codes).save(path / f"{name}.png")
    make_media(path)
    (path / "inner.toml").write_text(
        'version = 1\n[variables]\ntint = "#FF0000"\n'
        '[sheet]\nformat = "48x54@50"\nlength = 8\n'
        '[sources.a]\ncolour = "${tint}"\n[sources.b]\ncolour = "#0000FF"\n'
        "[sources.nothing]\nclear = true\n"
        '[[cues]]\nsource = "a"\n[[cues]]\nsource = "b"\nat = 4\n'
        '[[cues]]\nsource = "nothing"\nat = 6\n'
    )
    return path


FILES = {name: {"file": f"{name}.png"} for name in ("plate", "old", "new", "third")}
KEY = {"kind": "chroma", "hue": "green"}
KEYED = {"cues": [{"source": "new"}], "overlays": [{"source": "plate", "key": KEY}]}
MIX = {"kind": "mix", "length": 9}


def sheet_of(folder, cues, effects=None, sources=None, overlays=(), length=20, **sheet):
    return build_sheet(
        {
            "version": 1,
            "sheet": {"format": f"{WIDTH}x{HEIGHT}@25", "length": length, **sheet},
            "sources": {**FILES, "card": {"title": CARD}, **(sources or {})},
            "effects": effects or {},
            "cues": cues,
            "overlays": list(overlays),
        },
        folder=folder,
    )


def frame(sheet, number, **how):
    with Plan(sheet) as plan:
        return picture(plan.frame(number), plan.evaluator, np.float32, **how)


def test_in_the_middle_of_a_dissolve_the_jacket_is_half_old_and_half_jacket(folder):
    """By arithmetic: nothing of the new background shows through what is solid."""
    keyed = {"presenter": {"effect": "keyed"}}
    cues = [{"source": "old"}, {"source": "presenter", "at": 5, "transition": MIX}]
    sheet = sheet_of(folder, cues, {"keyed": KEYED}, keyed)
    found = frame(sheet, 9).planes  # the fifth of nine mixed frames
    old = np.asarray(Image.open(folder / "old.png")).transpose(2, 0, 1) / 255
    inside = np.s_[:, 20:50, 35:55]
    jacket = np.array(JACKET)[:, None, None] / 255
    np.testing.assert_allclose(found[inside], (0.5 * old + 0.5 * jacket)[inside], atol=0.01)
    new = np.asarray(Image.open(folder / "new.png")).transpose(2, 0, 1) / 255
    clear = np.s_[:, 12:50, 2:25]
    np.testing.assert_allclose(found[clear], (0.5 * old + 0.5 * new)[clear], atol=0.01)


def test_three_deep_is_what_it_is_made_of(folder):
    """A key, in a mix, under a wipe: the pictures made one after the other, and put together."""
    effects = {
        "one": KEYED,
        "two": {"cues": [{"source": "old"}, {"source": "s1", "at": 0, "transition": MIX}]},
        "three": {"cues": [{"source": "s2"}], "overlays": [{"source": "card"}]},
    }
    effects["two"]["cues"][1]["at"] = 1
    sources = {f"s{n}": {"effect": name} for n, name in enumerate(effects, 1)}
    wipe = {"kind": "wipe", "pattern": "ellipseWipe/circle", "soft": 6, "length": 9}
    deep = sheet_of(
        folder,
        [{"source": "third"}, {"source": "s3", "at": 3, "transition": wipe}],
        effects,
        sources,
    )
    keyed = frame(sheet_of(folder, **KEYED), 0).planes
    old = np.asarray(Image.open(folder / "old.png")).transpose(2, 0, 1) / 255
    mixed = 0.5 * old + 0.5 * keyed  # by hand: frame 7 of the sheet is frame 4 of the effects
    share = (7 - 3 - 1 + 1) / 10
    mixed = (1 - share) * old + share * keyed
    titled = frame(
        sheet_of(folder, [{"source": "x"}], None, {"x": {"clear": True}}, [{"source": "card"}]),
        4,
        alpha=True,
    )
    lettered = titled.alpha * titled.planes + (1 - titled.alpha) * mixed
    third = np.asarray(Image.open(folder / "third.png")).astype(np.float32) / 255
    expected = keyer.wipe(
        third,
        np.ascontiguousarray(lettered.transpose(1, 2, 0), np.float32),
        0.5,
        "ellipseWipe/circle",
        soft=6,
    )
    found = frame(deep, 7).planes.transpose(1, 2, 0)
    np.testing.assert_allclose(found, expected, atol=1e-4)


def test_a_wipe_between_two_effects_each_with_a_key_and_a_title(folder):
    effects = {
        "a": {**KEYED, "overlays": [*KEYED["overlays"], {"source": "card"}]},
        "b": {"cues": [{"source": "third"}], "overlays": [*KEYED["overlays"], {"source": "card"}]},
    }
    sources = {"sa": {"effect": "a"}, "sb": {"effect": "b"}}
    wipe = {"kind": "wipe", "pattern": "barWipe/leftToRight", "border": 4, "length": 9}
    cues = [{"source": "sa"}, {"source": "sb", "at": 3, "transition": wipe}]
    found = frame(sheet_of(folder, cues, effects, sources), 7).planes.transpose(1, 2, 0)
    alone = [
        np.ascontiguousarray(
            frame(sheet_of(folder, [{"source": name}], effects, sources), 0).planes.transpose(
                1, 2, 0
            )
        )
        for name in sources
    ]
    expected = keyer.wipe(*alone, 0.5, "barWipe/leftToRight", border=4)
    np.testing.assert_allclose(found, expected, atol=1e-5)


def test_another_sheet_is_taken_as_a_clip_of_it_would_be(folder):
    """50 frames a second in 25: every other one; 48 columns scaled to fill 96; held at the end."""
    sources = {"in": {"sheet": "inner.toml", "fit": "fill", "freeze": True}}
    sheet = sheet_of(folder, [{"source": "in"}], None, sources)
    colours = [frame(sheet, number).planes[:, 20, 40].tolist() for number in range(5)]
    red, blue, black = [1, 0, 0], [0, 0, 1], [0, 0, 0]
    np.testing.assert_allclose(colours, [red, red, blue, black, black], atol=TWIN)
    with_green = {"in": {**sources["in"], "variables": {"tint": "#00FF00"}}}
    sheet = sheet_of(folder, [{"source": "in"}], None, with_green)
    np.testing.assert_allclose(frame(sheet, 0).planes[:, 20, 40], [0, 1, 0], atol=TWIN)
    assert {"inner.toml"} <= set(source_files(sheet))
    assert folder / "inner.toml" in sheet.documents


def test_what_is_clear_within_stays_clear(folder):
    sources = {"in": {"sheet": "inner.toml", "fit": "fill", "in": 6}}
    over = sheet_of(folder, [{"source": "old"}], None, sources, [{"source": "in"}])
    old = np.asarray(Image.open(folder / "old.png")).transpose(2, 0, 1) / 255
    np.testing.assert_allclose(frame(over, 0).planes, old, atol=TWIN)
    base = sheet_of(folder, [{"source": "in"}], None, sources)
    assert not frame(base, 0, alpha=True).alpha.any()


def test_an_effect_runs_by_itself_and_loops(folder):
    """Three frames of mix out of five, looped: frame 6 is frame 1."""
    effects = {
        "pulse": {
            "length": 5,
            "cues": [
                {"source": "old"},
                {"source": "new", "at": 1, "transition": {"kind": "mix", "length": 3}},
            ],
        }
    }
    looped = sheet_of(folder, [{"source": "p"}], effects, {"p": {"effect": "pulse", "loop": True}})
    with Plan(looped) as plan:
        assert plan.notices == []
        signatures = [plan.frame(number).signature for number in range(8)]
    assert signatures[6] == signatures[1]
    assert len(set(signatures[:5])) == 5
    once = sheet_of(folder, [{"source": "p"}], effects, {"p": {"effect": "pulse"}})
    with Plan(once) as plan:
        assert "p ends 15 frames before it goes off air" in plan.notices[0]


def test_layers_within_know_where_they_stand(folder):
    sheet = sheet_of(folder, [{"source": "k"}], {"keyed": KEYED}, {"k": {"effect": "keyed"}})
    with Plan(sheet) as plan:
        inner = plan.frame(0).base
        assert [layer.path for layer in inner.layers] == ["effects.keyed.overlays[0]"]


def test_loops_are_refused_with_the_chain(folder, tmp_path):
    effects = {
        "a": {"cues": [{"source": "sb"}]},
        "b": {"cues": [{"source": "old"}], "overlays": [{"source": "sa"}]},
    }
    with pytest.raises(SheetError, match="is within itself: a > b > a"):
        sheet_of(
            folder, [{"source": "sa"}], effects, {"sa": {"effect": "a"}, "sb": {"effect": "b"}}
        )
    for name, other in (("one", "two"), ("two", "one")):
        (tmp_path / f"{name}.toml").write_text(
            f'version = 1\n[sheet]\nformat = "48x54@25"\nlength = 8\n'
            f'[sources.x]\nsheet = "{other}.toml"\n[[cues]]\nsource = "x"\n'
        )
    with pytest.raises(SheetError, match=r"one\.toml > two\.toml > one\.toml"):
        load_sheet(tmp_path / "one.toml")


def test_faults_within_say_where_they_stand(folder):
    wrong = {"kind": "wipe", "pattern": "clokWipe", "length": 3}
    effects = {"e": {"cues": [{"source": "old"}, {"source": "new", "at": 2, "transition": wrong}]}}
    sheet = sheet_of(folder, [{"source": "s"}], effects, {"s": {"effect": "e"}})
    with pytest.raises(SheetError) as caught:
        Plan(sheet)
    assert "effects.e.cues[1].transition.pattern" in str(caught.value)
    assert len(caught.value.faults) == 1
    with pytest.raises(SheetError, match="no effect is called 'x'"):
        sheet_of(folder, [{"source": "s"}], {}, {"s": {"effect": "x"}})
    late = {"e": {"length": 3, "cues": [{"source": "old"}, {"source": "new", "at": 5}]}}
    with pytest.raises(SheetError, match=r"effects\.e\.cues\[1\]\.at.*the end of the effect"):
        sheet_of(folder, [{"source": "s"}], late, {"s": {"effect": "e"}})


def test_what_is_changed_within_changes_the_digest_and_the_rest_does_not(folder):
    sources = {"k": {"effect": "keyed"}}
    plain = sheet_of(folder, [{"source": "old"}])
    with_it = sheet_of(folder, [{"source": "k"}], {"keyed": KEYED}, sources)
    other = {**KEYED, "cues": [{"source": "old"}]}
    changed = sheet_of(folder, [{"source": "k"}], {"keyed": other}, sources)
    assert len({plain.digest, with_it.digest, changed.digest}) == 3


def test_a_still_of_an_effect_is_that_of_its_sheet(folder):
    direct = sheet_of(folder, **KEYED)
    within = sheet_of(folder, [{"source": "k"}], {"keyed": KEYED}, {"k": {"effect": "keyed"}})
    off = render_still(direct).astype(int) - render_still(within)
    assert np.abs(off).max() <= 1


def test_a_border_runs_over_what_is_clear_within_an_effect():
    """A small box is wiped in from nothing: the white border is as long as the picture is high."""
    sheet = build_sheet(
        {
            "version": 1,
            "sheet": {"format": "320x180@25", "length": 10},
            "sources": {
                "ground": {"colour": "#0000FF"},
                "nothing": {"clear": True},
                "red": {"colour": "#FF0000"},
                "comes": {"effect": "comes"},
            },
            "effects": {
                "comes": {
                    "cues": [
                        {"source": "nothing"},
                        {
                            "source": "red",
                            "at": 2,
                            "placement": {"scale": 20},
                            "transition": {
                                "kind": "wipe",
                                "length": 4,
                                "pattern": "barWipe/leftToRight",
                                "border": 12.0,
                            },
                        },
                    ]
                }
            },
            "cues": [{"source": "ground"}],
            "overlays": [{"source": "comes"}],
        }
    )
    with Plan(sheet) as plan:
        found = plan.picture(2).planes
    white = (found == 255).all(axis=0)
    assert (white.sum(axis=1) >= 20).all()  # by hand: 12 % of 180 rows are 21.6 pixels
    assert (white == white[:1]).all()
