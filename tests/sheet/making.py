"""Sheets for tests: one that is right, and a strategy for any that are."""

from pathlib import Path
from typing import Any

from hypothesis import settings
from hypothesis import strategies as st

from keyer.kinds.timing import RATES, timecode

SPOT = """\
version = 1

[sheet]
title = "Row before breakfast"
format = "1080p25"
length = "10s"

[sources.lake]
file = "media/lake.png"
[sources.jetty]
file = "media/jetty.mp4" # two takes
in = "00:00:02:00"
[sources.rower]
file = "media/rower.png"

[transitions.house]
kind = "wipe"
pattern = "clockWipe/clockwiseTwelve"
soft = 3

[[cues]]
source = "lake"
transition = { kind = "fade", length = 25 }

[[cues]] # after the oars
source = "jetty"
at = "4s"
transition = { use = "house", length = "1s", border = 1, border_colour = "#F00" }

[[cues]]
at = "9s"
transition = { kind = "fade", length = "1s" }

[[overlays]]
source = "rower"
in = "2s"
out = "8s"
key = { kind = "chroma", hue = "green" }
transition_in = { kind = "mix", length = 10 }

[overlays.placement]
scale = 80
keyframes = [
    { at = 0, position = [30, 50] },
    { at = "2s", position = [70, 50] },
]
"""


def line_of(text: str, mark: str) -> int:
    """Line of the only one that holds a mark."""
    lines = [number for number, line in enumerate(text.splitlines(), 1) if mark in line]
    assert len(lines) == 1, (mark, lines)
    return lines[0]


SHEET_PAGES = ("sheet.md", "transitions.md", "sources.md", "overlays.md", "effects.md", "sound.md")
"""The pages about the effect sheet, its first page first."""


def docs() -> list[str]:
    """All whole sheets on the pages about the sheet."""
    folder = Path(__file__).parents[2] / "docs"
    pages = [(folder / page).read_text(encoding="utf-8") for page in SHEET_PAGES]
    parts = [part for page in pages for part in page.split("```toml\n")[1:]]
    return [part.partition("```")[0] for part in parts if part.startswith("version")]


BESIDE = Path(__file__).parent / "beside"
"""Folder of the other sheets that those name."""

FEWER = settings(max_examples=20)
"""For what needs many keys of each sheet rather than many sheets."""

names = st.text("abcdefgh -.äß\"'#]\\", min_size=1, max_size=6)
words = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=12).map(
    lambda text: text.replace("${", "{")
)
colours = st.from_regex(r"#([0-9a-fA-F]{3}){1,2}", fullmatch=True)
percents = st.floats(0, 100, width=32)


def some(draw: Any, keys: dict[str, st.SearchStrategy[Any]]) -> dict[str, Any]:
    """Draw values for some of the keys."""
    return {key: draw(value) for key, value in keys.items() if draw(st.booleans())}


@st.composite
def times(draw: Any, frame: int, rate: Any) -> Any:
    """One of the ways to write a frame."""
    return draw(st.sampled_from([frame, f"{frame}", f"{frame}f", timecode(frame, rate)]))


@st.composite
def transitions(draw: Any, longest: int, rate: Any, kinds: tuple[str, ...]) -> dict[str, Any]:
    """A transition that fits."""
    kind = draw(st.sampled_from(kinds)) if longest else "cut"
    if kind == "cut":
        return {"kind": "cut"}
    found = {"kind": kind, "length": draw(times(draw(st.integers(1, longest)), rate))}
    curves = st.sampled_from(["linear", "ease-in", "ease-out", "ease"])
    found |= some(draw, {"curve": curves})
    if kind == "fade":
        found |= some(draw, {"colour": colours})
    if kind == "wipe":
        found["pattern"] = draw(st.sampled_from(["barWipe", "clockWipe/clockwiseTwelve", 1, 201]))
        wave = {
            "wave": st.sampled_from(["sine", "triangle", "square", "saw", "noise"]),
            "amplitude": st.floats(0, 50),
            "seed": st.integers(0, 99),
        }
        found |= some(
            draw,
            {
                "soft": percents,
                "border": percents,
                "border_soft": percents,
                "border_colour": colours,
                "border_ramp": colours,
                "reverse": st.booleans(),
                "position": st.lists(st.floats(-50, 150), min_size=2, max_size=2),
                "aspect": st.floats(0.1, 10),
                "rotate": st.floats(-360, 360),
                "repeat": st.lists(st.integers(1, 32), min_size=2, max_size=2),
                "mirror": st.booleans(),
                "modulate": st.fixed_dictionaries({}, optional=wave),
                "start_progress": st.floats(0, 0.5),
                "end_progress": st.floats(0.5, 1),
            },
        )
    return found


