"""The parts of a workbook file: XML in a ZIP, read as a stream and within budgets.

Open Packaging Conventions, ECMA-376 Part 2 [ecma376]. A small file can unpack to any size, so
nothing is held that is not wanted, and reading ends where a budget does.
"""

from __future__ import annotations

import posixpath
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import NoReturn, Self
from xml.parsers import expat

from keyer.errors import InputFileError, KeyerError
from keyer.kinds.plain_file import open_plain

MOST_XML = 1 << 29
"""Bytes of XML in all, unpacked: some five million cells with their texts."""
_MOST_PARTS = 10_000
_LONGEST_TAG = 1 << 20
_CHUNK = 1 << 16
_COMPOUND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
"""Beginning of a compound file: a workbook of 1997, or one under a password."""
_DAMAGE = (
    zipfile.BadZipFile, zipfile.LargeZipFile, zlib.error, expat.ExpatError, struct.error, EOFError,
    NotImplementedError, RuntimeError, UnicodeError, KeyError, ValueError, OverflowError,
)  # fmt: skip

Begin = Callable[[str, Mapping[str, str]], None]
"""Called with an element's name, without its namespace, and its attributes."""
Finish = Callable[[str, str], None]
"""Called at an element's end with its name and the text since its beginning or its last child."""


class Package:
    """An opened XLSX file: a ZIP archive of XML parts that refer to each other.

    Parameters
    ----------
    file : Path
    longest : int
        Characters that one text may have.

    Raises
    ------
    InputFileError
        If it is no such file.
    """

    def __init__(self, file: Path, longest: int) -> None:
        self.file = file
        self._longest = longest
        self._left = MOST_XML
        with open_plain(file) as stream:
            if stream.read(len(_COMPOUND)) == _COMPOUND:
                self.refuse(
                    "is an XLS file, or locked with a password. Save it as XLSX, without one"
                )
        with self.sound():
            self._zip = zipfile.ZipFile(file)
        if len(self._zip.infolist()) > _MOST_PARTS:
            self._zip.close()
            self.refuse(f"has more than {_MOST_PARTS:,} parts. Save it again")

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._zip.close()

    def refuse(self, what: str) -> NoReturn:
        """Say what is wrong with the file.

        Raises
        ------
        InputFileError
        """
        msg = f"{self.file} {what}."
        raise InputFileError(msg)

    @contextmanager
    def sound(self) -> Iterator[None]:
        """Say of whatever breaks inside that the file is damaged."""
        try:
            yield
        except KeyerError:
            raise
        except _DAMAGE as error:
            reason = str(error).rstrip(".") or type(error).__name__
            msg = f"{self.file} must be an XLSX workbook, but cannot be read as one: {reason}."
            raise InputFileError(msg) from error

    def has(self, part: str) -> bool:
        """Whether there is a part of that name."""
        return part in self._zip.NameToInfo

    def related(self, part: str) -> dict[str, tuple[str, str]]:
        """Read what a part refers to.

        Parameters
        ----------
        part : str
            Empty for the file itself.

        Returns
        -------
        dict
            Identifier to (last word of the kind, name of the part).
        """
        folder, name = posixpath.split(part)
        found: dict[str, tuple[str, str]] = {}

        def begin(element: str, attributes: Mapping[str, str]) -> None:
            if element == "Relationship" and attributes.get("TargetMode") != "External":
                target = posixpath.normpath(posixpath.join("/", folder, attributes["Target"]))
                kind = attributes["Type"].rpartition("/")[2]
                found[attributes["Id"]] = (kind, target.lstrip("/"))

        self.parse(posixpath.join(folder, "_rels", f"{name}.rels"), begin)
        return found

    def parse(self, part: str, begin: Begin, finish: Finish | None = None) -> None:
        """Read a part from its beginning to its end.

        Raises
        ------
        InputFileError
            If it is missing or damaged, or a budget is spent.
        """
        parser = expat.ParserCreate(namespace_separator=" ")
        parser.buffer_text = True
        pieces: list[str] = []
        length = 0

        def started(name: str, attributes: dict[str, str]) -> None:
            nonlocal length
            pieces.clear()
            length = 0
            begin(name.rpartition(" ")[2], attributes)

        def said(text: str) -> None:
            nonlocal length
            length += len(text)
            if length > self._longest:
                self.refuse(f"holds a text of more than {self._longest:,} characters")
            pieces.append(text)

        def ended(name: str) -> None:
            nonlocal length
            if finish is not None:
                finish(name.rpartition(" ")[2], "".join(pieces))
            pieces.clear()
            length = 0

        def refused(*_: object) -> None:
            self.refuse("holds a document type, which no workbook has. Save it again")

        parser.StartElementHandler, parser.EndElementHandler = started, ended
        parser.CharacterDataHandler, parser.StartDoctypeDeclHandler = said, refused
        with self.sound():
            if not self.has(part):
                self.refuse(f"must be an XLSX workbook, but has no part {part!r:.80}")
            with self._zip.open(part) as stream:
                given = 0
                while chunk := stream.read(_CHUNK):
                    self._left -= len(chunk)
                    given += len(chunk)
                    if self._left < 0:
                        size = MOST_XML >> 20
                        self.refuse(
                            f"unpacks to more than {size} MiB. Delete sheets and empty rows, or "
                            "split it"
                        )
                    parser.Parse(chunk)
                    if given - parser.CurrentByteIndex > _LONGEST_TAG:
                        self.refuse("holds a tag that never ends. Save it again")
                parser.Parse(b"", True)  # noqa: FBT003
