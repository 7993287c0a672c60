"""Settings of a sheet in the words of a control room: what to dial in, in a few short lines."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

from keyer.errors import KeyerError
from keyer.kinds.field import Modifiers, Pattern
from keyer.kinds.settings import BoxLook, Edge, Rgb
from keyer.library import Patterns
from keyer.sheet.dials import NO_DIALS, Dials, dialled
from keyer.sheet.effect import Key, Keyframe, Transition
from keyer.sheet.sheet import Cue, Overlay
from keyer.sheet.stack import Standing

SHORT_DIGEST = 12
"""Letters of a digest that are printed for people."""

_KINDS = {
    "cut": "Cut",
    "mix": "Mix",
    "additive": "Additive mix",
    "non-additive": "Non-additive mix",
    "fade": "Fade",
    "wipe": "Wipe",
}


def colour_words(rgb: Rgb) -> str:
    """`#RRGGBB` of a colour."""
    return "#" + "".join(f"{min(max(round(255 * part), 0), 255):02X}" for part in rgb)


def frames_words(count: int) -> str:
    """Say a number of frames."""
    return "1 frame" if count == 1 else f"{count} frames"


def cue_name(cue: Cue) -> str:
    """Say what the crew calls a cue; without a name, what it goes to."""
    if cue.name or cue.source:
        return cue.name or str(cue.source)
    return f"to {colour_words(cue.transition.colour)}"


def overlay_name(overlay: Overlay) -> str:
    """Say what the crew calls an overlay; without a name, its source."""
    return overlay.name or overlay.source


def inner_name(path: str) -> str:
    """Say what the crew calls an effect, or another sheet; `path` as `Level.path`.

    `effects.two-up.` is "Effect two-up", `opener: ` "Sheet of opener".
    """
    sheets, _, effect = path.rpartition(": ")
    effect = effect.removeprefix("effects.").removesuffix(".")
    of = " of ".join(reversed(sheets.split(": "))) if sheets else ""
    if not effect:
        return f"Sheet of {of}"
    return f"Effect {effect}" + (f" in sheet of {of}" if of else "")


def found_pattern(transition: Transition, patterns: Patterns) -> Pattern | None:
    """Pattern of a wipe; None for another transition, or if the library has none."""
    if transition.kind != "wipe":
        return None
    try:
        return patterns.find(transition.pattern)
    except KeyerError:
        return None


def faded_colour(transition: Transition, patterns: Patterns) -> str:
    """`#RRGGBB` of the colour that a transition fades to or from; nothing for another one."""
    pattern = found_pattern(transition, patterns)
    fades = pattern is not None and pattern.params.get("kind") in {"to colour", "from colour"}
    if not transition.length or not (fades or transition.kind == "fade"):
        return ""
    return colour_words(transition.colour)


def effect_name(transition: Transition, patterns: Patterns) -> str:
    """Say what a transition does, in a word or two."""
    pattern = found_pattern(transition, patterns)
    if transition.kind == "cut" or not transition.length:
        return "Cut"
    if pattern is None or pattern.effect == "wipe":
        return _KINDS[transition.kind]
    if pattern.effect == "mix":
        part = str(pattern.params["kind"]).partition(" ")[0]
        return "Mix" if part == "mix" else f"Fade {part}"
    return pattern.effect.capitalize()


def transition_words(transition: Transition, patterns: Patterns) -> str:
    """Say kind, length and curve of a transition in one line."""
    words = effect_name(transition, patterns)
    if words == "Cut":
        return words
    if colour := faded_colour(transition, patterns):
        words += f" {colour}" if words != "Fade" else f", {colour}"
    curve = "" if transition.curve == "linear" else f", {transition.curve}"
    held = ""
    if transition.rest is not None:
        at, frames = transition.rest
        held = f", held at {100 * at:g} % for {frames_words(frames)}"
    return f"{words}, {frames_words(transition.length)}{curve}{held}"


def pattern_words(transition: Transition, patterns: Patterns) -> str:
    """Say the pattern of a wipe: SMPTE code, where there is one, and SMIL name."""
    if transition.kind != "wipe":
        return ""
    pattern = found_pattern(transition, patterns)
    if pattern is None:
        return str(transition.pattern)
    code = "" if pattern.code is None else f"SMPTE {pattern.code} "
    return f"{code}{pattern.name}"


@dataclass(frozen=True)
class Setting:
    """A few words to dial in, and the colour that they speak of, if any."""

    text: str
    colour: str = ""


def edge_words(edge: Edge, source: str | None = None, dials: Dials = NO_DIALS) -> list[Setting]:
    """Say softness and border of an edge; `source` fills the border if it is named."""
    said = f"Soft edge {edge.soft:g} %{dialled(dials, 'soft', edge.soft)}"
    soft = Setting(said if edge.soft else "Hard edge")
    if not edge.border:
        return [soft]
    colour = "" if source else colour_words(edge.border_colour)
    said = f"Border {edge.border:g} %{dialled(dials, 'border', edge.border)}"
    said += f" of {source}" if source else f" {colour}"
    if edge.border_ramp and not source:
        said += f" to {colour_words(edge.border_ramp)}"
    if edge.border_soft:
        dial = dialled(dials, "border_soft", edge.border_soft)
        said += f", soft by {edge.border_soft:g} %{dial}"
    border = Setting(said, colour)
    return [soft, border] if edge.soft else [border]


def modifier_words(modifiers: Modifiers) -> list[str]:
    """Say what is done to a pattern; nothing where it runs as it is."""
    return list(_modifiers(modifiers))


def _modifiers(m: Modifiers) -> Iterator[str]:
    if m.reverse:
        yield "Reversed"
    if m.position != (50.0, 50.0):
        yield f"Position {m.position[0]:g} %, {m.position[1]:g} %"
    if m.aspect != 1.0:
        yield f"Aspect {m.aspect:g}"
    if m.rotation:
        yield f"Rotated {m.rotation:g}°"
    if m.repeat != (1, 1):
        mirrored = ", mirrored" if m.mirror else ""
        yield f"Repeat {m.repeat[0]} x {m.repeat[1]}{mirrored}"
    if m.modulation:
        wave = m.modulation
        speed = f", {wave.speed:g} cycles/s" if wave.speed else ""
        yield f"{wave.wave.capitalize()} wave {wave.amplitude:g} % by {wave.wavelength:g} %{speed}"
    if (m.start, m.end) != (0.0, 1.0):
        yield f"Progress {m.start:g} to {m.end:g}"


def wipe_settings(
    transition: Transition, patterns: Patterns, dials: Dials = NO_DIALS
) -> list[Setting]:
    """Say the settings of a wipe's edge and pattern; none for another transition."""
    if transition.kind != "wipe" or not transition.length:
        return []
    pattern = found_pattern(transition, patterns)
    said = list(map(Setting, modifier_words(transition.modifiers)))
    if pattern is not None and pattern.effect != "wipe":
        return said
    return [*edge_words(transition.edge, transition.border_source, dials), *said]


