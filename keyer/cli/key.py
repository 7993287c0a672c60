"""`keyer key FG --over BG`: a chroma key, with what it found and how well it holds."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from keyer.cli.common import (
    Force,
    Json,
    Output,
    frame_counter,
    notice,
    print_json,
    print_verdicts,
    wait_for_kernels,
)
from keyer.cli.masks import read_area, read_masks
from keyer.cli.voice import say

if TYPE_CHECKING:
    from keyer.media.files import Files
    from keyer.render.one_key import OneKey


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(key)


def read_hue(text: str) -> str | float:
    """Read a hue as typed: a word or degrees."""
    try:
        return float(text)
    except ValueError:
        return text


def read_quality(text: str) -> Literal["fast", "fine"]:
    """Read a quality as typed."""
    from keyer.kinds.ranges import one_of

    return "fine" if one_of("quality", text, ("fast", "fine")) == "fine" else "fast"


def key(
    foreground: Annotated[
        Path, typer.Argument(metavar="FG", help="The subject before its backing.")
    ],
    output: Output,
    over: Annotated[
        Path | None,
        typer.Option(
            "--over", help="The new background. Without one the subject is cut out, with alpha."
        ),
    ] = None,
    at: Annotated[
        str | None,
        typer.Option("--at", help="Key one picture of a clip, at this time of the clip."),
    ] = None,
    matte_output: Annotated[
        Path | None, typer.Option("--matte-out", help="Write the matte, 16-bit, white = subject.")
    ] = None,
    quality: Annotated[
        str, typer.Option("--quality", help="fine: subject colour carried outwards; or fast.")
    ] = "fine",
    hue: Annotated[
        str, typer.Option("--hue", help="auto, green, blue or degrees on the vectorscope.")
    ] = "auto",
    acceptance: Annotated[
        float | None,
        typer.Option("--acceptance", help="Degrees of hue that are backing (fast key)."),
    ] = None,
    clip: Annotated[
        float | None,
        typer.Option("--clip", help="Percent of the key signal (fine: the matte) that is clear."),
    ] = None,
    gain: Annotated[
        float | None,
        typer.Option("--gain", help="Slope of the matte above the clip; fine: 1 or more."),
    ] = None,
    spill: Annotated[
        float, typer.Option("--spill", help="Percent of the backing's tint to take out.")
    ] = 100.0,
    show: Annotated[
        str, typer.Option("--show", help="picture, matte, key-signal, subject or spill.")
    ] = "picture",
    board: Annotated[
        Path | None, typer.Option("--board", help="Draw all steps on a board, .png or .pdf (A3).")
    ] = None,
    sample: Annotated[
        str | None,
        typer.Option(
            "--sample", metavar="X,Y,W,H", help="Pixels of FG that are backing for certain."
        ),
    ] = None,
    clean_plate: Annotated[
        Path | None,
        typer.Option("--clean-plate", metavar="FILE", help="The empty backing, same camera."),
    ] = None,
    garbage: Annotated[
        list[str] | None,
        typer.Option("--garbage", metavar="MASK", help="Matte is clear here; may be repeated."),
    ] = None,
    hold: Annotated[
        list[str] | None,
        typer.Option("--hold", metavar="MASK", help="Matte is solid here; may be repeated."),
    ] = None,
    fill_holes: Annotated[
        float, typer.Option("--fill-holes", help="Make holes up to this area in pixels solid.")
    ] = 0.0,
    drop_specks: Annotated[
        float, typer.Option("--drop-specks", help="Make specks up to this area in pixels clear.")
    ] = 0.0,
    grow: Annotated[
        float, typer.Option("--grow", help="Pixels that the edge moves out; negative: in.")
    ] = 0.0,
    feather: Annotated[
        float, typer.Option("--feather", help="Width in pixels that a hard edge gets.")
    ] = 0.0,
    shadow: Annotated[
        float, typer.Option("--shadow", help="Percent of the backing's shadows to keep.")
    ] = 0.0,
    shadow_soft: Annotated[
        float, typer.Option("--shadow-soft", help="Softness of shadows, % of picture height.")
    ] = 0.0,
    force: Force = False,
    json: Json = False,
) -> None:
    """Key a subject over a new background, and measure whether it holds.

    The output has the size of the background. FG is scaled to fill it, and a
    notice says what is cut off. Without --over the subject is cut out: PNG,
    TIFF or WebP with straight alpha, 8 or 16 bits as in FG.

    FG may be a clip. --at keys one picture of it. If the output is a clip, all
    pictures are keyed: ProRes 4444 (.mov), FFV1 (.mkv) or numbered stills
    (out-%04d.png) with alpha, or a clip over a background (.mp4 too). The key
    is set on the first picture.

    Give places as they are in the file of FG: masks in percent of it, the area
    of --sample in its pixels. --fill-holes, --drop-specks, --grow and the other
    finishing options count in pixels of the output.

    A MASK is a picture file of FG's shape in which white is masked, or a shape,
    with a soft edge if you like: rectangle:LEFT,TOP,WIDTH,HEIGHT[:SOFT],
    ellipse:X,Y,WIDTH,HEIGHT[:SOFT], polygon:X,Y,X,Y,X,Y...[:SOFT].
    """
    from keyer.media.stills import decode_ahead

    decode_ahead((foreground,) if over is None else (foreground, over))
    wait_for_kernels()
    from keyer.errors import SettingError
    from keyer.kinds.settings import Finish, Shade
    from keyer.media.files import Files
    from keyer.pixel.kernels.jit import plainly
    from keyer.render.key_clip import frame_of_clip, is_clip_output, key_clip
    from keyer.render.key_inputs import KeyInputs
    from keyer.render.one_key import key_files
    from keyer.sheet.effect import Key

    asked = Key(
        "chroma",
        quality=read_quality(quality),
        hue=read_hue(hue),
        acceptance_deg=acceptance,
        clip_percent=clip,
        gain=gain,
        spill_percent=spill,
        finish=Finish(fill_holes, drop_specks, grow, feather),
        shade=Shade(shadow, shadow_soft),
    )
    beside = KeyInputs(
        read_masks("garbage", garbage),
        read_masks("hold", hold),
        clean_plate,
        read_area(sample),
    )
    files = Files(force=force)
    if at is None and is_clip_output(output):
        if matte_output is not None or board is not None or show != "picture":
            msg = (
                "matte-out, board and show need one picture of the clip. Choose it (--at), and "
                "write a still."
            )
            raise SettingError(msg)
        counted = frame_counter()
        report = key_clip(
            foreground, over, output, key=asked, files=files, beside=beside, progress=counted
        )
        _print(output, report, json=json)
        return
    with plainly():
        report = key_files(
            foreground,
            over,
            output,
            key=asked,
            beside=beside,
            matte_output=matte_output,
            files=files,
            show=show,
            board=_board(board, files),
            frame=None if at is None else frame_of_clip(foreground, at),
        )
    _print(output, report, json=json)


def _print(output: Path, report: Mapping[str, Any], *, json: bool) -> None:
    if json:
        print_json(report)
    else:
        if "frames" in report:
            say(f"{report['frames']} frames, {report['codec'] or 'numbered stills'}")
        _print_report(output, report)
    for text in report["notices"]:
        notice(text)


def _board(path: Path | None, files: Files) -> Callable[[OneKey], None] | None:
    """Make what draws the board; refuses its file before anything is rendered."""
    if path is None:
        return None
    from keyer.report.boards.page_files import name_page_output, write_page
    from keyer.report.plates.key_board import key_page

    name_page_output(path, files)
    return lambda made: write_page(key_page(made), path, path.stem, files)


def _print_report(output: Path, report: Mapping[str, Any]) -> None:
    from keyer.report.words import settings_words

    backing, coverage, spill = (report[part] for part in ("backing", "coverage", "spill"))
    say(f"{output}")
    for reason in report["reasons"]:
        say(f"  {reason}")
    say(f"  Settings: {settings_words(report['settings'])}.")
    say(
        f"  Backing {backing['hue_deg']:.1f} degrees, chroma {backing['chroma_percent']:.0f} %, "
        f"luma {backing['luma_percent']:.0f} %, even to {backing['evenness_stops']:.2f} stops, "
        f"noise {backing['noise_percent']:.1f} %."
    )
    say(
        f"  Matte {coverage['clear_percent']:.1f} % clear, {coverage['edge_percent']:.1f} % edge, "
        f"{coverage['solid_percent']:.1f} % solid."
    )
    before, after = spill["before"], spill["after"]
    say(
        f"  Spill, mean over the subject {before['mean_percent']:.1f} % of white before, "
        f"{after['mean_percent']:.1f} % after; over its rim {before['rim_mean_percent']:.1f} % "
        f"before, {after['rim_mean_percent']:.1f} % after. Judged by 95th percentiles:"
    )
    print_verdicts(report["verdicts"])
