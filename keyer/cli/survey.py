"""`keyer survey PICTURE`: whether a plate can be keyed, or which backing a subject needs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from keyer.cli.common import Force, Json, notice, print_json, print_verdicts, wait_for_kernels
from keyer.cli.key import read_hue
from keyer.cli.masks import read_area
from keyer.cli.voice import say

if TYPE_CHECKING:
    from keyer.report.plates.survey import PlateFile, SubjectFile, WorstVerdict


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(survey)


def survey(
    picture: Annotated[
        Path,
        typer.Argument(metavar="PICTURE", help="A key plate or a photograph; a still or clip."),
    ],
    output: Annotated[
        Path | None, typer.Option("-o", "--output", help="Board to draw, .png or .pdf (A3).")
    ] = None,
    subject: Annotated[
        bool,
        typer.Option("--subject", help="Photograph before the shoot: say which backing to hang."),
    ] = False,
    hue: Annotated[
        str, typer.Option("--hue", help="auto, green, blue or degrees on the vectorscope.")
    ] = "auto",
    sample: Annotated[
        str | None,
        typer.Option("--sample", metavar="X,Y,W,H", help="Pixels that are backing for certain."),
    ] = None,
    acceptance: Annotated[
        float, typer.Option("--acceptance", help="Degrees of hue that would count as backing.")
    ] = 120.0,
    force: Force = False,
    json: Json = False,
) -> None:
    """Survey a key plate: its backing, the light on it, and what would be keyed out with it.

    PICTURE may be a clip: frames spread over it are looked at, and the worst
    counts. If there is no backing, the command says so and exits with 4. For a
    photograph of a product or a costume, add --subject: the survey then says
    which backing to hang.
    """
    wait_for_kernels()
    from keyer.errors import SettingError
    from keyer.media.files import Files
    from keyer.pixel.kernels.jit import plainly
    from keyer.report.boards.page_files import name_page_output, write_page
    from keyer.report.plates.survey import Where, survey_file, survey_subject_file
    from keyer.report.plates.survey_board import survey_page

    if subject and (sample is not None or hue != "auto"):
        msg = "hue and sample describe a backing; a survey with --subject has none. Leave them out."
        raise SettingError(msg)
    files = Files((picture,), force=force)
    if output is not None:
        name_page_output(output, files)
    area = read_area(sample)
    with plainly():
        found = (
            survey_subject_file(picture, acceptance)
            if subject
            else survey_file(picture, Where(read_hue(hue), area, acceptance))
        )
        if output is not None:
            write_page(survey_page(found), output, picture.name, files)
    if json:
        print_json(found.as_dict() | {"output": None if output is None else str(output)})
    else:
        _print(found, output)
    for text in found.notices:
        notice(text)


def _print(found: PlateFile | SubjectFile, output: Path | None) -> None:
    from keyer.report.plates.survey import PlateFile

    say(found.path if output is None else output)
    if found.frames:
        say(f"  {len(found.frames)} frames looked at; frame {found.frame} is the worst.")
    reasons = found.shown.reasons if isinstance(found, PlateFile) else found.subject.reasons
    for sentence in reasons:
        say(f"  {sentence}")
    if isinstance(found, PlateFile):
        _print_plate(found)
    print_verdicts({**one.verdict.as_dict(), "measure": _measure(one)} for one in found.verdicts)


def _measure(told: WorstVerdict) -> str:
    """Name a measure; where it does not hold on a clip, with its worst frame."""
    name = told.verdict.measure
    no_frame = told.frame is None or told.verdict.verdict == "holds"
    return name if no_frame else f"{name}, frame {told.frame}"


def _print_plate(found: PlateFile) -> None:
    backing, shadows = found.shown.backing, found.shown.shadows
    shade = (
        f"shadows on {shadows.share_percent:.0f} % of it, {shadows.depth_stops:.1f} stops deep"
        if shadows.share_percent
        else "no shadows"
    )
    say(
        f"  Backing {backing.hue_deg:.1f} degrees, chroma {backing.chroma_percent:.0f} %, "
        f"luma {backing.luma_percent:.0f} %, even to {backing.evenness_stops:.2f} stops, "
        f"{shade}, noise {backing.noise_percent:.1f} %."
    )
