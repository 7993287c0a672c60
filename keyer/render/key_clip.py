"""`keyer key` on clips: one of their pictures, or all of them with alpha or over a background."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

from keyer.errors import KeyerError, OutputError, SettingError
from keyer.kinds.formats import VideoFormat
from keyer.kinds.picture import RgbPicture
from keyer.kinds.timing import parse_time, rate_name, timecode
from keyer.media.encode_still import check_alpha
from keyer.media.files import Files
from keyer.media.sequence import is_pattern, numbered
from keyer.media.source import open_source
from keyer.media.write import together, write_still
from keyer.render.key_inputs import KeyInputs, refuse_other_shape
from keyer.render.key_measures import plate_of_key
from keyer.render.one_key import key_report
from keyer.render.oneshot import RATE, format_of, sheet_of_files
from keyer.render.plan import Plan
from keyer.render.sinks.pictures import subject
from keyer.render.still import frame_picture
from keyer.sheet.effect import Key
from keyer.sheet.sheet import Sheet
from keyer.sheet.source import Clear, Source
from keyer.sheet.stack import Cue, Overlay

WITH_ALPHA = {".mov": "prores-4444", ".mkv": "ffv1-alpha"}
"""Codec that keeps alpha, by the kind of file."""

_KINDS = (".mov", ".mkv", ".mp4")


def is_clip_output(output: Path) -> bool:
    """Whether a name asks for all pictures of a clip: a clip, or numbered stills."""
    return output.suffix.lower() in _KINDS or is_pattern(output)


def clip_frames(path: Path) -> tuple[int, Fraction]:
    """Say how many pictures a clip has, and how many a second.

    Returns
    -------
    frames : int
    rate : Fraction
        25 for numbered stills.

    Raises
    ------
    SettingError
        If it is a still.
    """
    source = open_source(path)
    props = source.props
    source.close()
    if props.frames is None:
        msg = f"{path.name} must be a clip for this, and is a still. Leave --at out; write a still."
        raise SettingError(msg)
    return props.frames, props.rate or RATE


def frame_of_clip(path: Path, at: str) -> int:
    """Read a time in a clip, counted in its own frames.

    Parameters
    ----------
    path : Path
    at : str
        Frames, seconds or timecode.

    Raises
    ------
    KeyerError
        If it is none, or lies outside; names the nearest that does not.
    """
    frames, rate = clip_frames(path)
    frame = parse_time(at, rate, "at")
    if frame >= frames:
        last = frames - 1
        try:
            label = f" ({timecode(last, rate)})"
        except KeyerError:
            label = ""
        msg = f'at must lie within {path.name}, got {at!r:.60}. The nearest is "{last}f"{label}.'
        raise SettingError(msg)
    return frame


def key_clip(
    foreground: Path,
    background: Path | None,
    output: Path,
    *,
    key: Key,
    files: Files,
    beside: KeyInputs | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> dict[str, Any]:
    """Key all of a clip.

    Parameters
    ----------
    foreground : Path
        A clip.
    background : Path or None
        None: the subject is cut out, with alpha.
    output : Path
        `.mov` (ProRes 4444 for a cut-out), `.mkv` (FFV1), numbered stills such as
        `out-%04d.png`, or over a background `.mp4`.
    key : Key
        What it leaves open is chosen on the clip's first picture.
    files : Files
        Of the command.
    beside : KeyInputs, optional
    progress : callable, optional
        Told how many pictures are done, and of how many.

    Returns
    -------
    dict
        The measures of the first picture, the codec and the number of frames, for JSON.

    Raises
    ------
    KeyerError
    """
    beside = beside or KeyInputs()
    sources = {"foreground": foreground, **beside.files()}
    if background is not None:
        sources["background"] = background
    files.read(*sources.values())
    codec = _codec(output, background)
    frames, rate = clip_frames(foreground)
    recorded_as = format_of(foreground)
    video = _at_rate(recorded_as if background is None else format_of(background), rate)
    for name, path in beside.files().items():
        refuse_other_shape(f"{name.rstrip(' 0123456789')} {path}", format_of(path), recorded_as)
    overlay = Overlay(0, "foreground", 0, frames, beside.added_to(key, recorded_as, video))
    sheet = sheet_of_files(video, sources, (Cue(0, "background", 0),), (overlay,))
    nothing = {} if background is not None else {"background": Source("background", Clear())}
    sheet = replace(sheet, length=frames, sources={**sheet.sources, **nothing})
    with Plan(sheet) as plan:
        keyed = subject(plan.subject(overlay, 0), plan.evaluator)
        plate = plate_of_key(plan, overlay, 0)
        report = key_report(plate, keyed, plan.key_choice(overlay), key.quality)
        notices = [*plan.notices, "the key was set and measured on the clip's first picture."]
        if is_pattern(output):
            _write_numbered(plan, output, background, files, progress)
    if not is_pattern(output):
        from keyer.render.clip import render_clip  # loads what single pictures have no use for

        made = render_clip(sheet, output, codec=codec, force=files.force, progress=progress)
        codec = made.shape.codec
    return {
        "output": str(output), **report, "frames": frames, "codec": codec, "notices": notices,
    }  # fmt: skip


def _codec(output: Path, background: Path | None) -> str | None:
    """Choose what keeps the alpha of a cut-out; over a background the usual one of the file."""
    if is_pattern(output):
        if background is None:
            check_alpha(output)
        return None
    if background is not None:
        return None
    suffix = output.suffix.lower()
    if suffix not in WITH_ALPHA:
        msg = (
            f"output must keep the alpha of a cut-out: .mov (ProRes 4444), .mkv (FFV1) or "
            f"out-%04d.png, got {output.name!r}. Or name a background (--over)."
        )
        raise OutputError(msg)
    return WITH_ALPHA[suffix]


def _at_rate(video: VideoFormat, rate: Fraction) -> VideoFormat:
    name = f"{video.width}x{video.height}@{rate_name(rate)}"
    return replace(video, name=name, rate=rate)


def _write_numbered(
    plan: Plan,
    output: Path,
    background: Path | None,
    files: Files,
    progress: Callable[[int, int], None] | None,
) -> None:
    """Write every picture as a still, numbered from 0."""
    sheet: Sheet = plan.sheet
    names = [files.still(numbered(output, number)) for number in range(sheet.length)]
    show = "alpha" if background is None else "picture"
    with together(files):
        for number, name in enumerate(names):
            made = frame_picture(plan, number, show)
            if isinstance(made, RgbPicture):
                write_still(name, made, files)
            if progress is not None:
                progress(number + 1, sheet.length)
