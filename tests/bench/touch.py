"""From a phone's message to the packet on the wire, and to the page of another phone.

    python -m tests.bench.touch [UNIVERSES]

One phone sets a 16-bit pan (an intensity would meet the flash limit); a socket here notes when the first
packet with that value arrives. "Quiet" means that nothing else moves in its universe, "in motion" that
another phone drags beside it thirty times a second.
"""

import asyncio
import random
import struct
import sys
import threading
import time

from tests.bench.show import Phone, Show, running, table

__all__ = ["Wire", "find_pan", "main", "row"]

TOUCHES = 60


class Wire(threading.Thread):
    """Notes when each value of the watched pan first arrives, by the kernel's clock: phones drag in this
    program, too, and would hold up whoever looks.
    """

    def __init__(self, show: Show) -> None:
        super().__init__(daemon=True)
        self.show, self.at, self.ending = show, dict[int, float](), False

    def run(self) -> None:
        self.show.wire.settimeout(0.2)
        while not self.ending:
            try:
                packet, extra, _, _ = self.show.wire.recvmsg(2048, 64)
            except TimeoutError:
                continue
            if packet[113:115] == b"\0\1" and len(packet) > 140:  # E1.31-2018, Table 4-1: universe 1, data
                value = struct.unpack_from(">H", packet, 126 + PAN)[0]
                whole, nanoseconds = struct.unpack("=qq", extra[0][2])
                early = time.time() - (whole + nanoseconds * 1e-9)
                self.at.setdefault(value, time.perf_counter() - early)


PAN = 0  # found at the start: where pan's coarse byte lies in the first fixture


def main() -> None:
    """Print milliseconds, median and 99th percentile."""
    universes = int(sys.argv[1]) if len(sys.argv) > 1 else 16
    with running(universes) as show:
        rows = asyncio.run(_measure(show))
    print(f"{universes} universes, milliseconds; {TOUCHES} touches a row")
    table(("phones dragging", "universe", "wire p50", "wire p99", "other p50", "other p99", "ok p50"), rows)


async def _measure(show: Show) -> list[tuple[object, ...]]:
    await find_pan(show)
    wire = Wire(show)
    wire.start()
    cases = [(dragging, moving) for dragging in (0, 16, 64) for moving in (False, True)]
    rows = [await row(show, wire, dragging, moving) for dragging, moving in cases]
    wire.ending = True
    wire.join()
    return rows


async def find_pan(show: Show) -> None:
    """Ask the wire itself where pan lies: the slot pair that follows a value nobody else has."""
    global PAN
    async with show.phones(1) as (phone,):
        listening = asyncio.create_task(phone.listen())
        await phone.ask(do="set", fixture=show.fixtures[1][0], values={"Pan": {"raw": 0xA55A}})
        await phone.ask(do="let_go", fixture="*")
        await asyncio.sleep(0.3)
        listening.cancel()
    packet = b""
    while packet[113:115] != b"\0\1" or b"\xa5\x5a" not in packet[126:]:
        packet = show.wire.recv(2048)
    PAN = packet[126:].index(b"\xa5\x5a")


async def row(show: Show, wire: Wire, dragging: int, moving: bool) -> tuple[object, ...]:
    """Phones dragging, where, and milliseconds: wire p50 and p99, another phone p50 and p99, ok."""
    async with show.phones(dragging + 3) as phones:
        toucher, watcher, beside, *draggers = phones
        tasks = [asyncio.create_task(p.listen(watch=p is watcher)) for p in phones]
        others = [f for u, units in show.fixtures.items() if u > 1 for f in units]
        tasks += [asyncio.create_task(_drag(p, others[i])) for i, p in enumerate(draggers)]
        if moving:
            tasks.append(asyncio.create_task(_drag(beside, show.fixtures[1][5])))
        await asyncio.sleep(0.5)
        asked = await _touch(toucher, show.fixtures[1][0])
        await asyncio.sleep(0.3)
        for task in tasks[len(phones) :]:  # nobody drags any more
            task.cancel()
        for each in phones:
            await each.ask(do="let_go", fixture="*")
        await asyncio.sleep(0.3)
        for task in tasks:
            task.cancel()
    found = [(wire.at[v] - t) * 1000 for v, t in asked.items() if v in wire.at and wire.at[v] > t]
    told = {round(v / 65535, 6): t for v, t in asked.items()}
    mine = show.fixtures[1][0]
    other = [(at - told[lv]) * 1000 for (f, lv), at in watcher.seen.items() if f == mine and lv in told]
    acks = [s * 1000 for s in toucher.acks]
    where = "in motion" if moving else "quiet"
    return (dragging, where, *_two(found), *_two(other), _two(acks)[0])


async def _touch(phone: Phone, fixture: str) -> dict[int, float]:
    asked = {}
    for value in random.sample(range(1, 65536), TOUCHES):
        # Longer than the repeats after a change, so that a quiet universe is quiet again; never in step.
        await asyncio.sleep(random.uniform(0.12, 0.16))
        asked[value] = time.perf_counter()
        await phone.ask(do="set", fixture=fixture, values={"Pan": {"raw": value}})
    return asked


async def _drag(phone: Phone, fixture: str) -> None:
    await asyncio.sleep(random.uniform(0, 1 / 30))
    while True:
        await phone.ask(do="set", fixture=fixture, values={"Pan": random.random(), "Tilt": random.random()})
        await asyncio.sleep(1 / 30)


def _two(figures: list[float]) -> tuple[float, float]:
    ordered = sorted(figures) or [float("nan")]
    return ordered[len(ordered) // 2], ordered[min(len(ordered) - 1, int(len(ordered) * 0.99))]


if __name__ == "__main__":
    main()
