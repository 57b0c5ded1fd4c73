"""What it costs to hear consoles, and whether a touch waits for it.

    python -m tests.bench.hearing [UNIVERSES]

A process of its own sends so many universes (64) 44 times a second to a running server: by sACN, and then by
sACN and Art-Net at once. Beside it a phone sets a pan, as in `touch`. CPU is the server's share of one core.
"""

import asyncio
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

from server.wire import artnet, e131
from tests.bench.show import Show, running, table
from tests.bench.touch import Wire, find_pan, row

__all__ = ["main"]

HZ = 44
CASES = (("nothing", False, False), ("sACN", True, False), ("sACN and Art-Net", True, True))


def main() -> None:
    """Print the figures of each case; or, called by itself, be the console."""
    if sys.argv[1:2] == ["console"]:
        _console(*map(int, sys.argv[2:5]))
        return
    universes = int(sys.argv[1]) if len(sys.argv) > 1 else 64
    ports = _two_ports()
    options = (f"--sacn-in-port={ports[0]}", f"--artnet-in-port={ports[1]}")
    with running(universes, more=options) as show:
        rows = asyncio.run(_measure(show, universes, ports))
    print(f"{universes} universes heard at {HZ} Hz; milliseconds from a phone to the wire")
    table(
        ("heard", "packets/s", "server CPU %", "quiet p50", "quiet p99", "in motion p50", "in motion p99"),
        rows,
    )


async def _measure(show: Show, universes: int, ports: tuple[int, int]) -> list[tuple[object, ...]]:
    await find_pan(show)
    wire = Wire(show)
    wire.start()
    rows = []
    for name, by_sacn, by_artnet in CASES:
        sent = (ports[0] if by_sacn else 0, ports[1] if by_artnet else 0)
        with _playing(universes, sent):
            await asyncio.sleep(2)
            before, began = show.cost(), time.perf_counter()
            await asyncio.sleep(8)
            share = 100 * (show.cost().server_s - before.server_s) / (time.perf_counter() - began)
            quiet, moving = [await row(show, wire, 0, moves) for moves in (False, True)]
        packets = universes * HZ * (by_sacn + by_artnet)
        rows.append((name, packets, share, *quiet[2:4], *moving[2:4]))
    wire.ending = True
    wire.join()
    return rows


@contextmanager
def _playing(universes: int, ports: tuple[int, int]) -> Iterator[None]:
    words = [sys.executable, "-m", "tests.bench.hearing", "console", str(universes), *map(str, ports)]
    console = subprocess.Popen(words)
    try:
        yield
    finally:
        console.terminate()
        console.wait()


def _console(universes: int, sacn: int, art_net: int) -> None:
    """Send until ended; a port of 0 gets nothing."""
    made = [(e131.data_packet(bytes(16), "Bench", u), artnet.dmx_packet(u)) for u in range(1, universes + 1)]
    out = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    out.bind(("127.0.0.2", 0))
    due, number = time.monotonic(), 0
    while True:
        number += 1
        for data, levels in made:
            data[e131.SEQUENCE_AT] = data[126] = number % 256
            levels[artnet.DMX_SEQUENCE_AT] = artnet.next_sequence(number % 255)
            levels[18] = number % 256
            if sacn:
                out.sendto(data, ("127.0.0.1", sacn))
            if art_net:
                out.sendto(levels, ("127.0.0.1", art_net))
        due += 1 / HZ
        time.sleep(max(0.0, due - time.monotonic()))


def _two_ports() -> tuple[int, int]:
    with (
        socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as one,
        socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as other,
    ):
        one.bind(("127.0.0.1", 0))
        other.bind(("127.0.0.1", 0))
        return one.getsockname()[1], other.getsockname()[1]


if __name__ == "__main__":
    main()
