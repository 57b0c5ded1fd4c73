"""Every budget in one run, beside the floor, which is a C loop, and beside what packages of others do here.

    python -m tests.bench.budgets [SECONDS]

SECONDS: for each figure (3); with 3 it takes some eight minutes. One after the other, so that nothing is
measured beside anything else. A column of a peer is empty where the figure is not about sending; one that is
not here is named below. Ratios carry over to other machines, times do not.
"""

import contextlib
import os
import platform
import sys
import tempfile
import time
from pathlib import Path

from tests.bench.senders import known
from tests.bench.sending import costs, evenness_rows, under_fire_rows
from tests.bench.show import table
from tests.bench.whole import PARTS

__all__ = ["main"]


def main() -> None:
    """Print the table."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 3.0
    print(
        f"{_processor()}; {os.cpu_count()} cores, {platform.platform()}, Python {platform.python_version()}"
    )
    print(f"load before: {os.getloadavg()[0]:.2f}", flush=True)
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        senders = known(Path(folder))
        rows = [*evenness_rows(senders, seconds), *costs(senders, seconds), *under_fire_rows(seconds)]
    for part in PARTS:
        rows += part(seconds)
    names = [sender.name for sender in senders if not sender.missing]
    cells = [(row.what, row.goal, row.superb, *(row.by.get(name, "") for name in names)) for row in rows]
    table(("", "goal", "superb", *names), [*cells])
    for sender in senders:
        if sender.missing:
            print(f"not measured: {sender.name}, {sender.missing}")
    print(f"took {time.monotonic() - began:.0f} s; load after: {os.getloadavg()[0]:.2f}")


def _processor() -> str:
    with contextlib.suppress(OSError, StopIteration):
        lines = Path("/proc/cpuinfo").read_text().splitlines()
        return next(line.partition(":")[2].strip() for line in lines if line.startswith("model name"))
    return platform.machine()


if __name__ == "__main__":
    main()
