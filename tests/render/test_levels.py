"""Effects and other sheets while they are on air: which frame is due when."""

import pytest

from keyer.pixel.compose.place import Placement
from keyer.render.effect import Effect
from keyer.render.graph import Layer
from keyer.render.leaves import Clear, Colour
from keyer.render.levels import MOST_LEVELS, levels, swapped
from keyer.render.placing import placed
from keyer.render.plan import Plan
from keyer.sheet.load import parse_sheet

HEAD = """version = 1
[sheet]
format = "32x18@25"
length = 20
[sources]
grey = { colour = "#808080" }
"""
INNER = """version = 1
[sheet]
format = "32x18@50"
length = 12
[sources.grey]
colour = "#808080"
[[cues]]
source = "grey"
"""


def dues(text, folder="."):
    return {level.path: level.due.tolist() for level in levels(parse_sheet(text, folder=folder))}


def test_an_effect_runs_from_when_it_comes_on_air_to_when_it_is_gone():
    text = HEAD + (
        'one = { effect = "one" }\n[effects.one]\ncues = [{ source = "grey" }]\n'
        '[[cues]]\nsource = "grey"\n[[cues]]\nsource = "one"\nat = 5\n'
        'transition = { kind = "mix", length = 4 }\n[[cues]]\nsource = "grey"\nat = 12\n'
        'transition = { kind = "mix", length = 3 }\n'
    )
    (_, level) = levels(parse_sheet(text))
    assert level.due.tolist() == [-1] * 5 + list(range(10)) + [-1] * 5
    assert level.frames(2, 8) == [7, 8, 9, 10, 11, 12, 13]
    assert level.frames(2, 8, whole=True) == [9, 10, 11]  # past its mix, before the next one
    assert level.named(level.sheet.cues[0]) == "effects.one.cues[0] grey"


def test_a_loop_goes_round_and_another_rate_is_kept(tmp_path):
    """By hand: of fifty frames a second every other one is due in 25; frames 2 to 10 are used."""
    (tmp_path / "inner.toml").write_text(INNER)
    text = HEAD + (
        'in = { sheet = "inner.toml", in = 2, out = 10, loop = true }\n'
        '[[cues]]\nsource = "grey"\n[[overlays]]\nsource = "in"\nin = 3\nout = 10\n'
    )
    found = dues(text, tmp_path)["in: "]
    assert found == [-1] * 3 + [2, 4, 6, 8, 2, 4, 6] + [-1] * 10


def test_a_level_within_a_level():
    text = HEAD + (
        'one = { effect = "one" }\ntwo = { effect = "two", in = 4, freeze = true }\n'
        '[effects.one]\ncues = [{ source = "grey" }]\n'
        '[effects.two]\ncues = [{ source = "grey" }, { source = "one", at = 6 }]\n'
        '[[cues]]\nsource = "two"\n'
    )
    found = dues(text)
    assert found["effects.two."] == list(range(4, 20)) + [19] * 4
    assert found["effects.one."] == [-1] * 2 + list(range(14)) + [13] * 4


def test_what_is_never_on_air_is_left_out_and_thousands_are_not_looked_at():
    late = HEAD + (
        'one = { effect = "one" }\ntwo = { effect = "two" }\n'
        '[effects.one]\ncues = [{ source = "grey" }]\n'
        '[effects.two]\ncues = [{ source = "grey" }, { source = "one", at = 6 }]\n'
        '[[cues]]\nsource = "two"\n[[cues]]\nsource = "grey"\nat = 5\n'
    )
    assert list(dues(late)) == ["", "effects.two."]
    names = [f"e{n}" for n in range(5)]
    many = HEAD + "".join(f'{name} = {{ effect = "{name}" }}\n' for name in names)
    for name, inner in zip(names, [*names[1:], "grey"], strict=True):
        rows = "".join(f'[[effects.{name}.overlays]]\nsource = "{inner}"\n' for _ in range(3))
        many += f'[[effects.{name}.cues]]\nsource = "grey"\n{rows}'
    assert len(levels(parse_sheet(many + '[[cues]]\nsource = "e0"\n'))) == MOST_LEVELS


def test_a_picture_is_swapped_wherever_it_is_used_and_nothing_else():
    inner, instead = Effect(Colour((0.2, 0.3, 0.4), 8, 4)), Clear(8, 4)
    around = Effect(Colour((1, 1, 1), 8, 4), (Layer(placed(inner, Placement(30)), "overlays[0]"),))
    found = swapped(around, inner.signature, instead)
    assert found.layers[0].path == "overlays[0]"
    expected = Effect(around.base, (Layer(placed(instead, Placement(30))),))
    assert found.signature == expected.signature
    assert swapped(around, Clear(9, 4).signature, instead) is around


@pytest.mark.parametrize("row", ["cue", "overlay"])
def test_what_lies_behind_is_the_spot_without_it(row):
    """A card in a clear effect over a picture: behind it is that picture, whatever lies above."""
    shown = {
        "cue": '[[cues]]\nsource = "one"\n',
        "overlay": '[[cues]]\nsource = "grey"\n[[overlays]]\nsource = "one"\n',
    }[row]
    text = HEAD + (
        'one = { effect = "one" }\nnothing = { clear = true }\nred = { colour = "#FF0000" }\n'
        '[effects.one]\ncues = [{ source = "nothing" }]\n'
        'overlays = [{ source = "red", placement = { scale = 50 } }, { source = "grey" }]\n'
        f'{shown}[[overlays]]\nsource = "red"\n'
    )
    sheet = parse_sheet(text)
    level = levels(sheet)[1]
    with Plan(sheet) as plan:
        behind = level.behind(plan, 3, "effects.one.overlays[0]")
        planes = plan.colour(behind)
    expected = 0.0 if row == "cue" else 128 / 255
    assert planes[:, 9, 16].tolist() == pytest.approx([expected] * 3, abs=1e-6)
