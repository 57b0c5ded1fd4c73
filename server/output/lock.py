"""A lock held by a living process: the system takes it back when that process dies, however it dies."""

import sys
from pathlib import Path
from typing import IO

__all__ = ["FileLock"]

if sys.platform == "win32":
    import msvcrt

    def _take(file: IO[bytes]) -> None:
        file.seek(0)
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _take(file: IO[bytes]) -> None:
        # flock belongs to this opening of the file: another one in the same process is refused too.
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)


class FileLock:
    """Only one holder of a path at a time."""

    def __init__(self, path: Path) -> None:
        """Take the lock. Raises OSError: somebody living has it."""
        self._file: IO[bytes] = path.open("ab")
        try:
            _take(self._file)
        except OSError:
            self._file.close()
            raise

    def release(self) -> None:
        """Let the next one have it."""
        self._file.close()
