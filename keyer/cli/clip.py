"""`keyer clip SHEET -o OUT`: a sheet as a clip, with its sound."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from keyer.cli.common import Force, Json, Output, Set, notice, print_json, wait_for_kernels
from keyer.cli.voice import say

if TYPE_CHECKING:
    from keyer.media.loudness import Loudness
    from keyer.render.clip import ClipReport
    from keyer.render.clip_shape import Shape


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(clip)


def clip(
    sheet: Annotated[Path, typer.Argument(metavar="SHEET", help="The effect sheet.")],
    output: Output,
    codec: Annotated[
        str | None,
        typer.Option(
            "--codec",
            help="h264, prores-hq, prores-4444, ffv1, ffv1-yuv, ffv1-alpha, png or vc3; the usual "
            "one of the file's kind if left out.",
        ),
    ] = None,
    start: Annotated[
        str | None, typer.Option("--from", help="First frame: frames, seconds (2.4s) or timecode.")
    ] = None,
    end: Annotated[
        str | None, typer.Option("--to", help="First frame that is no longer rendered.")
    ] = None,
    scale: Annotated[
        float | None, typer.Option("--scale", help="Percent of the sheet's size.")
    ] = None,
    interlace: Annotated[
        bool,
        typer.Option(
            "--interlace",
            help="Write fields: each two frames of a sheet of 50, 59.94 or 60 make one picture.",
        ),
    ] = False,
    slate: Annotated[
        bool, typer.Option("--slate", help="Ten seconds of slate with a clock before it.")
    ] = False,
    textless: Annotated[bool, typer.Option("--textless", help="Leave the titles out.")] = False,
    values: Set = None,
    force: Force = False,
    json: Json = False,
) -> None:
    """Render a sheet as a clip (.mp4, .mov, .mkv, .mxf) or as an animated picture (.gif, .webp).

    Nothing is checked for flashes and stripes, which can trigger seizures in
    people with photosensitive epilepsy: run 'keyer check' before anybody
    watches. An animated picture plays in a loop: what flashes in it never
    stops.
    """
    wait_for_kernels()
    from keyer.render.clip import render_clip
    from keyer.sheet.load import load_sheet, read_values

    with _progress() as show:
        report = render_clip(
            load_sheet(sheet, variables=read_values(sheet, values)),
            output,
            codec=codec,
            start=start,
            end=end,
            scale=scale,
            interlace=interlace,
            slate=slate,
            textless=textless,
            force=force,
            progress=show,
        )
    if json:
        print_json(_plain(report))
    else:
        _print(report)
    for text in report.notices:
        notice(text)


@contextmanager
def _progress() -> Iterator[Callable[[int, int], None] | None]:
    """Show frames a second and time left on standard error, if that is a terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TextColumn,
        TimeRemainingColumn,
    )

    columns = (
        BarColumn(),
        MofNCompleteColumn(),
        TextColumn("frames, {task.fields[speed]} a second,"),
        TimeRemainingColumn(compact=True),
        TextColumn("left"),
    )
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=None, speed="-")

        def told(done: int, total: int) -> None:
            speed = bar.tasks[0].finished_speed or bar.tasks[0].speed
            shown = "-" if speed is None else f"{speed:.0f}" if speed >= 10 else f"{speed:.1f}"
            bar.update(task, completed=done, total=total, speed=shown)

        yield told


def _plain(report: ClipReport) -> dict[str, Any]:
    shape, seconds = report.shape, max(report.seconds, 1e-9)
    return {
        "output": str(report.output),
        "codec": shape.codec,
        "width": shape.width,
        "height": shape.height,
        "pixel_aspect": str(shape.pixel_aspect),
        "rate": str(shape.rate),
        "first_field": shape.fields,
        "frames": report.frames,
        "timecode": report.timecode,
        "sound": None if report.loudness is None else vars(report.loudness),
        "seconds": round(seconds, 3),
        "frames_a_second": round(report.frames / seconds, 2),
        "caution": _caution(report),
        "notices": list(report.notices),
    }


def _caution(report: ClipReport) -> str:
    from keyer.kinds.cautions import LOOPED, UNCHECKED
    from keyer.media.animated import ANIMATED

    return f"{UNCHECKED} {LOOPED}" if report.shape.codec in ANIMATED else UNCHECKED


def _print(report: ClipReport) -> None:
    from keyer.kinds.timing import rate_name

    shape, seconds = report.shape, max(report.seconds, 1e-9)
    say(
        f"{report.output}: {report.frames} frames from {report.timecode}, {shape.codec}, "
        f"{shape.width} x {shape.height}, {rate_name(shape.rate)} frames a second{_fields(shape)}; "
        f"{seconds:.1f} s, {report.frames / seconds:.1f} frames a second"
    )
    if report.loudness:
        say(f"  {_heard(report.loudness)}")
    say(_caution(report))


def _fields(shape: Shape) -> str:
    return "" if shape.fields is None else f", interlaced, {shape.fields} field first"


def _heard(sound: Loudness) -> str:
    """Say how loud the sound is, beside what EBU R 128 asks of a programme."""
    if sound.sample_peak_dbfs is None or sound.true_peak_dbtp is None:
        return "Sound: silence."
    loud = "too short or too soft to have a loudness"
    if sound.integrated_lufs is not None:
        loud = f"loudness {sound.integrated_lufs:.1f} LUFS (ITU-R BS.1770)"
    return (
        f"Sound: {loud}, true peak {sound.true_peak_dbtp:.1f} dBTP, sample peak "
        f"{sound.sample_peak_dbfs:.1f} dBFS. EBU R 128 asks for -23 LUFS and at most -1 dBTP."
    )
