"""A full house for a long while: who is dropped, what gets slower, what grows.

    python -m tests.bench.crowd [MINUTES] [PHONES]

Every phone drags pan of a fixture of its own thirty times a second, as a page does: with at most three
questions unanswered. 16 universes go out steadily and are heard on loopback, by the kernel's clock.
The phones run in one process beside the server: what they are late themselves is in the figures.
"""

import asyncio
import contextlib
import json
import statistics
import sys
import time
from array import array
from collections.abc import AsyncIterator, Iterable
from dataclasses import dataclass, field
from pathlib import Path

import websockets

from tests.arrivals import Arrivals, Heard
from tests.bench.pacing import evenness
from tests.bench.show import Cost, Phone, Show, running, table

__all__ = ["Crowd", "dragging", "main", "part"]

UNIVERSES = 16
CHANGES_PER_S = 30
MOST_UNANSWERED = 3
STEPS = 10_000  # what a change tells has four decimals: so many values can be told apart
STRIDE = 7
SETTLES_S = 5.0  # then what happens once has happened


@dataclass(slots=True)
class Crowd:
    """What all phones have seen together; times in seconds. asked: when, by fixture and value on its way."""

    asked: dict[str, dict[float, float]] = field(default_factory=dict)
    to_ok: "array[float]" = field(default_factory=lambda: array("d"))
    to_other: "array[float]" = field(default_factory=lambda: array("d"))
    sent: int = 0
    held_back: int = 0
    refused: list[str] = field(default_factory=list)
    dropped: list[str] = field(default_factory=list)


def main() -> None:
    """Print a row each minute, and everything together at the end."""
    minutes = float(sys.argv[1]) if len(sys.argv) > 1 else 10.0
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 64
    print(f"{count} phones for {minutes:g} minutes, {UNIVERSES} universes")
    with running(UNIVERSES, steady=range(1, UNIVERSES + 1)) as show:
        asyncio.run(_hold(show, minutes, count))


@contextlib.asynccontextmanager
async def dragging(show: Show, count: int) -> AsyncIterator[tuple[Crowd, Arrivals]]:
    """So many phones drag; what they see, and what arrives from the moment this is entered."""
    crowd, wire = Crowd(), Arrivals(show.wire)
    fixtures = [f for units in zip(*show.fixtures.values(), strict=True) for f in units]
    async with show.phones(count) as phones:
        tasks = [asyncio.create_task(_listen(phone, crowd, watch=at == 0)) for at, phone in enumerate(phones)]
        tasks += [asyncio.create_task(_drag(p, f, crowd)) for p, f in zip(phones, fixtures, strict=False)]
        await asyncio.sleep(SETTLES_S)
        wire.drain()
        asyncio.get_running_loop().add_reader(show.wire, wire.hear)
        yield crowd, wire
        asyncio.get_running_loop().remove_reader(show.wire)
        for task in tasks:
            task.cancel()


async def _hold(show: Show, minutes: float, count: int) -> None:
    async with dragging(show, count) as (crowd, wire):
        rows = [_row(show, 0.0, show.cost(), show.cost(), 1.0, crowd, 0)]
        for minute in _parts(minutes):
            before, began, done = show.cost(), time.perf_counter(), len(crowd.to_ok)
            await asyncio.sleep(60 * (minute - float(str(rows[-1][0]))))
            took = time.perf_counter() - began
            rows.append(_row(show, minute, before, show.cost(), took, crowd, done))
            print(f"{minute:g} of {minutes:g} minutes", file=sys.stderr, flush=True)
    _tell(crowd, wire, rows)


def _parts(minutes: float) -> Iterable[float]:
    whole = [float(n) for n in range(1, int(minutes) + 1)]
    return whole if whole and whole[-1] == minutes else [*whole, minutes]


async def _drag(phone: Phone, fixture: str, crowd: Crowd) -> None:
    on_the_way = crowd.asked.setdefault(fixture, {})
    step, due = 0, time.perf_counter()
    while True:
        due += 1 / CHANGES_PER_S
        await asyncio.sleep(max(0.0, due - time.perf_counter()))
        if phone.unanswered >= MOST_UNANSWERED:
            crowd.held_back += 1
            continue
        step = (step + STRIDE) % STEPS
        on_the_way[step / STEPS] = time.perf_counter()
        crowd.sent += 1
        try:
            await phone.ask(do="set", fixture=fixture, values={"Pan": step / STEPS})
        except websockets.ConnectionClosed:
            return  # told by whoever listens


