"""How evenly and how soon the output process sends, as the kernel's clock saw the packets arrive.

    python -m tests.bench.pacing [SECONDS]

Deviation: how far the time between two packets of a universe is from 1/44 s. Touch to wire: from before a
picture is written until its packet arrives, on a universe at rest.
"""

import socket
import struct
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from server.output.link import Output
from server.output.pacing import FRAME_S
from server.output.plan import Plan, Sacn, UniversePlan
from tests.arrivals import Arrivals, Heard, ear
from tests.bench.senders import OURS, Sender, known
from tests.bench.show import table

__all__ = ["Evenness", "evenness", "main", "paced"]

_CID = "ef07c8dd-0064-4401-a3a2-459ef8e6143e"
_WARM_S = 1.5


@dataclass(frozen=True, slots=True)
class Evenness:
    """Of some universes: packets a second each, deviations and the closest two in ms, numbers lost."""

    hz: float
    p50_ms: float
    p99_ms: float
    closest_ms: float
    lost: int


def evenness(universes: list[Heard]) -> Evenness:
    """What came of these."""
    gaps = sorted(gap for heard in universes for gap in heard.gaps) or [float("nan")]
    off = sorted(abs(gap - FRAME_S) * 1e3 for gap in gaps)
    hz = sum(heard.hz for heard in universes) / max(1, len(universes))
    lost = sum(heard.lost for heard in universes)
    return Evenness(hz, off[len(off) // 2], off[len(off) * 99 // 100], gaps[0] * 1e3, lost)


def paced(sender: Sender, universes: int, seconds: float) -> Evenness:
    """What that sender does."""
    with ear() as listening:
        arrivals = Arrivals(listening)
        with sender.sending(universes, arrivals.port):
            arrivals.listen(_WARM_S)
            arrivals.drain()
            arrivals.listen(seconds)
        return evenness(arrivals.together())


def main() -> None:
    """Print a table for 16, 64 and 256 universes."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 10.0
    with tempfile.TemporaryDirectory() as folder:
        ours = next(sender for sender in known(Path(folder)) if sender.name == OURS)
    found = [(n, paced(ours, n, seconds)) for n in (16, 64, 256)]
    rows: list[tuple[object, ...]] = [
        (n, each.hz, each.p50_ms, each.p99_ms, each.closest_ms, each.lost) for n, each in found
    ]
    table(("universes", "Hz", "off p50 ms", "off p99 ms", "closest ms", "lost"), rows)
    waits = sorted(_touches(100))
    print(f"touch to wire: p50 {waits[50]:.3f} ms, p99 {waits[98]:.3f} ms")


def _touches(count: int) -> list[float]:
    """Milliseconds each of `count` changes took, every one after the repeats of the one before."""
    waits = []
    with tempfile.TemporaryDirectory() as folder, ear() as listening:
        listening.settimeout(5.0)
        output = Output.start(Path(folder))
        to = (Sacn("127.0.0.1", listening.getsockname()[1]),)
        output.set_plan(Plan(_CID, "bench", None, (UniversePlan(1, to),)))
        for touch in range(count):
            level = touch % 255 + 1
            began = time.time()
            output.write(1, bytes([level]) * 512)
            output.wake()
            waits.append((_first(listening, level) - began) * 1e3)
            time.sleep(0.11)
        output.end()
    return waits


def _first(listening: socket.socket, level: int) -> float:
    packet = bytearray(2000)
    while True:
        size, extra, _, _ = listening.recvmsg_into([packet], 64)
        if size == 638 and packet[126] == level:
            whole, nanoseconds = struct.unpack("=qq", extra[0][2])
            return float(whole + nanoseconds * 1e-9)


if __name__ == "__main__":
    main()
