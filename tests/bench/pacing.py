"""How evenly and how soon the output process sends, as the kernel's clock saw the packets arrive.

    python -m tests.bench.pacing [SECONDS]

Steady universes to one loopback socket. Deviation: how far the time between two packets of a universe is from
1/44 s. The receiver only stores time, universe and sequence; all else is worked out afterwards. Touch to
wire: from before a picture is written until its packet arrives, on a universe at rest.
"""

import socket
import struct
import sys
import tempfile
import time
from itertools import pairwise
from pathlib import Path

from server.output.link import Output
from server.output.pacing import FRAME_S
from server.output.plan import Plan, Sacn, UniversePlan

__all__ = ["main"]

_CID = "ef07c8dd-0064-4401-a3a2-459ef8e6143e"
_SO_TIMESTAMPNS = 35  # Linux; the standard library has no name for it
_SO_RCVBUFFORCE = 33  # for root: more than the system's usual largest buffer

Arrival = tuple[float, int]  # seconds, sequence number


def main() -> None:
    """Print a table for 16, 64 and 256 universes."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 10.0
    print(f"{'universes':>9} {'Hz':>8} {'p50 ms':>8} {'p99 ms':>8} {'closest ms':>11} {'lost':>6}")
    for universes in (16, 64, 256):
        arrivals = _measure(universes, seconds)
        times = [[moment for moment, _ in each] for each in arrivals.values()]
        gaps = sorted(b - a for each in times for a, b in pairwise(each))
        off = sorted(abs(gap - FRAME_S) * 1e3 for gap in gaps)
        hz = sum((len(each) - 1) / (each[-1] - each[0]) for each in times) / len(times)
        lost = sum((b - a - 1) % 256 for each in arrivals.values() for (_, a), (_, b) in pairwise(each))
        print(
            f"{universes:>9} {hz:>8.2f} {off[len(off) // 2]:>8.3f} {off[len(off) * 99 // 100]:>8.3f} "
            f"{gaps[0] * 1e3:>11.2f} {lost:>6}"
        )
    waits = sorted(_touches(100))
    print(f"touch to wire: p50 {waits[50]:.3f} ms, p99 {waits[98]:.3f} ms")


def _measure(universes: int, seconds: float) -> dict[int, list[Arrival]]:
    with tempfile.TemporaryDirectory() as folder, _ear() as ear:
        output = Output.start(Path(folder))
        to = (Sacn("127.0.0.1", ear.getsockname()[1]),)
        planned = tuple(UniversePlan(n, to, steady=True) for n in range(1, universes + 1))
        output.set_plan(Plan(_CID, "bench", None, planned))
        for n in range(1, universes + 1):
            output.write(n, bytes([n % 256]) * 512)
        output.wake()
        time.sleep(1.0)
        arrivals = _listen(ear, seconds)
        output.end()
        return arrivals


def _touches(count: int) -> list[float]:
    """Milliseconds each of `count` changes took, every one after the repeats of the one before."""
    waits = []
    with tempfile.TemporaryDirectory() as folder, _ear() as ear:
        ear.settimeout(5.0)
        output = Output.start(Path(folder))
        to = (Sacn("127.0.0.1", ear.getsockname()[1]),)
        output.set_plan(Plan(_CID, "bench", None, (UniversePlan(1, to),)))
        for touch in range(count):
            level = touch % 255 + 1
            began = time.time()
            output.write(1, bytes([level]) * 512)
            output.wake()
            waits.append((_first(ear, level) - began) * 1e3)
            time.sleep(0.11)
        output.end()
    return waits


def _first(ear: socket.socket, level: int) -> float:
    packet = bytearray(2000)
    while True:
        size, extra, _, _ = ear.recvmsg_into([packet], 64)
        if size == 638 and packet[126] == level:
            whole, nanoseconds = struct.unpack("=qq", extra[0][2])
            return float(whole + nanoseconds * 1e-9)


def _ear() -> socket.socket:
    ear = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    for option in (socket.SO_RCVBUF, _SO_RCVBUFFORCE):
        try:
            ear.setsockopt(socket.SOL_SOCKET, option, 1 << 24)
        except OSError:
            print("not root: a small receive buffer, so packets may be lost at the receiver")
    ear.setsockopt(socket.SOL_SOCKET, _SO_TIMESTAMPNS, 1)
    ear.bind(("127.0.0.1", 0))
    return ear


def _listen(ear: socket.socket, seconds: float) -> dict[int, list[Arrival]]:
    arrivals: dict[int, list[Arrival]] = {}
    packet = bytearray(2000)
    ear.setblocking(False)
    while True:  # what waited during the start is not measured
        try:
            ear.recv_into(packet)
        except BlockingIOError:
            break
    ear.settimeout(5.0)
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        size, extra, _, _ = ear.recvmsg_into([packet], 64)
        if size == 638:
            whole, nanoseconds = struct.unpack("=qq", extra[0][2])
            universe = packet[113] << 8 | packet[114]
            arrivals.setdefault(universe, []).append((whole + nanoseconds * 1e-9, packet[111]))
    return arrivals


if __name__ == "__main__":
    main()