def effect_words(
    transition: Transition, patterns: Patterns, dials: Dials = NO_DIALS
) -> list[Setting]:
    """Say everything that a crew has to set for a transition."""
    if transition.kind == "cut" or not transition.length:
        return [Setting("Cut")]
    said = [Setting(transition_words(transition, patterns), faded_colour(transition, patterns))]
    if transition.kind == "wipe":
        said.append(Setting(pattern_words(transition, patterns)))
    return said + wipe_settings(transition, patterns, dials)


_SETTINGS = {
    "hue_deg": "hue {:g}°",
    "acceptance_deg": "acceptance {:g}°",
    "clip_percent": "clip {:g} %",
    "gain": "gain {:g}",
    "spill_percent": "spill {:g} %",
}
"""How the settings of a chroma key are written: fine enough to make the key again by hand."""


_DIALLED = {"clip_percent": "clip", "gain": "gain"}
"""Settings of a key that a desk may mark in its own way, and what its scale is called."""


def settings_words(used: Mapping[str, float], dials: Dials = NO_DIALS) -> str:
    """Write the settings that make a chroma key.

    Parameters
    ----------
    used : mapping
        As `keyer.render.keys.KeyChoice.used`.
    dials : mapping of str to Dial
        How the station's desk marks them.
    """
    return ", ".join(
        _SETTINGS[name].format(value) + dialled(dials, _DIALLED.get(name, ""), value)
        for name, value in used.items()
    )


