"""A version of a spot frozen as it is approved: one file beside the sheet."""

from __future__ import annotations

import dataclasses
import hashlib
import json
import os
from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, datetime
from pathlib import Path

from keyer.errors import SettingError
from keyer.media.bundle import pack
from keyer.media.encode_still import encode_still
from keyer.media.files import Files
from keyer.media.write import write_bytes
from keyer.render.inputs import sheet_inputs
from keyer.render.plan import Plan
from keyer.render.recipe import program, recipe_of
from keyer.report.boards.board import frame_pixels
from keyer.report.versions.approval import FACTS, Approval
from keyer.report.versions.kept import picture_name, small
from keyer.sheet.load import load_sheet
from keyer.sheet.variables import Value


def approve_file(
    path: Path,
    *,
    by: str = "",
    note: str = "",
    now: datetime | None = None,
    progress: Callable[[int, int], None] | None = None,
    variables: Mapping[str, Value] | None = None,
) -> Approval:
    """Freeze a sheet as it is into a file beside it.

    Parameters
    ----------
    path : Path
        The sheet.
    by, note : str
    now : datetime, optional
        Default: the time it is.
    progress : callable, optional
        Told how many frames are done, of how many.
    variables : mapping of str to text, number or switch, optional
        As for `load_sheet`.

    Raises
    ------
    KeyerError
    """
    files = Files((path,))
    sheet = load_sheet(path, variables=variables)
    files.read(*sheet_inputs(sheet))
    when = (now or datetime.now(UTC)).astimezone(UTC)
    target = files.write(_free_name(path, when))
    recipe = recipe_of(sheet)
    pictures: dict[str, bytes] = {}
    with Plan(sheet) as plan:
        shown = tuple(_small_pictures(plan, pictures, progress))
        for frame in sheet.stills:
            name = f"stills/{frame:06d}.png"
            pictures[name] = encode_still(plan.picture(frame), Path(name))
    made = Approval(
        recipe.digest, recipe.name, recipe.sheet, recipe.files, when.isoformat(timespec="seconds"),
        by, note, sheet.stills, shown, program(),
    )  # fmt: skip
    facts = dataclasses.asdict(made)
    del facts["path"], facts["seal"]
    text = json.dumps(facts, ensure_ascii=False, sort_keys=True, indent=1)
    data = pack({FACTS: text.encode(), "sheet.toml": recipe.sheet.encode(), **pictures})
    write_bytes(target, data, files)
    return dataclasses.replace(made, path=target, seal=hashlib.sha256(data).hexdigest())


def _free_name(path: Path, when: datetime) -> Path:
    """Name the file by sheet and day; a second one of a day is numbered."""
    day = f"{path.stem}.approved-{when.date().isoformat()}"
    names = (path.with_name(f"{day}{n}.zip") for n in ("", *(f"-{n}" for n in range(2, 1000))))
    free = next((name for name in names if not os.path.lexists(name)), None)
    if free is None:
        msg = f"{path} must not be approved more often in a day. Move some of its files away."
        raise SettingError(msg)
    return free


def _small_pictures(
    plan: Plan, pictures: dict[str, bytes], progress: Callable[[int, int], None] | None
) -> Iterator[tuple[int, int]]:
    """Make a small picture of every distinct frame; yields from where on each is seen."""
    numbers: dict[bytes, int] = {}
    before = -1
    for frame in range(plan.sheet.length):
        signature = plan.frame(frame).signature
        if signature not in numbers:
            numbers[signature] = len(numbers)
            pictures[picture_name(numbers[signature])] = small(frame_pixels(plan, frame))
        if numbers[signature] != before:
            before = numbers[signature]
            yield frame, before
        if progress is not None:
            progress(frame + 1, plan.sheet.length)
