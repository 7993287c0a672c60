"""`keyer key`: one picture keyed over another, measured, and looked at."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from keyer.errors import SettingError
from keyer.kinds.arrays import Planes
from keyer.kinds.formats import VideoFormat
from keyer.kinds.picture import Matrix, RgbPicture
from keyer.kinds.ranges import one_of
from keyer.kinds.settings import KeySettings
from keyer.kinds.verdicts import Verdict
from keyer.measure.against_plate import KeyedFrom
from keyer.measure.coverage import Coverage, judge_coverage, measure_coverage
from keyer.measure.judge_backing import judge_backing
from keyer.measure.spill import Spill, judge_rim, judge_spill, measure_seen, seen_of
from keyer.media.encode_still import check_alpha
from keyer.media.files import Files
from keyer.media.write import together, write_grey, write_still
from keyer.pixel.compose.over import unpremultiply
from keyer.pixel.keys.fast import take_subject
from keyer.render.choose import KeyChoice
from keyer.render.evaluate import Whole
from keyer.render.finishing import opacity
from keyer.render.key_inputs import KeyInputs, refuse_other_shape
from keyer.render.key_measures import plate_of_key
from keyer.render.key_trials import try_settings
from keyer.render.oneshot import format_of, sheet_of_files
from keyer.render.plan import Plan
from keyer.render.recipe import program
from keyer.render.sinks.pictures import subject
from keyer.render.still import SHOWS, frame_picture
from keyer.sheet.effect import Key
from keyer.sheet.sheet import Cue, Overlay, Sheet
from keyer.sheet.source import Clear, Source


def key_verdicts(
    choice: KeyChoice,
    coverage: Coverage,
    spill: Spill,
    height: int,
) -> list[Verdict]:
    """Judge everything that is measured of a chroma key.

    Parameters
    ----------
    choice : KeyChoice
    coverage : Coverage
    spill : Spill
        After suppression.
    height : int
        Rows of the picture.
    """
    return [
        *judge_backing(choice.backing),
        *judge_coverage(coverage, height),
        judge_spill(spill),
        judge_rim(spill),
    ]


def key_report(
    plate: KeyedFrom,
    keyed: Whole,
    choice: KeyChoice,
    quality: Literal["fast", "fine"],
) -> dict[str, Any]:
    """Measure a keyed subject: everything that `keyer key --json` prints.

    Parameters
    ----------
    plate : KeyedFrom
    keyed : Whole
    choice : KeyChoice
    quality : {"fast", "fine"}
    """
    fill, matte = keyed.planes, opacity(keyed)
    settings = choice.settings
    coverage = measure_coverage(matte, plate)
    before, after = _spills(plate.planes, fill, matte, settings, plate.matrix)
    verdicts = key_verdicts(choice, coverage, after, matte.shape[0])
    return {
        "backing": choice.backing.as_dict(),
        "quality": quality,
        "settings": dict(choice.used),
        "reasons": list(choice.reasons),
        "coverage": asdict(coverage),
        "spill": {"before": asdict(before), "after": asdict(after)},
        "verdicts": [v.as_dict() for v in verdicts],
    }


def _spills(
    recorded: Planes,
    fill: Planes,
    matte: NDArray[np.float32],
    settings: KeySettings,
    matrix: Matrix,
) -> tuple[Spill, Spill]:
    """Measure spill with nothing but the backing taken off, and as keyed."""
    seen = seen_of(matte)
    cover = seen.matte[np.newaxis]
    before, after = (seen.of(planes) for planes in (recorded, fill))
    take_subject(before, cover, replace(settings, spill_percent=0.0), matrix)
    found = []
    for colour in (before, after):
        unpremultiply(colour, cover)
        found.append(measure_seen(colour, seen, settings.hue_deg, matrix))
    return found[0], found[1]


_CUT_OUT = "Subject cut out of its backing, with straight alpha (not premultiplied)."


def _sheet_of(sources: Mapping[str, Path], video: VideoFormat, overlay: Overlay) -> Sheet:
    """Make the sheet of one key: over the background, or over nothing."""
    sheet = sheet_of_files(video, sources, (Cue(0, "background", 0),), (overlay,))
    if "background" in sources:
        return sheet
    nothing = Source("background", Clear())
    return replace(sheet, sources={**sheet.sources, "background": nothing})


def _write(shown: RgbPicture | NDArray[np.float32], output: Path, files: Files, title: str) -> None:
    if not isinstance(shown, RgbPicture):
        write_grey(output, shown, files)
        return
    notes = None
    if shown.alpha is not None and output.suffix.lower() == ".png":
        notes = {"Title": title, "Description": _CUT_OUT, "Software": program()}
    write_still(output, shown, files, text=notes)


@dataclass(frozen=True, eq=False)
class OneKey:
    """A key of one picture: its settings, pictures and verdicts.

    Attributes
    ----------
    foreground, background : Path
    key : Key
        As asked for.
    choice : KeyChoice
    recorded : (3, H, W) float32
        The plate, fitted to the background's size.
    matrix : {"bt601", "bt709"}
        Of the plate.
    layer : Whole
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
    recorded: Planes
    matrix: Matrix
    layer: Whole
    picture: RgbPicture
    aspect: float
    report: dict[str, Any]


