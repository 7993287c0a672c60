"""`keyer clip SHEET -o OUT`: a sheet as a clip, with its sound."""

from __future__ import annotations

import re
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Annotated, Any

import typer

from keyer.cli.common import (
    Force,
    Json,
    Output,
    Set,
    SheetFile,
    notice,
    print_json,
    wait_for_kernels,
)
from keyer.cli.voice import say
from keyer.errors import SettingError
from keyer.kinds import stopping

if TYPE_CHECKING:
    from keyer.batch.clip_cluster import ClipOrder
    from keyer.media.loudness import Loudness
    from keyer.render.clip import ClipReport
    from keyer.render.clip_job import ClipJob
    from keyer.render.clip_parts import Parts
    from keyer.render.clip_shape import Shape


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(clip)


def clip(
    sheet: SheetFile,
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
    part: Annotated[
        str,
        typer.Option("--part", metavar="K/N", help="Render part K of N only, for --parts to join."),
    ] = "",
    parts: Annotated[
        int | None,
        typer.Option("--parts", metavar="N", help="Render the parts that are missing, join all N."),
    ] = None,
    scheduler: Annotated[
        str,
        typer.Option("--scheduler", help="Render the parts on a dask.distributed cluster."),
    ] = "",
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
    from keyer.render.clip_job import clip_job
    from keyer.sheet.load import load_sheet, read_values

    if part and parts is not None:
        msg = "part and parts exclude each other: one renders a part, one joins all. Leave one out."
        raise SettingError(msg)
    if scheduler and parts is None:
        msg = "scheduler renders a clip in parts. Say in how many, --parts N."
        raise SettingError(msg)
    variables = read_values(sheet, values)
    settings: dict[str, Any] = {
        "codec": codec,
        "start": start,
        "end": end,
        "scale": scale,
        "interlace": interlace,
        "slate": slate,
        "textless": textless,
        "force": force,
    }
    job = clip_job(load_sheet(sheet, variables=variables), output, **settings)
    if part:
        _one_part(job, part, json=json)
        return
    if scheduler and parts is not None:
        from keyer.batch.clip_cluster import ClipOrder

        order = ClipOrder(sheet, output, variables or {}, settings, parts)
        report = _on_cluster(job, order, scheduler, json=json)
    else:
        report = _whole(job) if parts is None else _in_parts(job, parts)
    if json:
        print_json(_plain(report))
    else:
        _print(report)
    for text in report.notices:
        notice(text)


def _whole(job: ClipJob) -> ClipReport:
    from keyer.render.clip import render_job

    with _progress() as show:
        return render_job(job, progress=show)


def _on_cluster(job: ClipJob, order: ClipOrder, address: str, *, json: bool) -> ClipReport:
    from keyer.batch.clip_cluster import render_on_cluster
    from keyer.batch.workers import Workers
    from keyer.cli.progress import progress
    from keyer.render.clip_parts import cut, join

    parts, workers = cut(job, order.parts), Workers()
    stopping.advise("finished parts stay. Run the same command again to do the rest.")
    began = time.monotonic()
    with progress(quiet=json, also=lambda: str(workers)) as told:
        notices = render_on_cluster(
            order, parts, address, notice, workers, partial(told, "pictures")
        )
    report = join(parts)
    stopping.advise("")
    _name_others(parts)
    seconds = time.monotonic() - began
    return replace(report, seconds=seconds, notices=(*notices, *report.notices))


def _in_parts(job: ClipJob, count: int) -> ClipReport:
    from keyer.render.clip_parts import cut, render_in_parts

    parts = cut(job, count)
    stopping.advise("finished parts stay. Run the same command again to do the rest.")
    with _progress() as show:
        report = render_in_parts(parts, progress=show)
    stopping.advise("")
    _name_others(parts)
    return report


def _name_others(parts: Parts) -> None:
    from keyer.render.clip_parts import others

    for folder in others(parts):
        notice(f"{folder} holds parts of another state of this clip. Delete it if nobody needs it.")


def _one_part(job: ClipJob, text: str, *, json: bool) -> None:
    from keyer.render.clip_parts import cut, render_part

    number, count = _which(text)
    parts = cut(job, count)
    with _progress() as show:
        notices = render_part(parts, number, progress=show)
    span = parts.spans[number - 1]
    if json:
        print_json({
            "output": str(parts.path(number)), "part": number, "parts": count,
            "first": span.start, "frames": len(span), "missing": parts.missing(),
            "notices": list(notices),
        })  # fmt: skip
    else:
        missing = parts.missing()
        say(f"{parts.path(number)}: pictures {span.start} to {span.stop - 1}")
        say(
            f"{len(missing)} of {count} parts are missing: {', '.join(map(str, missing))}."
            if missing
            else f"all {count} parts are there: join them with --parts {count}."
        )
    for said in notices:
        notice(said)


def _which(text: str) -> tuple[int, int]:
    match = re.fullmatch(r"(\d{1,4})/(\d{1,4})", text)
    if match is None:
        demand = f"must be K/N, such as 3/10, got {text!r}."
        raise SettingError(demand, "part")
    return int(match[1]), int(match[2])


SOON = 20.0
"""Seconds of work after which it is told how long the rest takes, if that is as long again."""

FIRST = 3
"""Frames that tell nothing: they wait for what is worked out once."""


class Estimate:
    """Says once how long a long clip takes, from the frames that are done.

    Parameters
    ----------
    clock : callable
        Seconds.
    """

    def __init__(self, clock: Callable[[], float]) -> None:
        self._clock, self._began = clock, clock()
        self._from: float | None = None
        self._said = False

    def __call__(self, done: int, total: int) -> None:
        """Take how many frames of how many are done."""
        now = self._clock()
        if done == FIRST:
            self._from = now
        if self._said or self._from is None or done == FIRST or now - self._began < SOON:
            return
        self._said = True
        left = (now - self._from) / (done - FIRST) * (total - done)
        if left >= SOON:
            notice(f"{done} of {total} frames are done; the rest takes about {_lasting(left)}.")


def _lasting(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 90 else f"{seconds / 60:.0f} min"


@contextmanager
def _progress() -> Iterator[Callable[[int, int], None] | None]:
    """Show frames a second and time left on standard error; into a pipe, once, what is to come."""
    if not sys.stderr.isatty():
        yield Estimate(time.monotonic)
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
