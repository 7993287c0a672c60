"""Compiled kernels kept on disk, each file with a check sum: what is damaged is compiled again.

numba keeps an index and a file of code for each kernel and takes whatever is in them; one that
was cut off, or a bit of it turned over, ends a program or makes it compute something else.
"""

from __future__ import annotations

import pickle
import zlib
from contextlib import suppress
from typing import Any

from numba.core.caching import FunctionCache, IndexDataCacheFile

from keyer.kinds import stopping

_SUM_BYTES = 4


class _SealedFiles(IndexDataCacheFile):
    """The index and the code of a kernel, behind CRC-32 sums (ISO 3309)."""

    def _load_index(self) -> dict[Any, str]:
        found = self._opened(self._index_path)
        if found is None:
            return {}
        version, stamp, overloads = found
        fresh = version == self._version and stamp == self._source_stamp
        return dict(overloads) if fresh else {}

    def _save_index(self, overloads: dict[Any, str]) -> None:
        self._seal(self._index_path, (self._version, self._source_stamp, overloads))

    def _load_data(self, name: str) -> Any:
        return self._opened(self._data_path(name))

    def _save_data(self, name: str, data: Any) -> None:
        self._seal(self._data_path(name), data)

    def _opened(self, path: str) -> Any:
        """Read a file; None if it is not there or not whole."""
        try:
            with open(path, "rb") as file:
                sealed = file.read()
        except OSError:
            return None
        data = sealed[_SUM_BYTES:]
        if len(data) == 0 or zlib.crc32(data).to_bytes(_SUM_BYTES) != sealed[:_SUM_BYTES]:
            return None
        return pickle.loads(data)  # noqa: S301  from a folder that is ours alone to write

    def _seal(self, path: str, content: Any) -> None:
        data = self._dump(content)
        with self._open_for_write(path) as file:
            file.write(zlib.crc32(data).to_bytes(_SUM_BYTES) + data)


class KernelCache(FunctionCache):
    """What a compiled function asks for its code, and gives it to keep."""

    def __init__(self, function: Any) -> None:
        super().__init__(function)
        locator = self._impl.locator
        self._cache_file = _SealedFiles(
            self._cache_path, self._impl.filename_base, locator.get_source_stamp()
        )

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """Load the code for a signature; None if there is none that can be taken.

        A stop waits until it is loaded: the compiler calls back for the code, would lose the
        stop, and would go on with functions that are not there.
        """
        try:
            with stopping.PutOff():
                return super().load_overload(sig, target_context)
        except Exception:  # noqa: BLE001  whatever it is, compiling helps
            return None

    def save_overload(self, sig: Any, data: Any) -> None:
        """Keep the code for a signature, where the disk takes it."""
        with suppress(OSError):
            super().save_overload(sig, data)