@st.composite
def sources(draw: Any, length: int, rate: Any) -> dict[str, Any]:
    """Any source."""
    pair = st.fixed_dictionaries({"first": colours, "second": colours})
    kinds: dict[str, st.SearchStrategy[Any]] = {
        "file": st.sampled_from(["a.png", "clips/b.mp4", "ä #.png"]),
        "colour": colours,
        "gradient": pair,
        "bars": st.sampled_from([75, 100]),
        "title": st.fixed_dictionaries(
            {"design": st.just("titles/name.toml")},
            optional={"fields": st.dictionaries(st.sampled_from(["name", "role"]), words)},
        ),
        "background": st.fixed_dictionaries(
            {"look": st.sampled_from(["dawn-haze", "Copper-Silk"])},
            optional={
                "colours": st.lists(colours, min_size=2, max_size=8),
                "soft": percents,
                "drift": st.integers(-20, 20),
                "seed": st.integers(0, 1_000_000),
                "loop": times(draw(st.integers(2, 500)), rate),
            },
        ),
        "ramp": st.just(value=True),
        "checkerboard": pair,
    }
    kind = draw(st.sampled_from(list(kinds)))
    found = {kind: draw(kinds[kind])}
    found |= some(draw, {"fit": st.sampled_from(["cover", "contain", "fill", "none"])})
    if kind == "file":
        first = draw(st.integers(0, 100))
        found |= some(
            draw,
            {
                "in": times(first, rate),
                "out": times(first + 1, rate),
                "at": times(draw(st.integers(0, length)), rate),
                "speed": st.floats(0.01, 100),
                draw(st.sampled_from(["loop", "freeze"])): st.booleans(),
            },
        )
    return found


def masks(known: list[str]) -> st.SearchStrategy[dict[str, Any]]:
    """Any mask."""
    far, size = st.floats(-1000, 1000), st.floats(0, 1000)
    box = st.tuples(far, far, size, size).map(list)
    corners = st.lists(st.tuples(far, far).map(list), min_size=3, max_size=5)
    soft = {"soft": st.floats(0, 100)}
    return st.one_of(
        st.fixed_dictionaries({"rectangle": box}, optional=soft),
        st.fixed_dictionaries({"ellipse": box}, optional=soft),
        st.fixed_dictionaries({"polygon": corners}, optional=soft),
        st.fixed_dictionaries({"source": st.sampled_from(known)}),
    )


@st.composite
def keys(draw: Any, known: list[str]) -> dict[str, Any]:
    """Any key."""
    kind = draw(st.sampled_from(["chroma", "luminance", "linear"]))
    common: dict[str, st.SearchStrategy[Any]] = {
        "clip": st.floats(0, 95),
        "gain": st.floats(0.1, 50),
    }
    common |= {
        "garbage": st.lists(masks(known), max_size=2),
        "hold": st.lists(masks(known), max_size=2),
        "fill_holes": st.floats(0, 1e8),
        "drop_specks": st.floats(0, 1e8),
        "grow": st.floats(-256, 256),
        "feather": st.floats(0, 512),
    }
    other = {"source": st.sampled_from(known), "invert": st.booleans()}
    own: dict[str, dict[str, st.SearchStrategy[Any]]] = {
        "chroma": {
            "hue": st.sampled_from(["auto", "green", "blue"]) | st.floats(-360, 360),
            "acceptance": st.floats(10, 180),
            "spill": percents,
            "quality": st.sampled_from(["fast", "fine"]),
            "sample": st.just([10.0, 20.0, 30.0, 40.0]),
            "shadow": st.floats(0, 200),
            "shadow_soft": st.floats(0, 50),
        },
        "luminance": other,
        "linear": {**other, "channel": st.sampled_from(["luma", "alpha"])},
    }
    made = {"kind": kind, **some(draw, common | own[kind])}
    if made.get("quality") == "fine":
        made.pop("acceptance", None)
        if "gain" in made:
            made["gain"] = max(made["gain"], 1.0)
    return made


