"""From the models to the sheet that the renderer takes, with every cross check."""

from __future__ import annotations

from dataclasses import replace

from keyer.documents.locate import Path
from keyer.documents.reach import Reach
from keyer.errors import KeyerError, SheetError
from keyer.kinds.formats import VideoFormat, parse_format
from keyer.kinds.timing import can_drop
from keyer.sheet.effect import WholeFade
from keyer.sheet.fault_log import FaultLog
from keyer.sheet.models import Document, FadeTable
from keyer.sheet.named_times import named_times
from keyer.sheet.remarks import resolve_remarks, resolve_stills
from keyer.sheet.resolve_effect import check_key, check_transition
from keyer.sheet.resolve_sound import resolve_loudness, resolve_sound
from keyer.sheet.resolve_source import Loader, check_matches, resolve_source
from keyer.sheet.resolve_stack import resolve_effects, resolve_stack
from keyer.sheet.sheet import Sheet
from keyer.sheet.source import File
from keyer.sheet.station import Station, load_station


def resolve(document: Document, log: FaultLog, reach: Reach, load: Loader) -> Sheet | None:
    """Resolve a document, noting every fault.

    Parameters
    ----------
    document : Document
    log : FaultLog
    reach : Reach
        Where files are found.
    load : callable
        Loads another sheet.

    Returns
    -------
    Sheet or None
        None if a fault was found.
    """
    table = document.sheet
    if not log.suspect(("sheet", "format")):
        log.format = log.tried(("sheet", "format"), None, parse_format, table.format)
    log.named = named_times(document, log)
    length = log.time(("sheet", "length"), table.length)
    if length == 0:
        log.fault(("sheet", "length"), "must be at least one frame.")
        length = None
    start = log.time(("sheet", "start"), table.start)
    sources = {
        name: resolve_source(log, name, source, reach, load)
        for name, source in document.sources.items()
    }
    check_matches(log, sources)
    for name, house in document.transitions.items():
        check_transition(log, ("transitions", name), house)
    for name, key in document.keys.items():
        check_key(log, ("keys", name), key)
    cues, overlays = resolve_stack(log, document, (), document, length)
    effects = resolve_effects(log, document, length)
    called = {one.name for one in document.sound}
    sounds = [
        resolve_sound(log, index, sound, reach, length, called, sources)
        for index, sound in enumerate(document.sound)
    ]
    loudness = resolve_loudness(log, table.loudness)
    fades = [
        _fade(log, ("sheet", key), fade, length)
        for key, fade in (("fade_in", table.fade_in), ("fade_out", table.fade_out))
    ]
    lengths = [fade.length for fade in fades if fade is not None]
    if length is not None and sum(lengths) > length:
        message = f"fades of {' and '.join(map(str, lengths))} frames do not fit into {length}."
        log.fault(("sheet", "fade_out" if table.fade_out else "fade_in"), message)
    remarks = resolve_remarks(log, document.remarks, length)
    stills = resolve_stills(log, table.stills, length)
    wanted = (table.patterns,) if isinstance(table.patterns, str) else table.patterns
    patterns = tuple(File(log.file(("sheet", "patterns"), reach, name), name) for name in wanted)
    station = _station(log, table.rules, reach)
    if log.faults or log.format is None or length is None or start is None:
        return None
    return Sheet(
        title=table.title,
        note=table.note,
        format=log.format,
        length=length,
        light=table.light,
        start=start,
        drop=_drops(table.start, log.format),
        sources={name: source for name, source in sources.items() if source},
        cues=cues,
        overlays=overlays,
        effects=effects,
        fade_in=fades[0],
        fade_out=fades[1],
        sounds=tuple(sounds),
        loudness=loudness,
        patterns=patterns,
        remarks=remarks,
        stills=stills,
        named=log.named,
        station=station,
        folder=reach.folder,
        confined=reach.within,
    )


def _fade(
    log: FaultLog, path: Path, table: FadeTable | None, whole: int | None
) -> WholeFade | None:
    if table is None:
        return None
    length = log.time((*path, "length"), table.length)
    if length == 0 and whole is not None:
        log.fault((*path, "length"), "must be at least one frame.")
    colour = log.colour((*path, "colour"), table.colour)
    return WholeFade(length, colour, table.curve) if length else None


def _station(log: FaultLog, name: str, reach: Reach) -> Station | None:
    """Load the rules of the station; what is wrong in them is told with their own lines."""
    if not name or log.format is None:
        return None
    path = ("sheet", "rules")
    try:
        return load_station(reach.find(name), log.format.rate)
    except SheetError as error:
        log.faults += [replace(fault, file=fault.file or name) for fault in error.faults]
    except KeyerError as error:
        log.fault(path, str(error))
    return None


def _drops(start: str | float, form: VideoFormat) -> bool:
    """Whether timecode is printed as drop-frame: unless the start is written otherwise."""
    return can_drop(form.rate) and not (isinstance(start, str) and start.count(":") == 3)
