"""The survey on paper: the plate, the light on its backing, its scopes, the subject's hues."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Mask, Planes
from keyer.kinds.check_names import NAMES
from keyer.kinds.figures import figures
from keyer.kinds.verdicts import Verdict
from keyer.measure.hues import bar_hue, hue_name
from keyer.measure.subject import LOST, SubjectHues, clash_mask
from keyer.paper.column import Column
from keyer.paper.grid import Area, Heading, draw_heading
from keyer.paper.page import Page, paper_size
from keyer.paper.panels import Panel, brought_down, draw_label, draw_panel, draw_scale
from keyer.pixel.colour.false_colour import ABOUT_A_MIDDLE, in_colours
from keyer.pixel.colour.load import store
from keyer.pixel.colour.weigh import luma_of
from keyer.render.recipe import program
from keyer.report.plates.scopes import Wedge, draw_hues, draw_vectorscope, draw_waveform
from keyer.report.plates.survey import PlateFile, SubjectFile, Surveyed, WorstVerdict

_COLUMNS = 1200
_STOPS = (-1.0, 1.0)
_TICKS = ((-1.0, "-1 stop"), (-0.5, "-1/2"), (0.0, "even"), (0.5, "+1/2"), (1.0, "+1 stop"))
_TAKEN = (1.0, 0.36, 0.05)
_DIMMED, _LIFT = 0.62, 0.14
_SOFT = 0.0025
"""Softness of the edge of a map, of the picture's width: hides the steps of a small copy."""

_APART = 12.0
"""Degrees between two marks whose labels do not collide."""

_TEXT_WIDTH, _BESIDE, _GAP = 82.0, 9.0, 6.0
_TALLEST = 78.0


def survey_page(found: PlateFile | SubjectFile) -> Page:
    """Draw a survey on one landscape sheet of A3.

    Parameters
    ----------
    found : PlateFile or SubjectFile
    """
    page = Page(*paper_size("A3"))
    area = draw_heading(page, _heading(found))
    left = Area(area.x, area.y, area.width - _TEXT_WIDTH - _BESIDE, area.height)
    column = Column(page, area.x + area.width - _TEXT_WIDTH, area.y - 3, _TEXT_WIDTH)
    if isinstance(found, PlateFile):
        lower = _pictures(page, _plate_panels(found), left, scaled=1)
        hue, nearest = found.shown.backing.hue_deg, found.shown.subject
        wedges = [Wedge(hue, found.acceptance_deg, LOST)]
        marks = [(hue, f"backing {hue:.0f}°")]
        if nearest.coloured and nearest.nearest_angle_deg > _APART:
            marks.append((nearest.nearest_hue_deg, f"nearest {nearest.nearest_hue_deg:.0f}°"))
        _scopes(page, found, lower, wedges, marks, nearest.hues_percent)
        _plate_words(column, found)
    else:
        lower = _pictures(page, _subject_panels(found), left)
        hues = [(bar_hue(name, found.matrix), name) for name in ("green", "blue")]
        wedges = [Wedge(hue, found.acceptance_deg, LOST) for hue, _ in hues]
        marks = [(hue, name) for hue, name in hues]
        if found.subject.best not in ("green", "blue"):
            marks.append((found.subject.best_hue_deg, found.subject.best))
        _scopes(page, found, lower, wedges, marks, found.subject.hues_percent)
        _subject_words(column, found)
    return page


def _heading(found: Surveyed) -> Heading:
    plate = isinstance(found, PlateFile)
    facts = [found.description]
    if found.frames:
        looked = ", ".join(str(number) for number in found.frames)
        facts.append(f"Frames {looked} were looked at; frame {found.frame} is shown, the worst")
    kind = "Survey of a key plate" if plate else "Survey of a subject before the shoot"
    return Heading(kind, found.path.name, tuple(facts), _foot(found))


def _foot(found: Surveyed) -> str:
    matrix = {"bt601": "ITU-R BT.601", "bt709": "ITU-R BT.709"}[found.matrix]
    return (
        f"Hues are degrees on the vectorscope, Cb to the right, Cr up, by {matrix}; full chroma is"
        f" a Cb or Cr of 0.5; a stop is a factor of 2 of light.  ·  {program()}"
    )


def _pictures(page: Page, panels: list[Panel], area: Area, scaled: int | None = None) -> Area:
    """Draw a row of pictures, one with the scale of stops; returns what is left below."""
    width = (area.width - (len(panels) - 1) * _GAP) / len(panels)
    height = min(max(width / (panel.aspect or 1.0) for panel in panels), _TALLEST)
    ends = []
    for number, panel in enumerate(panels):
        box = Area(area.x + number * (width + _GAP), area.y, width, height)
        ends.append(draw_panel(page, panel, box))
        if number == scaled:
            shown = min(width, height * (panel.aspect or 1.0))
            draw_scale(page, ABOUT_A_MIDDLE, _STOPS, _TICKS, (box.x, ends[-1] + 1.2, shown))
            ends[-1] += 8.0
    top = max(ends) + 4
    return Area(area.x, top, area.width, area.y + area.height - top)


