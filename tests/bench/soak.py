"""A long day in short: does anything grow, get lost, or come too soon, and does it survive a sleep.

    python -m tests.bench.soak [MINUTES] [UNIVERSES] [PHONES]

A real server; half of its universes stream steadily, the others when something changes. Phones (8) do what
crews do, by chance: drag, take, let go, bring looks up. Every packet is heard on loopback and judged. At the
end both processes are stopped for ten seconds, as on a laptop that sleeps, and all is judged once more.
"""

import asyncio
import contextlib
import os
import random
import re
import signal
import statistics
import sys
import time
from collections import Counter
from dataclasses import dataclass, field

import websockets

from tests.arrivals import Arrivals
from tests.bench.show import Phone, Show, running, table

__all__ = ["main"]

SAMPLE_S = 10.0
SETTLES_S = 5.0
SLEPT_S = 10.0
WAKES_S = 10.0
CHANGES_PER_S = 30
MOST_UNANSWERED = 3


@dataclass(slots=True)
class Judged:
    """What was heard so far: packets, numbers missing, packets too close, streams that ended, rates."""

    packets: int = 0
    lost: int = 0
    too_close: int = 0
    ended: int = 0
    slowest_hz: float = 999.0
    fastest_hz: float = 0.0
    longest_s: float = 0.0

    def take(self, wire: Arrivals, steady: range, seconds: float) -> None:
        """Judge what came in these seconds, and let it go."""
        for universe, heard in wire.universes.items():
            gaps = heard.gaps
            self.packets += len(gaps)
            self.lost += heard.lost
            self.too_close += heard.too_close
            self.ended += heard.ended
            if universe in steady and seconds:
                self.slowest_hz, self.fastest_hz = (
                    min(self.slowest_hz, heard.hz),
                    max(self.fastest_hz, heard.hz),
                )
                self.longest_s = max(self.longest_s, *gaps, 0.0)
            heard.forget()


@dataclass(slots=True)
class Crew:
    """What the phones did, by kind; what was refused, by reason; who was disconnected."""

    did: Counter[str] = field(default_factory=Counter)
    refused: Counter[str] = field(default_factory=Counter)
    dropped: list[str] = field(default_factory=list)


