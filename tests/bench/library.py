"""Fixture files by the thousand: how long they take to index, what that costs, how long a search takes."""

import asyncio
import os
import sys
import tempfile
import time
from pathlib import Path

from server.paperwork.library import Library
from server.paperwork.shelf import Shelf
from server.paperwork.stock import Stock
from tests.paperwork.gdtf_files import channel, fixture, function, gdtf, mode, ranged, tag

__all__ = ["main", "write_files"]

MAKERS = 40  # invented: Maker 1 ...
WORDS = ("", "spot", "maker 7", "fixture 123", "wash 16", "26-slot", "nothing is called that", "m 1 s 2")


def write_files(folder: Path, count: int) -> int:
    """So many .gdtf files of the size of a usual moving light; returns their octets."""
    octets = 0
    for number in range(count):
        data = gdtf(_description(number))
        octets += len(data)
        (folder / f"{number:05}.gdtf").write_bytes(data)
    return octets


def _description(number: int) -> str:
    kind = ("Spot", "Wash", "Beam", "Batten")[number % 4]
    wheel = tag("Wheel", *(tag("Slot", Name=f"Template {n}") for n in range(12)), Name="G")
    modes = [
        _mode(f"{slots}-slot {extra}", slots) for slots, extra in ((16, "basic"), (26 + number % 9, "full"))
    ]
    names = {
        "Name": f"{kind} Fixture {number}",
        "LongName": f"{kind} Fixture {number}",
        "ShortName": f"F{number}",
    }
    return fixture(*modes, extra=tag("Wheels", wheel), Manufacturer=f"Maker {number % MAKERS}", **names)


def _mode(name: str, slots: int) -> str:
    sets = [ranged(f"Template {n}", f"{n * 8}/1", WheelSlotIndex=n + 1) for n in range(12)]
    shake = [ranged(f"Template {n} shake", f"{128 + n * 8}/1", WheelSlotIndex=n + 1) for n in range(12)]
    gobo = (
        function("Gobo1", *sets, Wheel="G"),
        function("Gobo1SelectShake", *shake, Wheel="G", DMXFrom="128/1"),
    )
    channels = [
        channel("Pan", "1,2", function("Pan", PhysicalFrom=-270, PhysicalTo=270)),
        channel("Tilt", "3,4"),
        channel("Dimmer", "5,6"),
        channel("Gobo1", 7, *gobo),
        *(channel(f"Control{n}", n, function(f"Control{n}", *sets[:6])) for n in range(8, slots + 1)),
    ]
    return mode(*channels, name=name)


async def _index(stock: Stock) -> tuple[float, float]:
    started, stalls = time.perf_counter(), 0.0

    async def tick() -> None:
        nonlocal stalls
        while True:
            before = time.perf_counter()
            await asyncio.sleep(0.005)
            stalls = max(stalls, time.perf_counter() - before - 0.005)

    ticking = asyncio.create_task(tick())
    await stock.take()
    ticking.cancel()
    return time.perf_counter() - started, stalls


def main(arguments: list[str]) -> int:
    """Measure with so many files (1000)."""
    count = int(arguments[0]) if arguments else 1000
    with tempfile.TemporaryDirectory() as place:
        files = Path(place) / "profiles"
        files.mkdir()
        octets = write_files(files, count)
        print(f"{count} files of {octets / count / 1000:.1f} kB", flush=True)
        shelf = Shelf(Path(place) / "library.sqlite")
        took, stall = asyncio.run(_index(Stock(shelf, [files])))
        size = shelf.path.stat().st_size
        print(f"indexed {len(shelf)} in {took:.1f} s, {took / count * 1000:.1f} ms each", end="; ")
        print(f"longest wait of the event loop beside it {stall * 1000:.0f} ms; index {size / 1e6:.1f} MB")
        again, _ = asyncio.run(_index(Stock(shelf, [files])))
        print(f"looked through again, nothing new: {again * 1000:.0f} ms")
        library = Library((), (), shelf)
        for words in WORDS:
            times = []
            for _ in range(20):
                started = time.perf_counter()
                found = library.search(words)
                times.append((time.perf_counter() - started) * 1000)
            print(
                f"search {words!r}: {len(found)} in {sorted(times)[10]:.1f} ms, slowest {max(times):.1f} ms"
            )
        _memory()
        shelf.close()
    return 0


def _memory() -> None:
    if sys.platform == "linux":
        import resource

        ours = int(Path("/proc/self/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6
        most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1000
        print(f"memory: {ours:.0f} MB here, at most {most:.0f} MB in the reading process")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
