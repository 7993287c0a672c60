"""Every error that the library raises on purpose.

Each class has a builtin as its second parent, so that callers who do not know
this library can still catch it, and carries the exit code that the command
line returns for it. Messages name the parameter, what is demanded, what was
found, and a cure.
"""

from collections.abc import Sequence
from dataclasses import dataclass


class KeyerError(Exception):
    """Parent of every error raised on purpose; `exit_code` is the command line's."""

    exit_code = 2


class _NamedError(KeyerError):
    """A refused value: the parameter's name, what is demanded, and what was given.

    Attributes
    ----------
    demand : str
        The message without the parameter's name, for those who name it their own way.
    name : str
        How the user calls the parameter; empty where the message names it itself.
    """

    def __init__(self, demand: str, name: str = "") -> None:
        super().__init__(f"{name} {demand}" if name else demand)
        self.demand, self.name = demand, name


class SettingError(_NamedError, ValueError):
    """A parameter is out of its range or names something unknown."""


class FrameShapeError(KeyerError, ValueError):
    """An array does not have the shape or depth of a picture."""


@dataclass(frozen=True)
class Fault:
    """One fault of a document: the key's path, its line, and what is wrong.

    Attributes
    ----------
    path : str
        Dotted path, list items counted from 0: `cues[1].transition.pattern`.
    line : int or None
        Line of the file; None for a document that was not read from a text.
    message : str
        What is demanded, what was found, a cure.
    file : str
        The file, where it is not the document itself but one that it includes.
    missing : bool
        A key is not there that has to be.
    """

    path: str
    line: int | None
    message: str
    file: str = ""
    missing: bool = False

    def __str__(self) -> str:
        where = self.path
        if self.line is not None:
            where = f"{where}, line {self.line}" if where else f"line {self.line}"
        where = f"{self.file}: {where}" if self.file and where else where or self.file
        return f"{where}: {self.message}" if where else self.message


class SheetError(KeyerError, ValueError):
    """An effect sheet has faults; the message lists them, ten at most.

    Attributes
    ----------
    faults : tuple of Fault
        All of them, in the order of the file.
    """

    def __init__(self, message: str, faults: Sequence[Fault] = ()) -> None:
        super().__init__(message)
        self.faults = tuple(faults)


class TimeError(_NamedError, ValueError):
    """A time cannot be read, or lies outside what it refers to."""


class OutputError(KeyerError, OSError):
    """An output cannot be written, or would overwrite something."""


class StorageError(OutputError):
    """The disk or its owner does not take an output: full, read-only, no permission."""

    exit_code = 3


class InputFileError(KeyerError, OSError):
    """An input file is missing, broken, or not what its name says."""

    exit_code = 3


class NoBackingError(KeyerError, ValueError):
    """A picture shows no backing that a chroma key could take out.

    Attributes
    ----------
    sample : (x, y, width, height) in pixels, or None
        The area that is most like one, to be named if the person agrees.
    """

    exit_code = 4

    def __init__(self, message: str, sample: tuple[int, int, int, int] | None = None) -> None:
        super().__init__(message)
        self.sample = sample