def key_files(
    foreground: Path,
    background: Path | None,
    output: Path,
    *,
    key: Key,
    matte_output: Path | None,
    files: Files,
    show: str = "picture",
    board: Callable[[OneKey], None] | None = None,
    beside: KeyInputs | None = None,
    frame: int | None = None,
) -> dict[str, Any]:
    """Key a picture file over another and measure it.

    Parameters
    ----------
    foreground, output : Path
    background : Path or None
        The result has its size. None: the subject is cut out, with straight
        alpha, at the size and depth of the foreground.
    key : Key
    matte_output : Path or None
        16-bit grey, white = subject.
    files : Files
        Of the command; may know of a board already.
    show : str
        One of `keyer.render.still.SHOWS`: what the output shows.
    board : callable, optional
        Is given the key when the outputs are written.
    beside : KeyInputs, optional
        Masks, a clean plate, a picked area.
    frame : int, optional
        Of a foreground that is a clip; default: its first.

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
    sources = {"foreground": foreground, **beside.files()}
    if background is not None:
        sources["background"] = background
    elif board is not None:
        msg = "board needs --over: it shows the subject over its new background."
        raise SettingError(msg)
    files.read(*sources.values())
    for path in (output, matte_output):
        if path is not None:
            files.still(path)
    if background is None and show == "picture":
        check_alpha(output)
    recorded_as = format_of(foreground)
    video = recorded_as if background is None else format_of(background)
    for name, path in beside.files().items():
        refuse_other_shape(f"{name.rstrip(' 0123456789')} {path}", format_of(path), recorded_as)
    key = beside.added_to(key, recorded_as, video)
    overlay = Overlay(0, "foreground", 0, 2, key)
    sheet = _sheet_of(sources, video, overlay)
    if frame is not None:
        taken = replace(sheet.sources["foreground"], trim=(frame, None))
        sheet = replace(sheet, sources={**sheet.sources, "foreground": taken})
    with together(files), Plan(sheet) as plan, ThreadPoolExecutor(1) as aside:
        choice, matrix = plan.key_choice(overlay), plan.matrix(overlay)
        plate = plate_of_key(plan, overlay, 0)
        recorded = plate.planes
        keyed = subject(plan.subject(overlay, 0), plan.evaluator)
        measured = aside.submit(key_report, plate, keyed, choice, key.quality)
        picture = plan.picture(0)
        whole = "alpha" if background is None else "picture"
        shown = frame_picture(plan, 0, whole if show == "picture" else show)
        if matte_output is not None:
            write_grey(matte_output, opacity(keyed), files)
        _write(shown, output, files, foreground.stem)
        report = measured.result()
        verdicts = [Verdict(**one) for one in report["verdicts"]]
        tried = try_settings(plan, overlay, 0, verdicts, "on this picture")
        report["verdicts"] = [one.as_dict() for one in tried]
        if board is not None and background is not None:
            aspect = float(sheet.format.display_aspect)
            board(
                OneKey(
                    foreground,
                    background,
                    key,
                    choice,
                    recorded,
                    matrix,
                    keyed,
                    picture,
                    aspect,
                    report,
                )
            )
    return {"output": str(output), **report, "notices": plan.notices}
