"""What a batch does: which columns of the rows set what in the sheet.

A column sets a variable of the sheet (`[variables]`), or a field of a title
on the sheet, by its name. A variable that stands in title fields alone costs
nothing to change; any other makes a sheet of its own, which is kept while
rows go on using it.
"""

from __future__ import annotations

import dataclasses
import secrets
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from keyer.batch.rows import REMARK, Row, unknown_columns
from keyer.batch.stored import Stored
from keyer.documents.faults import nearest, sentences
from keyer.documents.reach import Reach
from keyer.errors import SettingError, SheetError
from keyer.render.lettering import title_parts
from keyer.render.levels import Level, levels
from keyer.sheet.load import declared_variables, load_sheet
from keyer.sheet.sheet import Overlay, Sheet
from keyer.sheet.source import Source, Title
from keyer.sheet.variables import Value, of_kind

Fields = dict[str, dict[str, str]]
"""Title source to its fields' values."""


@dataclass(frozen=True)
class Filled:
    """A row's cells, sorted into the sheet's variables and its titles' fields.

    Attributes
    ----------
    variables : tuple of (name, value)
        Those that make another sheet.
    fields : tuple of (title source, tuple of (field, value))
        What stands in the titles.
    """

    variables: tuple[tuple[str, Value], ...]
    fields: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]


@dataclass(frozen=True)
class Job:
    """A sheet with the columns that rows may set.

    Attributes
    ----------
    path : Path
        The sheet.
    stored : Stored
        What becomes of a row, and how it is stored.
    at : str, int or float or None
        Time of the still, and of the checks; None: when the last title has come in fully.
    file_column : str
        The column that names the outputs.
    variables : mapping
        Column to the value that the sheet itself gives that variable, for
        those that make another sheet.
    slots : mapping
        Column to where it stands: (title source, field, text before, text after).
    defaults : mapping
        Title source to the values that the sheet itself gives.
    colours : frozenset of (title source, field)
        Fields that are colours.
    pictures : frozenset of (title source, field)
        Fields that are pictures.
    pixel_aspect : Fraction
    small : int
        Columns and rows at most of the small pictures that are kept for contact sheets; 0: none.
    """

    path: Path
    stored: Stored
    at: str | float | None
    file_column: str
    variables: Mapping[str, Value]
    slots: Mapping[str, tuple[tuple[str, str, str, str], ...]]
    defaults: Mapping[str, Mapping[str, str]]
    colours: frozenset[tuple[str, str]]
    pictures: frozenset[tuple[str, str]] = frozenset()
    pixel_aspect: Fraction = Fraction(1)
    small: int = 0

    def doubts(self, row: Row) -> Iterator[str]:
        """Tell the cells of a row of which nobody knows what a person sees in them.

        Yields
        ------
        str
            A number that sets a number is what it is, however it is shown.
        """
        for column, doubt in row.doubts.items():
            plain = isinstance(self.variables.get(column), int | float)
            if not (plain and doubt.value_known):
                yield doubt.message

    def filled(self, cells: Mapping[str, str]) -> Filled:
        """Sort a row's cells into variables and fields.

        Parameters
        ----------
        cells : mapping
            Column to text. An empty cell empties a text; it leaves a colour or
            another variable as the sheet has it.

        Raises
        ------
        SettingError
            If a cell is not of its variable's kind.
        """
        fields: Fields = {title: dict(values) for title, values in self.defaults.items()}
        variables: list[tuple[str, Value]] = []
        for column, text in cells.items():
            if column in self.variables and text:
                variables.append((column, of_kind(column, text, self.variables[column])))
            for title, field, before, after in self.slots.get(column, ()):
                if (title, field) in self.pictures:
                    found = self._picture(column, f"{before}{text}{after}") if text else ""
                    fields[title][field] = found
                elif text or (title, field) not in self.colours:
                    fields[title][field] = f"{before}{text}{after}"
        return Filled(
            tuple(variables),
            tuple((title, tuple(values.items())) for title, values in fields.items()),
        )

    def _picture(self, column: str, name: str) -> str:
        """Find a picture that a cell names: beside the sheet or below, as tables come from outside.

        Raises
        ------
        SettingError
        """
        home = self.path.parent.absolute()
        try:
            return str(Reach(home, home).find(name))
        except SettingError:
            msg = (
                f"{column} must name a picture in {home} or below, got {name!r:.80}. Copy it there."
            )
            raise SettingError(msg) from None