def key_words(key: Key, used: Mapping[str, float] | None = None, dials: Dials = NO_DIALS) -> str:
    """Say how an overlay is keyed.

    Parameters
    ----------
    key : Key
    used : mapping, optional
        What was settled for a chroma key, where that is known; else what is asked for is said.
    dials : mapping of str to Dial
        How the station's desk marks clip and gain.
    """
    if key.kind == "chroma":
        words = "Fine chroma key" if key.quality == "fine" else "Chroma key"
        said = _asked(key, dials) if used is None else [settings_words(used, dials)]
        return ", ".join([words, *said, *_by_hand(key)])
    of = f" of {key.source}" if key.source else ""
    words = f"{key.kind.capitalize()} key{of}"
    if key.channel == "alpha" and key.kind == "linear":
        words += ", its alpha"
    for name in _DIALLED:
        value = getattr(key, name)
        words += "" if value is None else f", {settings_words({name: value}, dials)}"
    return ", ".join([words + (", inverted" if key.invert else ""), *_by_hand(key)])


def _asked(key: Key, dials: Dials) -> list[str]:
    """Say what is asked of a chroma key before its picture is seen."""
    hue = key.hue if isinstance(key.hue, str) else f"{key.hue:g}°"
    given = {
        "acceptance_deg": key.acceptance_deg,
        "clip_percent": key.clip_percent,
        "gain": key.gain,
        "spill_percent": None if key.spill_percent == 100 else key.spill_percent,
    }
    set_by_hand = {name: value for name, value in given.items() if value is not None}
    return [f"hue {hue}", *([settings_words(set_by_hand, dials)] if set_by_hand else [])]


def _by_hand(key: Key) -> Iterator[str]:
    """Say what is done to a matte by hand."""
    for name, masks in (("garbage", key.garbage), ("hold-in", key.hold)):
        if masks:
            yield f"{len(masks)} {name} matte{'s' if len(masks) > 1 else ''}"
    finish, shade = key.finish, key.shade
    if finish.fill_holes:
        yield f"holes filled to {finish.fill_holes:g} px"
    if finish.drop_specks:
        yield f"specks dropped to {finish.drop_specks:g} px"
    if finish.grow:
        yield f"{'grown' if finish.grow > 0 else 'shrunk'} {abs(finish.grow):g} px"
    if finish.feather:
        yield f"feathered {finish.feather:g} px"
    if shade.strength_percent:
        yield f"shadow {shade.strength_percent:g} %"
    if shade.strength_percent and shade.soft_percent:
        yield f"shadow soft {shade.soft_percent:g} %"
    if key.clean_plate:
        yield f"clean plate {key.clean_plate}"
    if key.sample:
        yield "picked area"


def placement_words(overlay: Standing | Overlay, dials: Dials = NO_DIALS) -> str:
    """Say where an overlay or a cue's picture stands; nothing where it fills the frame."""
    return ", ".join(_placement(overlay, dials))


def _placement(overlay: Standing | Overlay, dials: Dials) -> Iterator[str]:
    first = overlay.keyframes[0].pose
    if (first.x, first.y) != (50.0, 50.0):
        yield f"middle at {first.x:g} %, {first.y:g} %"
    if first.scale != 100.0:
        yield f"size {first.scale:g} %{dialled(dials, 'size', first.scale)}"
    if any(overlay.crop):
        yield "cut off " + ", ".join(f"{side:g}" for side in overlay.crop) + " %"
    if overlay.flip != "none":
        yield f"flipped {overlay.flip}"
    if first.turn:
        yield f"turned {first.turn:g}°"
    yield from _look(overlay.look)
    if first.opacity != 1.0:
        yield f"opacity {first.opacity:g}"
    if len(overlay.keyframes) > 1:
        yield "moves: " + "; ".join(_move(*pair) for pair in pairwise((None, *overlay.keyframes)))


def _move(before: Keyframe | None, now: Keyframe | None) -> str:
    """Say a pose, when it is reached, and how it is gone to from the one before."""
    if now is None:
        return ""
    pose = now.pose
    said = f"frame {now.at}: middle {pose.x:g} %, {pose.y:g} %, size {pose.scale:g} %"
    said += f", turned {pose.turn:g}°" if pose.turn else ""
    said += f", opacity {pose.opacity:g}" if pose.opacity != 1 else ""
    if before is not None and before.pose == pose:
        return f"rests to frame {now.at}"
    return said if before is None or before.curve == "linear" else f"{said} ({before.curve})"


def _look(look: BoxLook) -> Iterator[str]:
    if look.border:
        soft = f", soft by {look.border_soft:g} %" if look.border_soft else ""
        yield f"border {look.border:g} % {colour_words(look.border_colour)}{soft}"
    if look.corners:
        yield f"corners {look.corners:g} %"
    if look.shadow:
        yield f"drop shadow {look.shadow:g} %, soft by {look.shadow_soft:g} %"
