"""Every error that the library raises on purpose.

Each class has a builtin as its second parent, so that callers who do not know
this library can still catch it, and carries the exit code that the command
line returns for it. Messages name the parameter, what is demanded, what was
found, and a cure.
"""


class KeyerError(Exception):
    """Parent of every error raised on purpose; `exit_code` is the command line's."""

    exit_code = 2


class SettingError(KeyerError, ValueError):
    """A parameter is out of its range or names something unknown."""


class FrameShapeError(KeyerError, ValueError):
    """An array does not have the shape or depth of a picture."""


class SheetError(KeyerError, ValueError):
    """An effect sheet does not hold; the message lists every fault found."""


class TimeError(KeyerError, ValueError):
    """A time cannot be read, or lies outside what it refers to."""


class OutputError(KeyerError, OSError):
    """An output cannot be written, or would overwrite something."""


class InputFileError(KeyerError, OSError):
    """An input file is missing, broken, or not what its name says."""

    exit_code = 3


class NoBackingError(KeyerError, ValueError):
    """A picture shows no backing that a chroma key could take out."""

    exit_code = 4
