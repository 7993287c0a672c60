"""A station's rules: what its desk takes, from a file that a sheet names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

from pydantic import ValidationError

from keyer.documents.faults import Place as Line
from keyer.documents.faults import Places, sheet_error
from keyer.documents.locate import Path as KeyPath
from keyer.documents.locate import line_map
from keyer.documents.mistaken import refuse_sheet
from keyer.documents.read import parse_toml, read_text, text_name
from keyer.documents.refusals import refusals
from keyer.kinds.timing import count_rate, parse_time
from keyer.measure.cells import Place
from keyer.measure.levels import Allowed
from keyer.measure.safe_areas import SafeArea
from keyer.measure.title_rules import NO_RULES, TitleRules, Zone
from keyer.sheet.dials import Dial
from keyer.sheet.fault_log import FaultLog
from keyer.sheet.sound import Loudness
from keyer.sheet.station_tables import LimitTable, StationTable
from keyer.sheet.values import Time

Span = tuple[int, int]
"""Frames at least and at most."""


@dataclass(frozen=True)
class OwnLimit:
    """A station's own limit to a check's value; None: none to that side."""

    check: str
    least: float | None
    most: float | None
    note: str = ""


@dataclass(frozen=True)
class Station:
    """The rules of a station, at the rate of a sheet.

    Attributes
    ----------
    name, note : str
    file : Path
    lengths : tuple of int
        Frames that a spot may have; empty: any.
    head, tail : (int, int) or None
        Frames of black at least and at most.
    levels : Allowed or None
    loudness : Loudness or None
    titles : TitleRules
    limits : tuple of OwnLimit
    dials : mapping of str to Dial
        By the name of the setting.
    """

    name: str
    note: str
    file: Path
    lengths: tuple[int, ...] = ()
    head: Span | None = None
    tail: Span | None = None
    levels: Allowed | None = None
    loudness: Loudness | None = None
    titles: TitleRules = NO_RULES
    limits: tuple[OwnLimit, ...] = ()
    dials: Mapping[str, Dial] = field(default_factory=dict)

    @property
    def source(self) -> str:
        """Source of the station's limits, as findings name it."""
        return _source(self.name)


def _source(name: str) -> str:
    return f"rules of {name}"


def load_station(path: Path, rate: Fraction) -> Station:
    """Load a station's rules.

    Parameters
    ----------
    path : Path
        A TOML file.
    rate : Fraction
        Frames a second of the sheet that follows them. Times are read by the
        timecode that is counted there: `10s` is 300 frames at 29.97.

    Raises
    ------
    InputFileError
        If the file cannot be read, or is no text.
    SheetError
        If the rules do not hold; lists every fault.
    """
    text, name = read_text(path, "a station's rules"), text_name(path)
    data = parse_toml(text, name)
    refuse_sheet(data, name, "a station's rules")
    places = Places(name, {at: Line(name, line) for at, line in line_map(text).items()})
    try:
        table = StationTable.model_validate(data)
    except ValidationError as error:
        raise sheet_error(name, refusals(error, data, places, StationTable)) from None
    log = FaultLog(places)
    station = _resolved(table, path, Fraction(count_rate(rate)), log)
    if log.faults:
        raise sheet_error(name, log.faults)
    return station


def _resolved(table: StationTable, path: Path, count: Fraction, log: FaultLog) -> Station:
    log.spans((), table)
    black, levels, titles, loudness = table.black, table.levels, table.titles, table.loudness
    if not table.station.strip():
        log.fault(("station",), "must name the station, for findings to say whose rules they are.")
    return Station(
        table.station,
        table.note,
        path,
        tuple(
            _frames(log, ("lengths", n), one, count, least=1) for n, one in enumerate(table.lengths)
        ),
        None if black is None else _span(log, ("black", "head"), black.head, count),
        None if black is None else _span(log, ("black", "tail"), black.tail, count),
        None if levels is None else Allowed(levels.lowest, levels.highest, levels.area),
        None
        if loudness is None
        else Loudness(loudness.target, loudness.tolerance, loudness.true_peak),
        TitleRules(
            _source(table.station),
            None if titles is None else _safe(log, table),
            None if titles is None else titles.smallest,
            None if titles is None else titles.largest,
            tuple(_zone(log, n, table) for n in range(len(table.zones))),
        ),
        tuple(_limit(log, n, one) for n, one in enumerate(table.limits)),
        {str(name): _dial(log, str(name), table) for name in table.dials},
    )


def _frames(log: FaultLog, path: KeyPath, value: Time, count: Fraction, least: int = 0) -> int:
    frames = log.tried(path, least, parse_time, value, count, "time")
    if frames < least:
        log.fault(path, "must be at least one frame.")
    return frames


def _span(
    log: FaultLog, path: KeyPath, pair: tuple[Time, Time] | None, count: Fraction
) -> Span | None:
    if pair is None:
        return None
    first, last = (_frames(log, (*path, n), one, count) for n, one in enumerate(pair))
    if first > last:
        log.fault(path, f"must be at least and at most, got {first} and {last} frames.")
    return first, last


def _safe(log: FaultLog, table: StationTable) -> SafeArea | None:
    """Make the station's safe area; what it leaves open is as large as what it states."""
    titles = table.titles
    if titles is not None and titles.smallest and (titles.largest or 100) < titles.smallest:
        message = f"must be at least `smallest`, {titles.smallest:g}, got {titles.largest:g}."
        log.fault(("titles", "largest"), message)
    if titles is None or (titles.action is None and titles.title is None):
        return None
    action, title = titles.action or titles.title or 100, titles.title or titles.action or 100
    if title > action:
        message = f"must lie within the action area of {action:g} %, got {title:g}."
        log.fault(("titles", "title"), message)
    return SafeArea(action / 100, title / 100, _source(table.station))


def _zone(log: FaultLog, index: int, table: StationTable) -> Zone:
    zone = table.zones[index]
    log.spans(("zones", index), zone)
    left, top, width, height = zone.box
    if not (width > 0 and height > 0 and left + width <= 100 and top + height <= 100):
        message = (
            "must be left, top, width and height of a part of the picture, got "
            f"{list(zone.box)}. A third at the foot of it is [0, 66.7, 100, 33.3]."
        )
        log.fault(("zones", index, "box"), message)
    return Zone(zone.name, Place(left, top, width, height))


def _limit(log: FaultLog, index: int, table: LimitTable) -> OwnLimit:
    least, most = table.least, table.most
    if least is None and most is None:
        log.fault(("limits", index), "needs `least` or `most`.")
    elif least is not None and most is not None and least > most:
        log.fault(("limits", index, "most"), f"must be at least `least`, {least:g}, got {most:g}.")
    return OwnLimit(table.check, least, most, table.note)


def _dial(log: FaultLog, name: str, table: StationTable) -> Dial:
    dial = table.dials[name]  # type: ignore[index]  # a name that is known to be one of them
    path: KeyPath = ("dials", name)
    log.spans(path, dial)
    if len(dial.points) < 2:
        log.fault((*path, "points"), "must be at least two pairs of our value and the reading.")
    for (before, _), (after, _) in pairwise(dial.points):
        if not after > before:
            message = f"must go by rising value, got {after:g} after {before:g}."
            log.fault((*path, "points"), message)
            break
    return Dial(dial.unit, dial.points, dial.step)