def _scopes(
    page: Page,
    found: Surveyed,
    area: Area,
    wedges: list[Wedge],
    marks: list[tuple[float, str]],
    shares: tuple[float, ...],
) -> None:
    """Draw the vectorscope at the left, the waveform and the hues beside it."""
    side = min(area.height - 12, 0.52 * area.width)
    square = Area(area.x, area.y, side, side)
    draw_vectorscope(page, found.planes, found.matrix, square, wedges, marks)
    half = found.acceptance_deg / 2
    note = (
        f"Tinted: the acceptance angle, {half:g} degrees to either side of the hue, from"
        f" {200 * LOST:.0f} % of full chroma inside it. Squares: bars of 75 %."
    )
    draw_label(page, "Vectorscope of the whole picture", note, square)
    right = Area(area.x + side + _GAP, area.y, area.width - side - _GAP, 0.46 * side)
    draw_waveform(page, found.planes, found.matrix, right)
    below = draw_label(page, "Waveform, luma in percent", "Red: -5 and 105 %: EBU R 103.", right)
    rest = Area(right.x, below + 4, right.width, side - (below + 4 - area.y))
    draw_hues(page, shares, found.matrix, rest, wedges)
    draw_label(
        page,
        "Hues of the subject",
        "Percent of the subject at each 10 degrees, light of the backing taken off."
        if isinstance(found, PlateFile)
        else "Percent of the subject at each 10 degrees.",
        rest,
    )


def _plate_panels(found: PlateFile) -> list[Panel]:
    survey = found.shown
    small = brought_down(found.planes, _COLUMNS)
    share = survey.subject.clash_percent
    return [
        Panel("As recorded", _pixels(small), "", found.aspect),
        Panel(
            "Light on the backing",
            _light(small, survey.evenness.stops, found),
            f"{survey.backing.evenness_stops:.2f} stops from its darkest to its brightest part",
            found.aspect,
        ),
        Panel(
            "What would be keyed out with the backing",
            _taken(small, survey.pixels.inside, survey.clash, found),
            f"Orange: {share:.1f} % of the subject lies inside the acceptance angle",
            found.aspect,
        ),
    ]


def _subject_panels(found: SubjectFile) -> list[Panel]:
    small = brought_down(found.planes, _COLUMNS)
    panels = [Panel("As photographed", _pixels(small), "", found.aspect)]
    for name in ("green", "blue"):
        hue = bar_hue(name, found.matrix)
        mask = clash_mask(found.pixels, hue, found.matrix, found.acceptance_deg)
        share = 100 * float(mask.sum()) / max(1, int(found.pixels.inside.sum()))
        panels.append(
            Panel(
                f"What a {name} backing would take with it",
                _taken(small, found.pixels.inside, mask, found),
                f"Orange: {share:.1f} % of the subject",
                found.aspect,
            )
        )
    return panels


def _pixels(planes: Planes) -> NDArray[np.uint8]:
    codes = store(np.ascontiguousarray(planes, np.float32), np.uint8)
    return np.ascontiguousarray(codes.transpose(1, 2, 0))


def _enlarged(mask: Mask, like: Planes) -> NDArray[np.float32]:
    size = like.shape[2], like.shape[1]
    share = cv2.resize(mask.astype(np.float32), size, interpolation=cv2.INTER_LINEAR)
    return np.asarray(share, np.float32)


def _dimmed(planes: Planes, found: Surveyed) -> Planes:
    grey = _LIFT + _DIMMED * luma_of(planes, found.matrix)
    return np.repeat(grey[np.newaxis], 3, axis=0)


def _light(planes: Planes, stops: NDArray[np.float32], found: Surveyed) -> NDArray[np.uint8]:
    """Draw the light in false colours where there is backing, the rest in dim grey."""
    known = cv2.GaussianBlur(_enlarged(np.isfinite(stops), planes), (0, 0), _SOFT * planes.shape[2])
    filled = _enlarged_values(np.nan_to_num(stops), np.isfinite(stops), planes)
    colours = in_colours(filled, *_STOPS, ABOUT_A_MIDDLE)
    rest = 0.6 * _dimmed(planes, found)
    cover = np.clip(2 * known - 0.5, 0, 1)
    return _pixels(rest + cover * (colours - rest))


