"""The one-picture commands: each builds a sheet in memory and goes the way of every frame."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.field import Modifiers
from keyer.kinds.formats import VideoFormat
from keyer.kinds.ranges import in_range, one_of
from keyer.kinds.settings import Edge, Rgb
from keyer.measure.backing import Backing
from keyer.measure.coverage import judge_coverage, measure_coverage
from keyer.measure.judge_backing import judge_backing
from keyer.measure.spill import judge_spill, measure_spill
from keyer.media.files import Files
from keyer.media.source import open_source
from keyer.media.write import write_still
from keyer.pixel.colour.load import load
from keyer.render.inputs import pattern_inputs
from keyer.render.plan import Plan
from keyer.render.sinks.pictures import picture
from keyer.sheet.effect import Transition
from keyer.sheet.sheet import Cue, Overlay, Sheet
from keyer.sheet.source import File, Source

RATE = Fraction(25)
"""Rate of a sheet that has a single frame; nothing depends on it."""


def format_of(path: Path) -> VideoFormat:
    """Format that a picture file has.

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


def sheet_of_files(
    video: VideoFormat,
    files: Mapping[str, Path],
    cues: Iterable[Cue],
    overlays: Iterable[Overlay] = (),
    light: str = "video",
    patterns: Iterable[Path] = (),
) -> Sheet:
    """Make a sheet of files, a few frames long.

    Parameters
    ----------
    video : VideoFormat
    files : mapping of str to Path
        Sources by name.
    cues : iterable of Cue
    overlays : iterable of Overlay
    light : {"video", "linear"}
    patterns : iterable of Path
        Folders of the user's own patterns.

    Raises
    ------
    SettingError
        If the light is unknown.
    """
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
    sources: Mapping[str, Path],
    output: Path,
    transition: Transition,
    at: float,
    light: str,
    *,
    force: bool,
    patterns: Sequence[Path] = (),
) -> None:
    """Render the moment `at` (progress, 0..1) of a transition from file `a` to file `b`."""
    here = Files((*sources.values(), *pattern_inputs(patterns)), force=force)
    here.still(output)
    cues = (Cue(0, "a", 0), Cue(1, "b", 0, transition))
    sheet = sheet_of_files(format_of(sources["a"]), sources, cues, light=light, patterns=patterns)
    with Plan(sheet) as plan:
        found = picture(plan.frame(0, share=at), plan.evaluator, plan.depth)
        write_still(output, found, here)


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
    verdicts += [judge_spill(spill, f"spill.{name}_p95") for name, spill in spills.items()]
    return {
        "picture": str(picture),
        "coverage": asdict(coverage),
        "spill": {name: asdict(spill) for name, spill in spills.items()},
        "verdicts": [v.as_dict() for v in verdicts],
    }
