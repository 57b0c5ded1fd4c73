"""A lock lasts as long as its holder lives, and not a moment longer."""

import subprocess
import sys
from pathlib import Path

import pytest

from server.output.lock import FileLock

__all__: list[str] = []

HOLDING = """
import sys, time
from pathlib import Path
from server.output.lock import FileLock
lock = FileLock(Path(sys.argv[1]))
print("held", flush=True)
time.sleep(60)
"""


def test_one_holder_at_a_time(tmp_path: Path) -> None:
    first = FileLock(tmp_path / "lock")
    with pytest.raises(OSError, match=r"."):
        FileLock(tmp_path / "lock")
    first.release()
    FileLock(tmp_path / "lock").release()


def test_the_lock_of_a_killed_process_is_free(tmp_path: Path) -> None:
    path = tmp_path / "lock"
    command = [sys.executable, "-c", HOLDING, str(path)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, cwd=Path(__file__).parents[2]) as child:
        assert child.stdout is not None
        assert child.stdout.readline().strip() == b"held"
        with pytest.raises(OSError, match=r"."):
            FileLock(path)
        child.kill()
    FileLock(path).release()
