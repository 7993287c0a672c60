"""A sheet converted to another rate, size or shape: every time by a stated rule.

A point in time goes to the nearest frame. A transition begins and ends on the
frames nearest to its own beginning and end, so that what fitted fits still;
asked to be kept in frames, it keeps their number. A length that is a whole
number of seconds of timecode stays one: 30 seconds are 900 frames at 29.97,
counted as timecode counts them (SMPTE ST 12-1).
"""

from __future__ import annotations

from dataclasses import dataclass

from keyer.errors import SettingError, SheetError
from keyer.kinds.formats import VideoFormat
from keyer.report.versions.convert_times import Conversion, Rounding
from keyer.sheet.edit import change_sheet, work_in
from keyer.sheet.sheet import Sheet


@dataclass(frozen=True, eq=False)
class Converted:
    """A sheet in another format.

    Attributes
    ----------
    sheet : Sheet
    roundings : tuple of Rounding
        Every time that could not stay what it was.
    notices : tuple of str
    """

    sheet: Sheet
    roundings: tuple[Rounding, ...]
    notices: tuple[str, ...]


def convert_sheet(sheet: Sheet, form: VideoFormat, *, lengths: str = "seconds") -> Converted:
    """Convert a sheet to another format.

    Parameters
    ----------
    sheet : Sheet
    form : VideoFormat
    lengths : {"seconds", "frames"}
        What transitions and fades keep.

    Raises
    ------
    SettingError
        If it does not hold in that format.
    """
    notices = []
    states = _worked_in(sheet)
    if states:
        sheet = work_in(sheet)
        lost = "; comments of what was included are not kept" if "include" in states else ""
        notices.append(
            f"{' and '.join(_WORKED_IN[key] for key in states)} written into the sheet{lost}."
        )
    work = Conversion(sheet, form, keep=lengths == "frames")
    work.all()
    try:
        made = change_sheet(sheet, work.changes)
    except SheetError as error:
        why = "; ".join(f"{fault.path}: {fault.message}" for fault in error.faults)
        msg = f"the sheet does not fit format {form.name}: {why}"
        raise SettingError(msg) from None
    return Converted(made, tuple(work.roundings), (*notices, *work.notices))


_WORKED_IN = {"include": "includes", "variables": "variables"}


def _worked_in(sheet: Sheet) -> list[str]:
    """Tell by what else than its own text a sheet says what it says."""
    import tomllib

    own = tomllib.loads(sheet.text)
    return [key for key in _WORKED_IN if key in own]
