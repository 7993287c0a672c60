"""A store of pages put in order: pages deleted, renumbered, handed on to another store.

Nothing is lost, whoever else works in the store at the same time: a deleted page
is moved aside, and no page takes the number of another.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from keyer.batch.choose_rows import read_spans
from keyer.batch.grid import spans
from keyer.errors import InputFileError, SettingError, StorageError
from keyer.kinds.plain_file import open_plain
from keyer.media.files import Files, there_already, unwritable
from keyer.media.rename import move_aside, rename
from keyer.media.unfinished import unfinished_folder
from keyer.media.write import write_bytes
from keyer.titles.page_list import DELETED, listed_page, page_name, page_numbers
from keyer.titles.pages import check_number, design_folder, not_there


def choose_pages(store: Path, numbers: str) -> list[int]:
    """Choose pages of a store.

    Parameters
    ----------
    store : Path
    numbers : str
        `2-40,57,90-`; empty: all.

    Returns
    -------
    list of int
        In order; at least one.

    Raises
    ------
    SettingError
        If a number that is named by itself, or every one of a span, is not there.
    """
    there = page_numbers(store)
    if not there:
        msg = f"{store} must be a store with pages in it, found none. Name its folder (--pages)."
        raise SettingError(msg)
    if not numbers:
        return there
    found: set[int] = set()
    for first, end in read_spans(numbers, "numbers", "numbers of pages"):
        inside = {n for n in there if first <= n <= (there[-1] if end is None else end)}
        if not inside and first == end:
            raise not_there(store, check_number(first))
        if not inside:
            msg = f"no page of {store} has a number from {first} to {end or 'the last'}."
            raise SettingError(msg)
        found |= inside
    return sorted(found)


def delete_pages(store: Path, numbers: Sequence[int]) -> dict[int, Path]:
    """Move pages aside, into a folder of the store.

    Returns
    -------
    dict
        Number to where its page is now. Not in it: what somebody else has
        taken away meanwhile.

    Raises
    ------
    StorageError
        If a page cannot be moved; those before it are.
    """
    moved: dict[int, Path] = {}
    for number in numbers:
        try:
            moved[number] = move_aside(store / page_name(number), store / DELETED)
        except FileNotFoundError:
            continue
        except OSError as error:
            raise _stuck(number, error, moved) from error
    return moved


def renumber_pages(store: Path, numbers: Sequence[int], first: int) -> dict[int, int]:
    """Give pages other numbers: the lowest becomes `first`, and the gaps between them stay.

    Parameters
    ----------
    store : Path
    numbers : sequence of int
        In order.
    first : int

    Returns
    -------
    dict
        Old number to new.

    Raises
    ------
    SettingError
        If a new number is out of range, or another page has it. Then nothing has changed.
    StorageError
    """
    shift = first - numbers[0]
    new = {number: check_number(number + shift) for number in numbers}
    taken = sorted(set(new.values()) & (set(page_numbers(store)) - set(numbers)))
    if taken:
        raise _taken(taken)
    done: list[int] = []
    for number in sorted(new, reverse=shift > 0) if shift else ():
        try:
            rename(store / page_name(number), store / page_name(new[number]))
        except OSError as error:
            for back in reversed(done):
                with suppress(OSError):  # who has taken its old number meanwhile keeps it
                    rename(store / page_name(new[back]), store / page_name(back))
            if isinstance(error, FileExistsError):
                raise _taken([new[number]]) from None
            if isinstance(error, FileNotFoundError):
                raise not_there(store, number) from None
            raise _stuck(number, error) from error
        done.append(number)
    return new


def _taken(numbers: Sequence[int]) -> SettingError:
    many = len(numbers) > 1
    demand = (
        f"must be free, but there {'are pages' if many else 'is a page'} {spans(numbers)} already. "
        "Take other numbers, or delete what is there."
    )
    return SettingError(demand, "new number")


def _stuck(number: int, error: OSError, moved: Iterable[int] = ()) -> StorageError:
    reason = (error.strerror or str(error)).lower()
    before = f" Moved before it: {spans(sorted(moved))}." if moved else ""
    return StorageError(f"page {number} cannot be moved: {reason}.{before}")


def export_pages(store: Path, numbers: Sequence[int], other: Path, *, force: bool) -> list[Path]:
    """Copy pages into another store, with all that they need.

    Parameters
    ----------
    store : Path
    numbers : sequence of int
    other : Path
        A folder; made if its parent is there.
    force : bool
        Replace pages there that have these numbers.

    Returns
    -------
    list of Path
        The pages' files there.

    Raises
    ------
    KeyerError
        If a page is damaged, or its number is taken there; then nothing is copied.
    """
    files = Files(force=force)
    files.folder(other)
    designs: dict[str, None] = {}
    for number in numbers:
        page = store / page_name(number)
        files.read(page)
        files.write(other / page.name)
        designs[listed_page(store, number).design] = None
    parts = {file.relative_to(store): file for one in designs for file in _parts(store, one)}
    kept = Files(parts.values(), force=True)
    files.make_folder(other)
    for inside, file in parts.items():
        keep(other / inside, read_whole(file), kept)
    pages = {number: read_whole(store / page_name(number)) for number in numbers}
    return place_pages(other, pages, files)


def place_pages(store: Path, pages: Mapping[int, bytes], files: Files) -> list[Path]:
    """Put pages into a store, all of them or none, when all that they need is there.

    They are written aside and get their names when all are on the disk.

    Parameters
    ----------
    store : Path
        Is there.
    pages : mapping
        Number to what its file holds.
    files : Files
        Says whether pages that have these numbers may be replaced.

    Raises
    ------
    OutputError
        If the disk does not take them, or a number has been taken meanwhile.
    """
    placed: list[Path] = []
    target = store
    try:
        with unfinished_folder(store) as home:
            for number, data in pages.items():
                write_bytes(home / page_name(number), data)
            try:
                for number in pages:
                    target = store / page_name(number)
                    _place(home, target, replace=files.force)
                    placed.append(target)
            except BaseException:
                for one in reversed(placed):
                    _take_back(home, one, pages[int(one.stem)])
                raise
    except FileExistsError:
        raise there_already(target) from None
    except OSError as error:
        raise unwritable(target, error) from error
    return placed


_FORMER = "former-"


def _place(home: Path, target: Path, *, replace: bool) -> None:
    """Give a page its name; what it replaces is kept until all pages have theirs."""
    if replace and target.is_file():
        (home / f"{_FORMER}{target.name}").write_bytes(read_whole(target))
        (home / target.name).replace(target)
    else:
        rename(home / target.name, target)


def _take_back(home: Path, target: Path, data: bytes) -> None:
    """Take a page away again, unless somebody has changed it meanwhile."""
    former = home / f"{_FORMER}{target.name}"
    with suppress(OSError):
        if target.read_bytes() != data:
            return
        if former.is_file():
            former.replace(target)
        else:
            target.unlink()


def _parts(store: Path, digest: str) -> Iterator[Path]:
    """Yield the files of a design that a store keeps."""
    home = store / design_folder(digest)
    if not (home / "design.toml").is_file():
        msg = f"{home / 'design.toml'} is missing, which pages of {store} need. Save them again."
        raise InputFileError(msg)
    yield from sorted(file for file in home.rglob("*") if file.is_file())


def read_whole(file: Path) -> bytes:
    """Read a file of a store.

    Raises
    ------
    InputFileError
    """
    try:
        with open_plain(file) as stream:
            return stream.read()
    except InputFileError:
        raise
    except OSError as error:
        msg = f"{file} cannot be read: {(error.strerror or str(error)).lower()}."
        raise InputFileError(msg) from None


def keep(file: Path, data: bytes, files: Files) -> None:
    """Put a file into a store, unless it is there already.

    Raises
    ------
    OutputError
    """
    if file.is_file() and file.read_bytes() == data:
        return
    files.make_folder(file.parent)
    write_bytes(file, data, files)