def main() -> None:
    """Print one table at the end."""
    given = dict(enumerate(sys.argv[1:]))
    minutes, universes, phones = float(given.get(0, 30)), int(given.get(1, 64)), int(given.get(2, 8))
    steady = range(1, universes // 2 + 1)
    print(
        f"{minutes:g} minutes, {universes} universes, {len(steady)} of them steady, {phones} phones",
        flush=True,
    )
    with running(universes, steady=steady) as show:
        asyncio.run(_soak(show, steady, minutes, phones))


async def _soak(show: Show, steady: range, minutes: float, count: int) -> None:
    crew, wire, judged, slept = Crew(), Arrivals(show.wire), Judged(), Judged()
    looks = [show.call("/api/looks", {"name": name})["id"] for name in ("One", "Two")]
    loop = asyncio.get_running_loop()
    samples: list[tuple[float, float, float]] = []
    async with show.phones(count) as phones:
        tasks = [asyncio.create_task(_listen(phone, crew)) for phone in phones]
        tasks += [asyncio.create_task(_work(phone, show, looks, crew)) for phone in phones]
        await asyncio.sleep(SETTLES_S)
        wire.drain()
        loop.add_reader(show.wire, wire.hear)
        began, before = time.monotonic(), show.cost()
        while (passed := time.monotonic() - began) < 60 * minutes:
            await asyncio.sleep(min(SAMPLE_S, 60 * minutes - passed))
            judged.take(wire, steady, SAMPLE_S)
            cost = show.cost()
            samples.append(((time.monotonic() - began) / 60, cost.server_mb, cost.output_mb))
        after, took = show.cost(), time.monotonic() - began
        done, first_s = sum(crew.did.values()), await _sleep(show, wire, slept, steady)
        worked_on = sum(crew.did.values()) - done
        loop.remove_reader(show.wire)
        for phone in phones:
            crew.refused.update(re.sub(r"\d+", "N", why) for why in phone.refused)
        for task in tasks:
            task.cancel()
    server = 100 * (after.server_s - before.server_s) / took
    output = 100 * (after.output_s - before.output_s) / took
    table(
        ("", "worked", "slept and woke"),
        [
            ("packets", judged.packets, slept.packets),
            ("numbers missing or repeated", judged.lost, slept.lost),
            ("closer than 22 ms", judged.too_close, slept.too_close),
            ("said that they end", judged.ended, slept.ended),
            ("slowest steady universe, Hz", judged.slowest_hz, slept.slowest_hz),
            ("fastest steady universe, Hz", judged.fastest_hz, slept.fastest_hz),
            ("longest pause of one, ms", 1000 * judged.longest_s, ""),
            ("first packet after waking, ms", "", 1000 * first_s),
            ("server, % of a core", server, ""),
            ("output, % of a core", output, ""),
            ("server, MB, and more each minute", *_grown([(at, mb) for at, mb, _ in samples])),
            ("output, MB, and more each minute", *_grown([(at, mb) for at, _, mb in samples])),
            ("done", done, worked_on),
            ("disconnected", len(crew.dropped), ""),
        ],
    )
    print("done:", dict(crew.did), "refused:", dict(crew.refused), *crew.dropped[:3])


def _grown(samples: list[tuple[float, float]]) -> tuple[str, str]:
    """The last size, and the slope of a line of least squares through all but the first fifth."""
    rest = samples[len(samples) // 5 :]
    slope = statistics.linear_regression(*zip(*rest, strict=True)).slope if len(rest) > 2 else float("nan")
    return f"{samples[-1][1]:.1f}", f"{slope:+.4f}"


async def _sleep(show: Show, wire: Arrivals, judged: Judged, steady: range) -> float:
    """Stop both processes, wake them, judge what comes; returns how soon the first packet came."""
    both = (show.server_pid, show.output_pid)
    for process in both:
        os.kill(process, signal.SIGSTOP)
    try:
        await asyncio.sleep(SLEPT_S)
        judged.take(wire, steady, 0.0)
    finally:
        woken = time.time()
        for process in both:
            os.kill(process, signal.SIGCONT)
    await asyncio.sleep(WAKES_S)
    first = min(heard.times[1] for universe, heard in wire.universes.items() if universe in steady) - woken
    for heard in wire.universes.values():  # the pause itself is no gap of the stream; its numbers go on
        judged.packets += 1
        judged.too_close += len(heard.times) > 1 and heard.times[1] - heard.times[0] < 0.022
        del heard.times[0]
    judged.take(wire, steady, WAKES_S)
    return first


async def _work(phone: Phone, show: Show, looks: list[str], crew: Crew) -> None:
    """One thing after the other, for as long as the phone is connected."""
    every = [fixture for units in show.fixtures.values() for fixture in units]
    with contextlib.suppress(websockets.ConnectionClosed):
        while True:
            what = random.choices(("drag", "take", "let go", "let all go", "look"), (60, 15, 15, 5, 5))[0]
            fixture = random.choice(every)
            crew.did[what] += 1
            if what == "drag":
                await _drag(phone, fixture)
            elif what == "take":
                await phone.ask(do="take", fixture=fixture, over=True)
            elif what == "look":
                fade = {"fade_s": random.choice((0.0, 2.0))}
                path = f"/api/looks/{random.choice(looks)}/recall"
                await asyncio.to_thread(_tried, show, path, fade, crew)
            else:
                await phone.ask(do="let_go", fixture="*" if what == "let all go" else fixture)
            await asyncio.sleep(random.uniform(0.0, 0.5))


async def _drag(phone: Phone, fixture: str) -> None:
    for _ in range(random.randrange(10, 4 * CHANGES_PER_S)):
        if phone.unanswered < MOST_UNANSWERED:
            values = {"Pan": random.random(), "Tilt": random.random(), "Dimmer": random.random()}
            await phone.ask(do="set", fixture=fixture, values=values)
        await asyncio.sleep(1 / CHANGES_PER_S)


def _tried(show: Show, path: str, body: object, crew: Crew) -> None:
    try:
        show.call(path, body)
    except OSError as why:
        crew.refused[str(why)] += 1


async def _listen(phone: Phone, crew: Crew) -> None:
    await phone.listen()
    if phone.socket.close_code is not None:
        crew.dropped.append(f"{phone.socket.close_code} {phone.socket.close_reason}")


if __name__ == "__main__":
    main()