def _enlarged_values(values: NDArray[np.float32], known: Mask, like: Planes) -> NDArray[np.float32]:
    """Enlarge a map that is known in places."""
    weight = cv2.blur(known.astype(np.float32), (3, 3))
    near = cv2.blur(np.where(known, values, np.float32(0)), (3, 3)) / np.maximum(weight, 1e-6)
    whole = np.where(known, values, near).astype(np.float32)
    size = like.shape[2], like.shape[1]
    return np.asarray(cv2.resize(whole, size, interpolation=cv2.INTER_LINEAR), np.float32)


def _taken(planes: Planes, inside: Mask, taken: Mask, found: Surveyed) -> NDArray[np.uint8]:
    """Draw the subject in grey, what would go in orange, all else dim."""
    body = _enlarged(inside, planes)
    grey = _dimmed(planes, found) * (0.6 + 0.4 * body)
    colour = np.array(_TAKEN, np.float32)[:, np.newaxis, np.newaxis]
    return _pixels(grey + _enlarged(taken, planes) * (colour - grey))


def _value(verdict: Verdict) -> str:
    return f"{figures(verdict.measure, verdict.value)} {verdict.unit}"


def _plate_words(column: Column, found: PlateFile) -> None:
    backing, shadows, subject = found.shown.backing, found.shown.shadows, found.shown.subject
    shown = {one.measure: one.verdict for one in found.shown.verdicts}
    column.heading("Backing")
    name = hue_name(backing.hue_deg, found.matrix)
    column.row("Hue", f"{backing.hue_deg:.1f}°, {name}")
    column.row("Chroma", f"{backing.chroma_percent:.0f} % of full chroma", shown["backing.chroma"])
    column.row("Luma", f"{backing.luma_percent:.0f} % of white")
    column.row("Evenness", f"{backing.evenness_stops:.2f} stops", shown["backing.evenness"])
    shade = f"{shadows.share_percent:.0f} % of it, {shadows.depth_stops:.1f} stops deep"
    column.row("Shadows", shade if shadows.share_percent else "none seen", shown["backing.shadows"])
    column.row("Noise", f"{backing.noise_percent:.1f} % of white", shown["backing.noise"])
    column.row("Covers", f"{backing.share_percent:.0f} % of the picture")
    column.y += 3
    column.heading("Subject")
    column.row("Covers", f"{found.shown.pixels.share_percent:.0f} % of the picture")
    column.row("Goes with it", f"{subject.clash_percent:.1f} % of it", shown["subject.clash"])
    if found.shown.pixels.share_percent and subject.coloured:
        nearest = hue_name(subject.nearest_hue_deg, found.matrix)
        column.row("Nearest hue", f"{subject.nearest_angle_deg:.0f}° away, {nearest}")
    _subject_rows(column, found.shown.subject)
    column.y += 3
    bad = [one for one in found.verdicts if one.verdict.verdict != "holds"]
    if bad:
        column.heading("What to do")
        for one in bad:
            _advise(column, one)
        column.y += 3
    column.heading("In words")
    for sentence in found.shown.reasons:
        column.text(sentence)


def _advise(column: Column, told: WorstVerdict) -> None:
    verdict = told.verdict
    name = NAMES.get(verdict.measure, verdict.measure)
    when = "" if told.frame is None else f"Frame {told.frame}. "
    column.verdict(name, "", verdict.verdict, f"{_value(verdict)}. {when}{verdict.remedy}")


def _subject_rows(column: Column, subject: SubjectHues) -> None:
    column.row("With green", f"{subject.green_clash_percent:.1f} % would go")
    column.row("With blue", f"{subject.blue_clash_percent:.1f} % would go")
    if subject.best not in ("green", "blue"):
        column.row(f"With {subject.best}", f"{subject.best_clash_percent:.1f} % would go")
    column.row("Without hue", f"{subject.neutral_percent:.0f} % of it")


def _subject_words(column: Column, found: SubjectFile) -> None:
    column.heading("Backing to hang")
    subject = found.subject
    other = "" if subject.best in ("green", "blue") else f", about {subject.best_hue_deg:.0f}°"
    (told,) = found.verdicts
    column.row("Hue", f"{subject.best}{other}", told.verdict.verdict)
    if subject.coloured:
        column.row("Nearest hue", f"{subject.nearest_angle_deg:.0f}° away from it")
    column.y += 3
    column.heading("Subject")
    column.row("Covers", f"{found.pixels.share_percent:.0f} % of the picture")
    _subject_rows(column, subject)
    column.y += 3
    if told.verdict.verdict != "holds":
        column.heading("What to do")
        _advise(column, told)
        column.y += 3
    column.heading("In words")
    for sentence in subject.reasons:
        column.text(sentence)
