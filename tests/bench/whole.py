"""The budgets of a whole server: what it takes, how soon it follows, and what a crowd does to it."""

import asyncio
import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median

from tests.arrivals import Arrivals
from tests.bench.crowd import dragging, part
from tests.bench.load import SLOWED, browsing, drag_row, load_row
from tests.bench.pacing import evenness
from tests.bench.row import HZ, Row, both, closest, done, ours
from tests.bench.show import PER_UNIVERSE, Show, running
from tests.bench.starts import starts
from tests.bench.touch import Wire, find_pan
from tests.bench.touch import row as touches

__all__ = ["PARTS"]

SETTLES_S = 3.0  # after a start, before a server is at rest


@contextmanager
def _measured(show: Show) -> Iterator[Callable[[], tuple[float, float]]]:
    """Gives what both processes took, in per cent of one core, since this was entered."""
    before, began = show.cost(), time.monotonic()

    def shares() -> tuple[float, float]:
        after, took = show.cost(), time.monotonic() - began
        return 100 * (after.server_s - before.server_s) / took, 100 * (
            after.output_s - before.output_s
        ) / took

    yield shares


def _at_rest(seconds: float) -> list[Row]:
    rows = []
    for n, goals in ((16, ("3", "1")), (256, ("", ""))):
        with running(n) as show:
            time.sleep(SETTLES_S)
            with _measured(show) as shares:
                time.sleep(2 * seconds)
                server, output = shares()
            rows += [
                ours(f"{n} universes at rest, both processes, %", *goals, server + output),
                ours(f"{n} universes at rest, memory of each, MB", "", "", _memory(show)),
            ]
        done(f"{n} at rest")
    return rows


def _memory(show: Show) -> str:
    cost = show.cost()
    return f"{cost.server_mb:.0f} + {cost.output_mb:.0f}"


def _small_show(seconds: float) -> list[Row]:
    with running(16) as show:
        return asyncio.run(_touched(show, seconds))


async def _touched(show: Show, seconds: float) -> list[Row]:
    await find_pan(show)
    wire = Wire(show)
    wire.start()
    quiet, moving, full = [
        await touches(show, wire, n, moves) for n, moves in ((16, False), (16, True), (64, False))
    ]
    wire.ending = True
    wire.join()
    async with dragging(show, 16):
        with _measured(show) as shares:
            await asyncio.sleep(2 * seconds)
            share = sum(shares())
    done("touch to wire")
    return [
        ours("touch to wire, quiet, 16 phones, p50 p99 ms", "1 5", "0.4 1", both(quiet[2:4])),
        ours("touch to wire, in motion, p50 p99 ms", "12 25", "12 23", both(moving[2:4])),
        ours("touch to wire, quiet, 64 phones, p50 p99 ms", "", "3", both(full[2:4])),
        ours("16 universes, 16 phones, both processes, %", "15", "8", share),
    ]


def _steady(seconds: float) -> list[Row]:
    rows = []
    for n in (16, 64):
        with running(n, steady=range(1, n + 1)) as show:
            rows += asyncio.run(_crowded(show, n, seconds))
        done(f"{n} universes with 64 phones")
    return rows


async def _crowded(show: Show, n: int, seconds: float) -> list[Row]:
    async with dragging(show, 64) as (crowd, wire):
        with _measured(show) as shares:
            await asyncio.sleep(3 * seconds)
            server, output = shares()
        found, memory = evenness(wire.together()), _memory(show)
    oks, others = (sorted(1000 * s for s in each) or [0.0] for each in (crowd.to_ok, crowd.to_other))
    here = f"{n} universes, 64 phones"
    return [
        ours(f"{here}: rate, Hz", *HZ, found.hz),
        ours(f"{here}: deviation p99, ms", "5", "2", found.p99_ms),
        closest(here, found),
        ours(f"{here}: server, output, %", "", "", f"{server:.1f} {output:.1f}"),
        ours(
            f"{here}: change on another phone p50 p99, ms",
            "50",
            "35",
            both((part(others, 0.5), part(others, 0.99))),
        ),
        ours(f"{here}: answer p50 p99, ms", "", "", both((part(oks, 0.5), part(oks, 0.99)))),
        ours(f"{here}: memory of each, MB", "150", "100", memory),
        ours(f"{here}: dropped, refused", "0 0", "", f"{len(crowd.dropped)} {len(crowd.refused)}"),
    ]


def _on_one_core(seconds: float) -> list[Row]:
    """Both processes on one core, and whoever listens on the others."""
    with running(256, steady=range(1, 257)) as show:
        cores = sorted(os.sched_getaffinity(0))
        for process in (show.server_pid, show.output_pid):
            for task in Path(f"/proc/{process}/task").iterdir():
                os.sched_setaffinity(int(task.name), cores[:1])
        os.sched_setaffinity(0, cores[1:] or cores)
        wire = Arrivals(show.wire)
        wire.listen(SETTLES_S)
        wire.drain()
        with _measured(show) as shares:
            wire.listen(2 * seconds)
            server, output = shares()
        os.sched_setaffinity(0, cores)
        found = evenness(wire.together())
    done("256 universes on one core")
    return [
        ours("256 universes on one core: rate, Hz", *HZ, found.hz),
        ours("256 universes on one core: deviation p99, ms", "", "", found.p99_ms),
        ours("256 universes on one core: server, output, %", "", "", f"{server:.1f} {output:.1f}"),
    ]


def _large_show(seconds: float) -> list[Row]:
    with running(2000 // PER_UNIVERSE) as show:
        memory = asyncio.run(_dragged(show, seconds))
    done("2,000 fixtures")
    return [ours("2,000 fixtures, 64 phones: memory of each, MB", "150", "100", memory)]


async def _dragged(show: Show, seconds: float) -> str:
    async with dragging(show, 64):
        await asyncio.sleep(seconds)
        return _memory(show)


def _starts(seconds: float) -> list[Row]:
    frames, answers = zip(*starts(5), strict=True)
    done("starts")
    return [
        ours("start to first frame, s", "1.5", "", median(frames)),
        ours("start to first answer, s", "", "", median(answers)),
    ]


def _page(seconds: float) -> list[Row]:
    try:
        with browsing() as (browser, server):
            rows = {at: load_row(browser, server, "slow150", at) for at in ("en-GB", "de-DE")}
            drag = drag_row(browser, server, SLOWED)
    except LookupError as why:
        return [Row(f"page: not measured, {why}")]
    done("page")
    return [
        *(
            row
            for _, language, requests, size, usable, *_ in rows.values()
            for row in (
                ours(f"page ({language}): kB, requests", "60", "", f"{float(str(size)):.1f} {requests}"),
                ours(
                    f"page ({language}): usable, 1.6 Mbit/s, 150 ms, processor / 4, ms",
                    "1000",
                    "",
                    f"{float(str(usable)):.0f}",
                ),
            )
        ),
        ours("page: between frames of a drag, processor / 4, p50 p99 ms", "16.7", "", both(drag[2:4])),
    ]


# One after the other; each is given the seconds for a figure.
PARTS = (_at_rest, _small_show, _steady, _on_one_core, _large_show, _starts, _page)
