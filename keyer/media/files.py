"""The files of a command: the one place that knows what it reads and what it writes.

No input is ever written over, whatever is asked; no two outputs have one name;
and nothing else that is there is replaced unless that is asked for.
"""

from __future__ import annotations

import errno
import os
import unicodedata
from collections.abc import Iterable, Iterator
from contextlib import ExitStack, suppress
from pathlib import Path

from keyer.errors import OutputError, StorageError
from keyer.kinds import stopping
from keyer.kinds.plain_file import real_path
from keyer.media.encode_still import check_suffix
from keyer.media.sequence import belongs, is_pattern

PathLike = str | os.PathLike[str]

_CURES = {
    errno.ENOSPC: "Make room on the disk, or name another.",
    errno.EDQUOT: "Make room on the disk, or name another.",
    errno.EROFS: "Name a folder that can be written.",
    errno.EACCES: "Name another folder, or change its permissions.",
    errno.EPERM: "Name another folder, or change its permissions.",
    errno.ENAMETOOLONG: "Give it a shorter name.",
}
"""What helps, by the system's own number."""


class Files:
    """Inputs and outputs of one command: refuses outputs that would harm an input or a file.

    Parameters
    ----------
    inputs : iterable of paths
        Files, folders, and patterns of numbered stills; more may follow (`read`).
    force : bool
        Whether outputs that exist may be replaced.

    Attributes
    ----------
    waiting : ExitStack or None
        Outputs that are written and appear together (`keyer.media.write.together`).
    held : int
        How many they are.
    """

    def __init__(self, inputs: Iterable[PathLike] = (), *, force: bool = False) -> None:
        self._force = force
        self._inputs: set[tuple[int, int]] = set()
        self._sequences: list[Path] = []
        self._outputs: dict[str, Path] = {}
        self._folders: set[Path] = set()
        self.waiting: ExitStack | None = None
        self.held = 0
        self.read(*inputs)

    def read(self, *paths: PathLike) -> None:
        """Note inputs, so that no output may overwrite them; they need not exist.

        Raises
        ------
        OutputError
            If one of them is an output that was named before.
        """
        for path in map(Path, paths):
            with suppress(OSError, ValueError):  # what cannot be read is told when it is opened
                self._inputs |= set(map(_identity, _parts(path)))
                if path.is_dir() or (is_pattern(path) and not path.exists()):
                    self._sequences.append(path)
        for output in self._outputs.values():
            self._refuse_inputs(output)

    def write(self, path: PathLike) -> Path:
        """Name an output, before anything is done for it.

        Raises
        ------
        OutputError
            If it cannot or must not be written, or was named before.
        """
        target = self.check(path)
        name = _folded(target)
        if name in self._outputs:
            msg = f"{target} would be two outputs in one file. Give each a name of its own."
            raise OutputError(msg)
        self._outputs[name] = target
        return target

    def still(self, path: PathLike) -> Path:
        """Name an output that is a still; its suffix says what kind of file it will be.

        Raises
        ------
        OutputError
        """
        check_suffix(Path(path))
        return self.write(path)

    def folder(self, path: PathLike) -> Path:
        """Name a folder for outputs, which need not be there yet (`make_folder`).

        Raises
        ------
        OutputError
            If it can be neither used nor made.
        """
        folder = Path(path)
        try:
            if not folder.is_dir():
                if os.path.lexists(folder):
                    msg = f"{folder} is not a folder. Name a folder for the outputs."
                    raise OutputError(msg)
                if not folder.parent.is_dir():
                    msg = f"the folder of {folder} does not exist. Make it first."
                    raise OutputError(msg)
                _refuse_locked(folder)
                self._folders.add(folder)
        except OSError as error:
            raise unwritable(folder, error) from None
        return folder

    def make_folder(self, path: PathLike) -> None:
        """Make a folder that was named, if it is not there.

        Raises
        ------
        StorageError
        """
        try:
            folder = Path(path)
            for missing in (step for step in (folder, *folder.parents) if not step.is_dir()):
                stopping.begin(missing)  # taken back in the end if it stays empty
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise unwritable(Path(path), error) from None

    def check(self, path: PathLike) -> Path:
        """Refuse an output that cannot or must not be written.

        Raises
        ------
        OutputError
        """
        target = Path(path)
        try:
            if target.parent in self._folders and not target.parent.exists():
                return target
            if not target.parent.is_dir():
                msg = f"the folder of {target} does not exist. Make it first."
                raise OutputError(msg)
            self._refuse_inputs(target)
            if os.path.lexists(target):
                if not target.is_file():
                    msg = f"{target} is not a plain file. Name a file to write."
                    raise OutputError(msg)
                if not self._force:
                    raise there_already(target)
            _refuse_locked(target)
        except OSError as error:
            raise unwritable(target, error) from None
        return target

    @property
    def force(self) -> bool:
        """Whether outputs that exist may be replaced."""
        return self._force

    def _refuse_inputs(self, target: Path) -> None:
        if target.exists() and _identity(target) in self._inputs:
            msg = f"{target} is an input and is never written over. Name another output."
            raise OutputError(msg)
        if any(belongs(target, sequence) for sequence in self._sequences):
            msg = f"{target} would become a picture of an input sequence. Name another output."
            raise OutputError(msg)


def there_already(target: Path) -> OutputError:
    """Say that an output exists and is not to be replaced."""
    return OutputError(f"{target} exists. Name another output, or replace it (--force).")


def _identity(path: Path) -> tuple[int, int]:
    """Tell a file from others, under whatever name."""
    found = path.stat()
    return found.st_dev, found.st_ino


def _parts(path: Path) -> Iterator[Path]:
    """Yield the files that an input stands for."""
    if path.is_dir():
        yield from (inner for inner in path.iterdir() if inner.is_file())
    elif is_pattern(path) and not path.exists():
        yield from (inner for inner in path.parent.iterdir() if belongs(inner, path))
    elif path.exists():
        yield path


def _folded(target: Path) -> str:
    """Fold a name so that two are equal if some file system holds them to be the same file."""
    name = unicodedata.normalize("NFC", unicodedata.normalize("NFKD", target.name).casefold())
    return str(real_path(target.parent) / name)


def _refuse_locked(target: Path) -> None:
    """Refuse an output in a folder that takes no files."""
    if not os.access(target.parent, os.W_OK | os.X_OK):
        msg = f"the folder of {target} cannot be written. Name another, or change its permissions."
        raise StorageError(msg)


def unwritable(target: Path, error: Exception, where: str = "") -> OutputError:
    """Turn the refusal of an output, by the system or an encoder, into one line.

    Parameters
    ----------
    target : Path
    error : Exception
    where : str
        How far it was.
    """
    if isinstance(error, OutputError):
        return error
    reason = str(getattr(error, "strerror", None) or error).lower()
    if not isinstance(error, OSError):  # of an encoder, which the place does not concern
        return OutputError(f"{target} cannot be written{where}: {reason}.")
    cure = _CURES.get(error.errno or 0, "Name another place.")
    return StorageError(f"{target} cannot be written{where}: {reason}. {cure}")
