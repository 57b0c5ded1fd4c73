"""What one packet costs: the output process beside a C loop and packages of others.

    python -m tests.bench.packet_cost [SECONDS]

Every sender sends to a loopback port whose queue is full: the kernel does its work up to there and drops, so
no receiver is measured; how many it dropped says how many were sent. CPU is user and system time of the
sending process in the middle of its run. At few universes most of it is waking up 44 times a second.
"""

import socket
import sys
import tempfile
import time
from pathlib import Path

from tests.bench.senders import FLOOR, Sender, known
from tests.bench.show import table

__all__ = ["cost_us", "main"]

_UNIVERSES = (16, 64, 256)
_WARM_S = 1.5
_CPUCLOCK_SCHED = 2  # Linux, include/linux/posix-timers.h; what clock_getcpuclockid(3) gives


def main() -> None:
    """Print microseconds of CPU per packet, and how many times the floor that is."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 5.0
    with tempfile.TemporaryDirectory() as folder:
        senders = known(Path(folder))
        costs = {s.name: [cost_us(s, n, seconds) for n in _UNIVERSES] for s in senders if not s.missing}
    rows: list[tuple[object, ...]] = []
    for sender in senders:
        if sender.missing:
            rows.append((sender.name, sender.missing, *[""] * (len(_UNIVERSES) - 1)))
            continue
        cells = [f"{cost:.2f} us" for cost in costs[sender.name]]
        if FLOOR in costs:
            floors = costs[FLOOR]
            cells = [
                f"{c} {own / low:6.2f}x"
                for c, own, low in zip(cells, costs[sender.name], floors, strict=True)
            ]
        rows.append((sender.name, *cells))
    table(("sender", *(f"{n} universes" for n in _UNIVERSES)), rows)


def cost_us(sender: Sender, universes: int, seconds: float) -> float:
    """Microseconds of its processor for each packet that it sends."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as full:
        full.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 0)
        full.bind(("127.0.0.1", 0))
        port = full.getsockname()[1]
        with sender.sending(universes, port) as process:
            time.sleep(_WARM_S)
            cost, packets = _cpu_s(process), _dropped(port)
            time.sleep(seconds)
            cost, packets = _cpu_s(process) - cost, _dropped(port) - packets
    return cost / max(1, packets) * 1e6


def _dropped(port: int) -> int:
    """How many datagrams that port of loopback had no room for."""
    for line in Path("/proc/net/udp").read_text().splitlines()[1:]:
        words = line.split()
        if words[1] == f"0100007F:{port:04X}":
            return int(words[-1])
    raise LookupError(port)


def _cpu_s(pid: int) -> float:
    # The clock of that process, with threads that have ended; /proc/PID/stat has ticks of 10 ms.
    return time.clock_gettime((~pid << 3) | _CPUCLOCK_SCHED)


if __name__ == "__main__":
    main()
