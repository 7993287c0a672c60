"""The one-picture commands: each builds a sheet in memory and goes the way of every frame."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.field import Modifiers
from keyer.kinds.formats import VideoFormat
from keyer.kinds.picture import Picture, RgbPicture
from keyer.kinds.settings import Edge, KeySettings, Rgb, in_range, one_of
from keyer.kinds.verdicts import Verdict
from keyer.measure.backing import Backing
from keyer.measure.coverage import Coverage, judge_coverage, measure_coverage
from keyer.measure.judge_backing import judge_backing
from keyer.measure.spill import Spill, judge_spill, measure_spill
from keyer.media.source import open_source
from keyer.media.write import check_output, write_grey, write_still
from keyer.pixel.load import load
from keyer.render.compose import compose, compose_matte
from keyer.render.frame import Keyed, Matted
from keyer.render.key_inputs import KeyInputs
from keyer.render.key_views import straight_subject, subject_with_spill
from keyer.render.keys import KeyChoice
from keyer.render.plan import Plan
from keyer.render.still import SHOWS, depth_of, show_key
from keyer.sheet.effect import Key, Transition
from keyer.sheet.sheet import Cue, Overlay, Sheet
from keyer.sheet.source import File, Source

RATE = Fraction(25)
"""Rate of a sheet that has a single frame; nothing depends on it."""


def format_of(path: Path) -> VideoFormat:
    """Format that a picture file has.

    Parameters
    ----------
    path : Path

    Returns
    -------
    VideoFormat

    Raises
    ------
    InputFileError
    """
    source = open_source(path)
    props = source.props
    source.close()
    return VideoFormat(
        f"{props.width}x{props.height}@25",
        props.width,
        props.height,
        RATE,
        props.pixel_aspect,
        props.matrix,
    )


def _sheet(
    video: VideoFormat,
    files: Mapping[str, Path],
    cues: Iterable[Cue],
    overlays: Iterable[Overlay] = (),
    light: str = "video",
    patterns: Iterable[Path] = (),
) -> Sheet:
    """Make a sheet of files, a few frames long."""
    one_of("light", light, ("video", "linear"))
    return Sheet(
        title="",
        note="",
        format=video,
        length=2,
        light="linear" if light == "linear" else "video",
        start=0,
        drop=False,
        sources={name: Source(name, File(path)) for name, path in files.items()},
        cues=tuple(cues),
        overlays=tuple(overlays),
        patterns=tuple(File(folder, str(folder)) for folder in patterns),
    )


def _between(
    files: Mapping[str, Path],
    output: Path,
    transition: Transition,
    at: float,
    light: str,
    *,
    force: bool,
    patterns: Iterable[Path] = (),
) -> None:
    """Render the moment `at` (progress, 0..1) of a transition from file `a` to file `b`."""
    inputs = tuple(files.values())
    check_output(output, force=force, inputs=inputs)
    cues = (Cue(0, "a", 0), Cue(1, "b", 0, transition))
    sheet = _sheet(format_of(files["a"]), files, cues, light=light, patterns=patterns)
    with Plan(sheet) as plan:
        frame = plan.frame(0)
        frame = replace(frame, base=replace(frame.base, progress=at))
        write_still(output, compose(frame, depth_of(frame)), force=force, inputs=inputs)


def mix_files(
    a: Path, b: Path, output: Path, *, at: float, kind: str, light: str, force: bool
) -> dict[str, Any]:
    """Mix two picture files.

    Parameters
    ----------
    a, b, output : Path
    at : float
        Progress, 0..1.
    kind : {"mix", "additive", "non-additive"}
    light : {"video", "linear"}
    force : bool
        Overwrite the output.

    Returns
    -------
    dict
        What was done, for JSON.

    Raises
    ------
    KeyerError
    """
    in_range("at", at, 0, 1, "0 is A, 1 is B.")
    one_of("kind", kind, ("mix", "additive", "non-additive"))
    transition = Transition(kind, length=1)  # type: ignore[arg-type]  # checked above
    _between({"a": a, "b": b}, output, transition, at, light, force=force)
    return {"output": str(output), "kind": kind, "at": at, "light": light}


def wipe_files(
    a: Path,
    b: Path,
    output: Path,
    *,
    pattern: str,
    at: float,
    edge: Edge,
    modifiers: Modifiers,
    light: str,
    force: bool,
    border_source: Path | None = None,
    colour: Rgb = (0.0, 0.0, 0.0),
    folders: Sequence[Path] = (),
) -> dict[str, Any]:
    """Wipe from one picture file to another.

    Parameters
    ----------
    a, b, output : Path
    pattern : str
        SMIL `type/subtype`, type or SMPTE code.
    at : float
        Progress, 0..1.
    edge : Edge
    modifiers : Modifiers
    light : {"video", "linear"}
    force : bool
        Overwrite the output.
    border_source : Path, optional
        Picture that fills the border instead of its colours.
    colour : tuple of three floats
        Of the patterns that fade to or from a colour.
    folders : sequence of Path
        Of the user's own patterns.

    Returns
    -------
    dict
        What was done, for JSON.

    Raises
    ------
    KeyerError
    """
    from keyer.library import load_patterns
    from keyer.render.patterns import refuse_misfits

    in_range("at", at, 0, 1, "0 is A, 1 is B.")
    found = load_patterns(folders).find(pattern)
    files = {"a": a, "b": b}
    if border_source is not None:
        files["border"] = border_source
    transition = Transition(
        "wipe",
        length=1,
        colour=colour,
        pattern=pattern,
        edge=edge,
        modifiers=modifiers,
        border_source=None if border_source is None else "border",
    )
    refuse_misfits(transition, found)
    _between(files, output, transition, at, light, force=force, patterns=folders)
    return {
        "output": str(output),
        "pattern": f"{found.type}/{found.subtype}",
        "code": found.code,
        "effect": found.effect,
        "at": at,
        "edge": asdict(edge),
        "border_source": None if border_source is None else str(border_source),
        "modifiers": asdict(modifiers),
        "light": light,
    }


def key_verdicts(choice: KeyChoice, coverage: Coverage, spill: Spill, height: int) -> list[Verdict]:
    """Judge everything that is measured of a chroma key.

    Parameters
    ----------
    choice : KeyChoice
    coverage : Coverage
    spill : Spill
        After suppression.
    height : int
        Rows of the picture.

    Returns
    -------
    list of Verdict
    """
    return [
        *judge_backing(choice.backing),
        *judge_coverage(coverage, height),
        judge_spill(spill),
    ]


FINE = (
    "Fine key: the matte of an edge pixel is where its colour lies between the backing and the "
    "subject's own colour, carried outwards from its solid parts; the settings are for a fast key."
)


def key_report(
    recorded: Picture, keyed: Keyed | Matted, choice: KeyChoice, quality: str
) -> dict[str, Any]:
    """Measure a keyed subject: everything that `keyer key --json` prints.

    Parameters
    ----------
    recorded : Picture
        The plate.
    keyed : Keyed or Matted
    choice : KeyChoice
    quality : {"fast", "fine"}

    Returns
    -------
    dict
    """
    colour, matte = straight_subject(keyed)
    settings = choice.settings
    coverage = measure_coverage(matte)
    before = _spill_before(recorded, matte, settings)
    after = measure_spill(colour, matte, settings.hue_deg, recorded.matrix)
    reasons = choice.reasons if quality == "fast" else (*choice.backing.reasons, FINE)
    return {
        "backing": choice.backing.as_dict(),
        "quality": quality,
        "settings": _settings(settings),
        "reasons": list(reasons),
        "coverage": asdict(coverage),
        "spill": {
            "before_percent": before.mean_percent,
            "after_percent": after.mean_percent,
            "before": asdict(before),
            "after": asdict(after),
        },
        "verdicts": [v.as_dict() for v in key_verdicts(choice, coverage, after, matte.shape[0])],
    }


def _settings(settings: KeySettings) -> dict[str, Any]:
    return {
        "hue_deg": settings.hue_deg,
        "acceptance_deg": settings.acceptance_deg,
        "clip_percent": settings.clip_percent,
        "gain": settings.gain,
        "spill_percent": settings.spill_percent,
    }


def _spill_before(recorded: Picture, matte: NDArray[np.float32], settings: KeySettings) -> Spill:
    """Measure spill on the subject with nothing but the backing taken off."""
    colour = subject_with_spill(recorded, matte, settings)
    return measure_spill(colour, matte, settings.hue_deg, recorded.matrix)


@dataclass(frozen=True, eq=False)
class OneKey:
    """A key that was made for one picture.

    Attributes
    ----------
    foreground, background : Path
    key : Key
        As asked for.
    choice : KeyChoice
    recorded : Picture
        The plate, fitted to the background's size.
    layer : Keyed or Matted
    picture : RgbPicture
        Over the new background.
    aspect : float
        Width over height as displayed.
    report : dict
        The measures, as `key_report` has them.
    """

    foreground: Path
    background: Path
    key: Key
    choice: KeyChoice
    recorded: Picture
    layer: Keyed | Matted
    picture: RgbPicture
    aspect: float
    report: dict[str, Any]


def key_files(
    foreground: Path,
    background: Path,
    output: Path,
    *,
    key: Key,
    matte_output: Path | None,
    force: bool,
    show: str = "picture",
    board: Callable[[OneKey], None] | None = None,
    beside: KeyInputs | None = None,
) -> dict[str, Any]:
    """Key a picture file over another and measure it.

    Parameters
    ----------
    foreground, background, output : Path
        The result has the background's size.
    key : Key
    matte_output : Path or None
        16-bit grey, white = subject.
    force : bool
        Overwrite outputs.
    show : str
        One of `keyer.render.still.SHOWS`: what the output shows.
    board : callable, optional
        Is given the key when the outputs are written.
    beside : KeyInputs, optional
        Masks, a clean plate, a picked area.

    Returns
    -------
    dict
        The measures, for JSON.

    Raises
    ------
    KeyerError
    """
    one_of("show", show, SHOWS)
    beside = beside or KeyInputs()
    files = {"foreground": foreground, "background": background, **beside.files()}
    inputs = tuple(files.values())
    outputs = [output] if matte_output is None else [output, matte_output]
    for path in outputs:
        check_output(path, force=force, inputs=inputs)
    video = format_of(background)
    key = beside.added_to(key, format_of(foreground), video)
    overlay = Overlay(0, "foreground", 0, 2, key)
    sheet = _sheet(video, files, (Cue(0, "background", 0),), (overlay,))
    with Plan(sheet) as plan:
        frame = plan.frame(0)
        (keyed,) = frame.overlays
        if not isinstance(keyed, Keyed | Matted):
            msg = "a keyed overlay is planned as one"
            raise TypeError(msg)
        recorded, choice = plan.recorded(overlay, 0), plan.key_choice(overlay)
        report = key_report(recorded, keyed, choice, key.quality)
        picture = compose(frame, depth_of(frame))
        if matte_output is not None:
            write_grey(matte_output, compose_matte(keyed)[1], force=force, inputs=inputs)
        shown = picture if show == "picture" else show_key(plan, 0, show)
        if isinstance(shown, RgbPicture):
            write_still(output, shown, force=force, inputs=inputs)
        else:
            write_grey(output, shown, force=force, inputs=inputs)
        if board is not None:
            aspect = float(sheet.format.display_aspect)
            board(
                OneKey(
                    foreground, background, key, choice, recorded, keyed, picture, aspect, report
                )
            )
    return {"output": str(output), **report, "notices": plan.notices}


def measure_file(picture: Path, matte: Path | None) -> dict[str, Any]:
    """Measure a picture's backing or, with its matte, its coverage and spill.

    Parameters
    ----------
    picture : Path
        Without a matte: a plate with its backing. With one: the subject.
    matte : Path or None
        White = subject.

    Returns
    -------
    dict
        For JSON.

    Raises
    ------
    KeyerError
    """
    from keyer.errors import FrameShapeError
    from keyer.measure.backing import survey_backing

    image = open_source(picture).read(0)
    planes = load(image)
    if matte is None:
        backing: Backing = survey_backing(planes, image.matrix)
        return {
            "picture": str(picture),
            "backing": backing.as_dict(),
            "verdicts": [v.as_dict() for v in judge_backing(backing)],
        }
    cover: NDArray[np.float32] = load(open_source(matte).read(0))[0]
    if cover.shape != planes.shape[1:]:
        rows, columns = planes.shape[1:]
        msg = (
            f"matte must have the picture's size, {columns} x {rows}, got "
            f"{cover.shape[1]} x {cover.shape[0]}. Render both from one plate."
        )
        raise FrameShapeError(msg)
    coverage = measure_coverage(cover)
    hues = {"green": "green", "blue": "blue"}
    from keyer.measure.hues import bar_hue

    spills = {
        name: measure_spill(planes, cover, bar_hue(name, image.matrix), image.matrix)
        for name in hues
    }
    verdicts = judge_coverage(coverage, cover.shape[0])
    verdicts += [judge_spill(spill, f"spill.{name}") for name, spill in spills.items()]
    return {
        "picture": str(picture),
        "coverage": asdict(coverage),
        "spill": {name: asdict(spill) for name, spill in spills.items()},
        "verdicts": [v.as_dict() for v in verdicts],
    }
