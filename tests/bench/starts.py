"""How soon after its start a show that there is sends its first frame, and answers.

    python -m tests.bench.starts [TIMES]

The demo show, once it has been made; each time ended in order, so that its universes begin anew.
"""

import statistics
import sys
import tempfile
import time
from pathlib import Path

from tests.arrivals import Arrivals, ear
from tests.bench.show import table
from tests.servers import Server

__all__ = ["main", "starts"]


def main() -> None:
    """Print the median and the slowest."""
    found = starts(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
    rows: list[tuple[object, ...]] = [
        (what, statistics.median(took), max(took))
        for what, took in zip(("first frame", "first answer"), zip(*found, strict=True), strict=True)
    ]
    table((f"{len(found)} starts", "median s", "slowest s"), rows)


def starts(times: int) -> list[tuple[float, float]]:
    """Seconds to the first frame and to the first answer over HTTP, for each start."""
    found = []
    with tempfile.TemporaryDirectory() as folder, ear() as listening:
        wire = Arrivals(listening)
        data = Path(folder) / "data"
        data.mkdir()
        server = Server(data, f"--sacn-to=127.0.0.1:{wire.port}")
        for start in range(times + 1):
            began, seen = time.monotonic(), time.time()
            server.start()
            answered = time.monotonic() - began
            wire.until(lambda: wire.packets, "a frame")
            first = min(heard.times[0] for heard in wire.together())
            if start:
                found.append((first - seen, answered))
            server.interrupt()
            wire.listen(0.1)
            wire.drain()
        server.end()
    return found


if __name__ == "__main__":
    main()