async def _listen(phone: Phone, crowd: Crowd, watch: bool) -> None:
    """Count answers; one phone also watches what the others do."""
    try:
        async for text in phone.socket:
            now = time.perf_counter()
            if str(text).startswith('{"is":"change"'):
                if watch:
                    _watch(json.loads(text), now, crowd)
                continue
            message = json.loads(text)
            if message["is"] in ("ok", "refused"):
                crowd.to_ok.append(now - phone.answered(message["n"]))
                if message["is"] == "refused":
                    crowd.refused.append(message["why"])
    except websockets.ConnectionClosed as closed:
        crowd.dropped.append(str(closed))


def _watch(change: dict[str, dict[str, dict[str, dict[str, float]]]], now: float, crowd: Crowd) -> None:
    for fixture, news in change.get("fixtures", {}).items():
        value, on_the_way = news.get("values", {}).get("Pan"), crowd.asked.get(fixture, {})
        if value not in on_the_way:
            continue
        asked = on_the_way[value]
        crowd.to_other.append(now - asked)
        for old in [v for v, at in on_the_way.items() if at <= asked]:
            del on_the_way[old]


def _row(
    show: Show, minute: float, before: Cost, after: Cost, took: float, crowd: Crowd, done: int
) -> tuple[object, ...]:
    lately = sorted(crowd.to_ok[done:]) or [0.0]
    return (
        minute,
        (after.server_s - before.server_s) / took * 100,
        (after.output_s - before.output_s) / took * 100,
        after.server_mb,
        after.output_mb,
        _kept_kb(show.folder),
        (len(crowd.to_ok) - done) / took,
        part(lately, 0.5) * 1000,
        part(lately, 0.99) * 1000,
    )


def _kept_kb(folder: Path) -> float:
    return sum(path.stat().st_size for path in folder.glob("show.sqlite*")) / 1024


def part(ordered: list[float], share: float) -> float:
    """The value that so large a share stays below."""
    return ordered[min(len(ordered) - 1, int(len(ordered) * share))]


def _tell(crowd: Crowd, wire: Arrivals, rows: list[tuple[object, ...]]) -> None:
    heads = ("minute", "server CPU %", "output CPU %", "server MB", "output MB", "show file kB")
    table((*heads, "answers/s", "ok p50 ms", "ok p99 ms"), rows)
    print(f"\ngrowth a minute: server {_slope(rows, 3):+.3f} MB, show file {_slope(rows, 5):+.1f} kB")
    print(f"asked {crowd.sent}, answered {len(crowd.to_ok)}, not asked for want of answers {crowd.held_back}")
    for what, said in (("disconnects", crowd.dropped), ("refused", crowd.refused)):
        print(f"{what}: {len(said)} {said[:2] or ''}")
    for what, took in (("ok", sorted(crowd.to_ok)), ("another phone", sorted(crowd.to_other))):
        ms = [1000 * part(took or [0.0], share) for share in (0.5, 0.99, 1.0)]
        print(f"thumb to {what}: p50 {ms[0]:.1f} ms, p99 {ms[1]:.1f} ms, longest {ms[2]:.1f} ms")
    print(f"\nheard on loopback; packets lost: {sum(heard.lost for heard in wire.together())}")
    table(
        ("universe", "Hz", "off p50 ms", "off p99 ms", "longest gap ms"),
        [_heard(universe, heard) for universe, heard in sorted(wire.universes.items())],
    )


def _slope(rows: list[tuple[object, ...]], column: int) -> float:
    """Growth per minute, a line fitted from the second minute on: by then everything has been used once."""
    points = [(float(str(row[0])), float(str(row[column]))) for row in rows if float(str(row[0])) >= 2]
    if len(points) < 2:
        return 0.0
    return statistics.linear_regression(*zip(*points, strict=True)).slope


def _heard(universe: int, heard: Heard) -> tuple[object, ...]:
    """Its rate, and how far the time between two packets was from 1/44 s."""
    found = evenness([heard])
    return universe, found.hz, found.p50_ms, found.p99_ms, 1000 * max(heard.gaps)


if __name__ == "__main__":
    main()