def make_job(
    path: str | Path,
    columns: Sequence[str],
    stored: Stored = Stored(),  # noqa: B008  frozen
    *,
    at: str | float | None = None,
    file_column: str = "file",
    as_in_sheet: Collection[str] = (),
) -> Job:
    """Find what each column sets.

    Parameters
    ----------
    path : str or Path
        The sheet.
    columns : sequence of str
        Of the rows.
    stored : Stored
    at : str, int or float, optional
        Time of the still.
    file_column : str
        The column that names the outputs.
    as_in_sheet : collection of str
        Fields that no column sets and that stay as the sheet fills them.

    Raises
    ------
    SettingError
        If a column sets nothing, none names the outputs, or the sheet's own
        words would stand on every picture; lists all.
    SheetError, InputFileError
        If the sheet or a design does not hold.
    """
    file = Path(path)
    sheet = load_sheet(file)
    titles = sheet_titles(sheet)
    if stored.kind != "over" and not titles:
        msg = (
            f"kind {stored.kind} needs a title on the sheet, found none. Add a title as an overlay."
        )
        raise SettingError(msg)
    known = {name: title_parts(title)[0].design.fields for name, title in titles.items()}
    declared = declared_variables(file)
    variables: dict[str, Value] = {}
    slots: dict[str, list[tuple[str, str, str, str]]] = {}
    unknown = []
    for column in columns:
        if column == file_column or column.startswith(REMARK):
            continue
        direct = [(title, column, "", "") for title, fields in known.items() if column in fields]
        if column in declared:
            shallow = _slots_of_variable(file, sheet, column)
            if shallow is None:
                variables[column] = declared[column]
            else:
                slots[column] = shallow
        elif direct:
            slots[column] = direct
        else:
            unknown.append(column)
    defaults = {name: title_parts(title)[1] for name, title in titles.items()}
    colours = frozenset(
        (title, field)
        for title, rules in known.items()
        for field, rule in rules.items()
        if rule.kind == "colour"
    )
    pictures = frozenset(
        (title, field)
        for title, rules in known.items()
        for field, rule in rules.items()
        if rule.kind == "picture"
    )
    fields = {field for rules in known.values() for field in rules}
    faults = [
        *_column_faults(columns, unknown, file_column, [*declared, *fields]),
        *(
            f"field {field!r} to stay as in the sheet is in no title.{nearest(field, fields)}"
            for field in as_in_sheet
            if field not in fields
        ),
        *_sample_faults(defaults, slots, colours, as_in_sheet),
    ]
    if faults:
        raise SettingError(sentences(faults))
    return Job(
        file, stored, at, file_column, variables,
        {column: tuple(places) for column, places in slots.items()}, defaults, colours,
        pictures, sheet.format.pixel_aspect,
    )  # fmt: skip


def _column_faults(
    columns: Sequence[str], unknown: Sequence[str], file_column: str, known: Sequence[str]
) -> Iterator[str]:
    if file_column not in columns:
        yield (
            f"the rows must have a column {file_column!r} that names the outputs."
            f"{nearest(file_column, columns)}"
        )
    yield from unknown_columns(
        unknown, known, "sets nothing on the sheet", "set nothing on the sheet"
    )


def _sample_faults(
    defaults: Mapping[str, Mapping[str, str]],
    slots: Mapping[str, Sequence[tuple[str, str, str, str]]],
    colours: Collection[tuple[str, str]],
    wanted: Collection[str],
) -> Iterator[str]:
    """Find words of the sheet, put there to design with, that every picture would show."""
    filled = {(title, field) for places in slots.values() for title, field, _, _ in places}
    for title, values in defaults.items():
        for field, text in values.items():
            place = (title, field)
            if text.strip() and field not in wanted and place not in filled | set(colours):
                yield (
                    f"no column sets field {field!r}: every picture would show {text!r:.60}, as in "
                    f"the sheet. Add the column, or keep that text (--as-in-sheet {field})."
                )


def sheet_titles(sheet: Sheet) -> dict[str, Title]:
    """Titles that lie over the base of a sheet, by the name of their source."""
    shown = {overlay.source for _, overlay, _ in titles_over(sheet)}
    return {
        name: source.content
        for name, source in sheet.sources.items()
        if name in shown and isinstance(source.content, Title)
    }


def titles_over(sheet: Sheet) -> Iterator[tuple[Level, Overlay, Overlay]]:
    """Yield what shows titles over the base of a sheet, in its own effects as well.

    Yields
    ------
    level : Level
    overlay : Overlay
        That shows a title in it.
    top : Overlay
        Of the sheet, in which that is: itself, or what shows the effect around it.
    """
    for level in levels(sheet):
        top = _top(level)
        if level.home or (top is None and level.outer is not None):
            continue
        for overlay in level.sheet.overlays:
            over = top or overlay
            titled = isinstance(sheet.sources[overlay.source].content, Title)
            if titled and overlay.key is None and over.key is None:
                yield level, overlay, over


def _top(level: Level) -> Overlay | None:
    """Find the overlay of the spot within which a level is shown; None for its base."""
    while level.outer is not None and level.outer.outer is not None:
        level = level.outer
    return level.row if isinstance(level.row, Overlay) else None


def _slots_of_variable(
    file: Path, sheet: Sheet, variable: str
) -> list[tuple[str, str, str, str]] | None:
    """Find where a variable stands, if that is in the fields of titles alone.

    The sheet is read again with a text that stands nowhere else; if nothing
    but fields has changed, they show where it went.
    """
    mark = f"mark{secrets.token_hex(8)}"
    try:
        marked = load_sheet(file, variables={variable: mark})
    except SheetError:
        return None
    if _without_fields(marked) != _without_fields(sheet):
        return None
    slots = []
    for name, title in sheet_titles(marked).items():
        for field, text in title.fields:
            before, found, after = text.partition(mark)
            if found and mark in after:
                return None  # stands twice in one text
            if found:
                slots.append((name, field, before, after))
    return slots


def _without_fields(sheet: Sheet) -> Sheet:
    def bare(source: Source) -> Source:
        if not isinstance(source.content, Title):
            return source
        return dataclasses.replace(source, content=dataclasses.replace(source.content, fields=()))

    return dataclasses.replace(sheet, sources={n: bare(s) for n, s in sheet.sources.items()})
