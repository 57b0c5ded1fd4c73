"""How many phones and universes one laptop carries.

    python -m tests.bench.phones [SECONDS]

Every phone drags pan and tilt of a fixture of its own, thirty times a second. CPU is of one core, per
process; "late" is the time from asking to the answer.
"""

import asyncio
import random
import sys
import time

from tests.bench.show import Phone, Show, running, table

__all__ = ["main"]

CASES = ((1, 1), (1, 16), (16, 0), (16, 16), (16, 64), (64, 64), (256, 16))


def main() -> None:
    """Print one row for each case."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 8.0
    rows = []
    for universes, count in CASES:
        with running(universes) as show:
            rows.append(asyncio.run(_row(show, universes, count, seconds)))
    heads = (
        "universes",
        "phones",
        "server CPU %",
        "output CPU %",
        "MB",
        "asked/s",
        "late p50 ms",
        "late p99 ms",
    )
    table(heads, rows)


async def _row(show: Show, universes: int, count: int, seconds: float) -> tuple[object, ...]:
    fixtures = [f for units in zip(*show.fixtures.values(), strict=True) for f in units]
    async with show.phones(count) as phones:
        tasks = [asyncio.create_task(phone.listen()) for phone in phones]
        tasks += [asyncio.create_task(_drag(phone, fixtures[at])) for at, phone in enumerate(phones)]
        await asyncio.sleep(1.0)
        before, began = show.cost(), time.perf_counter()
        asked = sum(len(phone.acks) for phone in phones)
        await asyncio.sleep(seconds)
        after, took = show.cost(), time.perf_counter() - began
        asked = sum(len(phone.acks) for phone in phones) - asked
        for task in tasks:
            task.cancel()
    acks = sorted(s * 1000 for phone in phones for s in phone.acks) or [0.0]
    server = (after.server_s - before.server_s) / took * 100
    output = (after.output_s - before.output_s) / took * 100
    late = acks[len(acks) // 2], acks[int(len(acks) * 0.99)]
    return (universes, count, server, output, after.memory_mb, asked / took, *late)


async def _drag(phone: Phone, fixture: str) -> None:
    await asyncio.sleep(random.uniform(0, 1 / 30))
    while True:
        await phone.ask(do="set", fixture=fixture, values={"Pan": random.random(), "Tilt": random.random()})
        await asyncio.sleep(1 / 30)


if __name__ == "__main__":
    main()
