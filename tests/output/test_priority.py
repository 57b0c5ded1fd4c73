"""The output process comes first where it may, and steps back should it ever spin."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

__all__: list[str] = []

SPINNING = """
import os, time
from server.output.priority import raise_priority
raise_priority()
print(os.sched_getscheduler(0) == os.SCHED_RR, flush=True)
end = time.monotonic() + 60
while os.sched_getscheduler(0) != os.SCHED_OTHER and time.monotonic() < end:
    pass
print(os.sched_getscheduler(0) == os.SCHED_OTHER)
"""


@pytest.mark.skipif(not hasattr(os, "sched_getscheduler"), reason="this system has no such classes")
def test_a_real_time_process_that_spins_for_a_second_steps_back() -> None:
    done = subprocess.run(
        [sys.executable, "-c", SPINNING],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).parents[2],
        timeout=120,
    )
    real_time, stepped_back = done.stdout.split()
    if real_time == "False":
        pytest.skip("this system gives us no real-time class, so there is nothing to step back from")
    assert stepped_back == "True"
