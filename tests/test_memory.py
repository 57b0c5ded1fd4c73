"""What a PIN was hashed in does not stay: on a real process, by what the system says it holds."""

import platform
import subprocess
import sys
from pathlib import Path

import pytest

__all__: list[str] = []

ROOT = Path(__file__).resolve().parents[1]
HASHES = """
import threading
from pathlib import Path
from server.api.pins import hashed
from server.memory import give_back

def resident_mib():
    lines = Path("/proc/self/status").read_text().splitlines()
    return next(int(line.split()[1]) / 1024 for line in lines if line.startswith("VmRSS"))

def hash_on_threads():
    for _ in range(2):
        threads = [threading.Thread(target=hashed, args=("1357",)) for _ in range(2)]
        for each in threads:
            each.start()
        for each in threads:
            each.join()

give_back()
hashed("1357")
before = resident_mib()
hash_on_threads()
print(resident_mib() - before)
"""


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="only glibc keeps it, and can be told not to")
def test_a_pin_hashed_on_a_thread_leaves_none_of_its_9_mib_behind() -> None:
    asked = subprocess.run([sys.executable, "-c", HASHES], cwd=ROOT, capture_output=True, check=True)
    assert float(asked.stdout) < 4  # left alone: 9 for each thread, and 9 more