@st.composite
def overlays(draw: Any, known: list[str], length: int, rate: Any) -> dict[str, Any]:
    """Any overlay."""
    start = draw(st.integers(0, length - 1))
    stop = draw(st.integers(start + 1, length))
    half = (stop - start) // 2
    found: dict[str, Any] = {
        "source": draw(st.sampled_from(known)),
        "in": draw(times(start, rate)),
        "out": draw(times(stop, rate)),
    }
    moves = transitions(half, rate, ("cut", "mix", "wipe"))
    position = st.lists(st.floats(-1000, 1000), min_size=2, max_size=2)
    frames = sorted(draw(st.sets(st.integers(0, stop - start), max_size=3)))
    pose = {"position": position, "scale": st.floats(0, 1000), "opacity": st.floats(0, 1)}
    placement = {
        "position": position,
        "scale": st.floats(0, 1000),
        "crop": st.lists(st.floats(0, 49), min_size=4, max_size=4),
        "flip": st.sampled_from(["none", "left-right", "up-down", "both"]),
        "keyframes": st.just([{"at": at, **some(draw, pose)} for at in frames]),
    }
    return found | some(
        draw,
        {
            "key": keys(known),
            "transition_in": moves,
            "transition_out": moves,
            "placement": st.fixed_dictionaries({}, optional=placement),
            "opacity": st.floats(0, 1),
            "name": words,
            "note": words,
        },
    )


@st.composite
def documents(draw: Any) -> dict[str, Any]:
    """Plain data of any sheet that holds."""
    form, rate = draw(
        st.sampled_from(
            [
                ("1080p25", RATES["25"]),
                ("480p29.97-4:3", RATES["29.97"]),
                ("64x48@59.94", RATES["59.94"]),
                ("720p23.976", RATES["23.976"]),
            ]
        )
    )
    length = draw(st.integers(1, 4000))
    known = draw(st.lists(names, min_size=1, max_size=4, unique=True))
    starts = sorted({0, *draw(st.sets(st.integers(0, length - 1), max_size=4))})
    cues = []
    for index, (at, end) in enumerate(zip(starts, [*starts[1:], length], strict=True)):
        cue = {"at": draw(times(at, rate)), **some(draw, {"name": words, "note": words})}
        kinds = ("cut", "fade")
        if index:
            kinds = ("cut", "mix", "additive", "non-additive", "fade", "wipe")
        cue["source"] = draw(st.sampled_from(known))
        cue |= some(draw, {"transition": transitions(end - at, rate, kinds)})
        if cue.get("transition", {}).get("border") and draw(st.booleans()):
            cue["transition"]["border_source"] = draw(st.sampled_from(known))
        if index and cue.get("transition", {}).get("kind") == "fade" and draw(st.booleans()):
            del cue["source"]
        cues.append(cue)
    return {
        "version": 1,
        "sheet": {
            "format": form,
            "length": draw(times(length, rate)),
            **some(
                draw,
                {
                    "title": words,
                    "note": words,
                    "light": st.sampled_from(["video", "linear"]),
                    "patterns": st.sampled_from(["house", ["house", "../ä"]]),
                    "start": times(draw(st.integers(0, 10**6)), rate),
                },
            ),
        },
        "sources": {name: draw(sources(length, rate)) for name in known},
        "cues": cues,
        "overlays": draw(st.lists(overlays(known, length, rate), max_size=2)),
    }
