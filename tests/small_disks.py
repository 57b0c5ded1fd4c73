"""A disk that gets full, and gets room again, under a server: a real small one, or the system's own limit."""

import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest

__all__ = ["filled", "limited_growth", "mounted"]


@contextmanager
def mounted(megabytes: int, *, read_only: bool = False) -> Iterator[Path]:
    """A disk of its own, in memory. Skips the test where none may be mounted.

    That is a skip even where everything is required: who may mount is a matter of the machine's rights, not
    of what is installed, and `limited_growth` tries the same without any.
    """
    mount = shutil.which("mount") if sys.platform == "linux" else None
    folder = Path(tempfile.mkdtemp())
    options = f"size={megabytes}m" + (",ro" if read_only else "")
    try:
        command = [mount or "", "-t", "tmpfs", "-o", options, "tmpfs", str(folder)]
        if mount is None or subprocess.run(command, capture_output=True, check=False).returncode:
            pytest.skip("no disk may be mounted here")
        try:
            yield folder
        finally:
            subprocess.run(["umount", "-l", str(folder)], check=True)
    finally:
        folder.rmdir()


@contextmanager
def filled(folder: Path) -> Iterator[None]:
    """While inside, the disk that the folder lies on is full to the last octet."""
    ballast = folder / "ballast"
    with ballast.open("wb", buffering=0) as file:
        for step in (1 << 16, 1 << 12, 1):
            with suppress(OSError):
                while True:
                    file.write(bytes(step))
    try:
        yield
    finally:
        ballast.unlink()


@contextmanager
def limited_growth(pid: int) -> Iterator[None]:
    """While inside, no file of that process may grow any more: the system refuses as a full disk does."""
    if sys.platform != "linux":
        pytest.skip("limits of another process")
    import resource

    before = resource.prlimit(pid, resource.RLIMIT_FSIZE)
    resource.prlimit(pid, resource.RLIMIT_FSIZE, (4096, before[1]))
    try:
        yield
    finally:
        resource.prlimit(pid, resource.RLIMIT_FSIZE, before)
