"""What a phone pays for the page: bytes, the time until it is usable, frames while dragging, memory.

python -m tests.bench.load

A real Chromium with its processor slowed four times; "wifi40" is 40 ms and 5 Mbit/s, "slow150" 150 ms and
1.6 Mbit/s. Compare figures of one machine, do not quote them.
"""

import shutil
import statistics
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import pairwise
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext, CDPSession, Page, sync_playwright

from server.api.people import COOKIE
from tests.bench.show import table
from tests.servers import Server, serving
from tests.web.conftest import FLAGS, NAME, PHONE
from tests.web.phones import Thumb, to_sheet
from tests.web.test_list import BIG_RIG

__all__ = ["SLOWED", "browsing", "drag_row", "load_row", "main"]

SLOWED = 4
NETS = {"loopback": None, "wifi40": (40, 5e6), "slow150": (150, 1.6e6)}
# When the fader is there and the link is live: milliseconds since the address was opened. It tells by itself:
# to be asked costs a page more than all of ours while it loads.
USABLE = """const look = () => {
  const there = document.querySelector('[data-link=live] .pane fc-fader .track');
  if (there) usable(String(performance.now()));
  else requestAnimationFrame(look);
};
look();"""
PLACES = ("fixtures", "fixture/demo-21", "looks", "slots", "fixture/demo-3", "rig")
FRAMES = """() => {
  const stamps = globalThis.stamps = [];
  const next = (now) => { stamps.push(now); requestAnimationFrame(next); };
  requestAnimationFrame(next);
}"""


@contextmanager
def browsing() -> Iterator[tuple[Browser, Server]]:
    """A browser, and a server for it. Raises LookupError: there is none here."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if chromium is None:
        raise LookupError("no Chromium")
    with (
        tempfile.TemporaryDirectory() as data,
        serving(Path(data) / "data", name=NAME) as server,
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        yield browser, server
        browser.close()


def main() -> int:
    """Print the figures; returns the exit code."""
    try:
        _print()
    except LookupError as why:
        print(f"This cannot be measured here: {why}.", file=sys.stderr)
        return 1
    return 0


def _print() -> None:
    with browsing() as (browser, server):
        print(f"loading, processor slowed {SLOWED} times; usable: the fader of a sheet drawn, the link live")
        loads = [load_row(browser, server, net, locale) for locale in ("en-GB", "de-DE") for net in NETS]
        table(
            ("network", "language", "requests", "kB", "usable ms", "again requests", "again kB", "again ms"),
            loads,
        )
        print("\ndragging a fader with the processor slowed; milliseconds between frames")
        table(
            ("slowed", "frames", "p50", "p99", "over 25 ms %"),
            [drag_row(browser, server, n) for n in (1, SLOWED)],
        )
        print("\nflicking through a list of 2,000 fixtures; milliseconds between frames")
        table(
            ("slowed", "frames", "p50", "p99", "over 25 ms %"),
            [_flick(browser, server, n) for n in (1, SLOWED)],
        )
        print("\nturning from screen to screen")
        table(("changes", "heap MB", "nodes", "listeners"), _turn(browser, server, 200))


def _context(browser: Browser, server: Server, locale: str = "en-GB") -> BrowserContext:
    context = browser.new_context(**PHONE, locale=locale)
    token = server.client("crew", "Bench").headers["Authorization"].removeprefix("Bearer ")
    context.add_cookies([{"name": COOKIE, "value": token, "url": f"http://{NAME}:{server.port}"}])
    context.add_init_script("try { localStorage['fc.in'] ??= '1' } catch { /* about:blank has none */ }")
    return context


def _slow(cdp: CDPSession, times: float, net: tuple[float, float] | None = None) -> None:
    cdp.send("Emulation.setCPUThrottlingRate", {"rate": times})
    if net is not None:
        ways = {"downloadThroughput": net[1] / 8, "uploadThroughput": net[1] / 8}
        cdp.send("Network.emulateNetworkConditions", {"offline": False, "latency": net[0], **ways})


def load_row(browser: Browser, server: Server, net: str, locale: str = "en-GB") -> tuple[object, ...]:
    """Network, language; requests, kB and ms until usable at first, and again."""
    context = _context(browser, server, locale)
    first, second = (_one_load(context, server, NETS[net]) for _ in range(2))
    context.close()
    return (net, locale[:2], *first, *second)


def _one_load(
    context: BrowserContext, server: Server, net: tuple[float, float] | None
) -> tuple[int, float, float]:
    """Requests answered over the network, kilobytes of them, milliseconds until usable."""
    page = context.new_page()
    page.add_init_script(USABLE)
    cdp, size, kept = context.new_cdp_session(page), dict[str, float](), set[str]()
    told: list[float] = []
    cdp.send("Runtime.enable")
    cdp.send("Runtime.addBinding", {"name": "usable"})
    cdp.on("Runtime.bindingCalled", lambda event: told.append(float(event["payload"])))
    cdp.send("Network.enable")
    _slow(cdp, SLOWED, net)
    cdp.on(
        "Network.loadingFinished", lambda event: size.update({event["requestId"]: event["encodedDataLength"]})
    )
    cdp.on("Network.requestServedFromCache", lambda event: kept.add(event["requestId"]))
    page.goto(f"http://{NAME}:{server.port}/#fixture/demo-3", wait_until="commit")
    while not told:
        page.wait_for_timeout(20)
    over = [octets for key, octets in size.items() if key not in kept and octets > 0]
    page.close()
    return len(over), sum(over) / 1000, told[0]


def drag_row(browser: Browser, server: Server, slowed: float) -> tuple[object, ...]:
    """How slow the processor was; frames, median and p99 of the ms between two, per cent over 25 ms."""
    context = _context(browser, server)
    page = _open(context, server)
    to_sheet(page, 3, "Level")
    _slow(context.new_cdp_session(page), slowed)
    page.evaluate(FRAMES)
    thumb = Thumb(page).down(".track", 0.9)
    for _ in range(3):
        thumb.move(0, -200, 60).move(0, 200, 60)
    thumb.up()
    row = _frames(page, slowed)
    context.close()
    return row


def _flick(browser: Browser, server: Server, slowed: float) -> tuple[object, ...]:
    context = _context(browser, server)
    page = _open(context, server)
    page.evaluate(BIG_RIG)
    page.wait_for_selector("text=2000 fixtures")
    cdp = context.new_cdp_session(page)
    _slow(cdp, slowed)
    page.evaluate(FRAMES)
    for distance in (-20_000, -20_000, 20_000, 20_000):
        gesture = {"x": 200, "y": 500, "yDistance": distance, "speed": 8000, "gestureSourceType": "touch"}
        cdp.send("Input.synthesizeScrollGesture", gesture)
    row = _frames(page, slowed)
    context.close()
    return row


def _frames(page: Page, slowed: float) -> tuple[object, ...]:
    stamps: list[float] = page.evaluate("() => stamps")
    gaps = sorted(b - a for a, b in pairwise(stamps))
    late = 100 * sum(gap > 25 for gap in gaps) / len(gaps)
    return (slowed, len(gaps), statistics.median(gaps), gaps[int(len(gaps) * 0.99)], late)


def _turn(browser: Browser, server: Server, changes: int) -> list[tuple[object, ...]]:
    context = _context(browser, server)
    page = _open(context, server)
    cdp = context.new_cdp_session(page)
    for place in PLACES:  # all modules are there before the first count
        _go(page, place)
    rows: list[tuple[object, ...]] = [(0, *_weight(cdp))]
    for n in range(1, changes + 1):
        _go(page, PLACES[n % len(PLACES)])
        if n % (changes // 4) == 0:
            _go(page, "fixtures")
            rows.append((n, *_weight(cdp)))
    context.close()
    return rows


def _open(context: BrowserContext, server: Server) -> Page:
    page = context.new_page()
    page.goto(f"http://{NAME}:{server.port}/")
    page.wait_for_selector("[data-link=live]")
    return page


def _go(page: Page, place: str) -> None:
    # Nothing is handed out of the page: what holds a node would keep its whole screen in memory.
    page.evaluate(f"() => {{ location.hash = '#{place}' }}")
    there = "name => document.querySelector(`main[data-screen=${name}] > *`) !== null"
    page.wait_for_function(there, arg=place.partition("/")[0])


def _weight(cdp: CDPSession) -> tuple[float, int, int]:
    """Heap in MB, nodes and listeners of the document, after a collection."""
    cdp.send("HeapProfiler.collectGarbage")
    counters: dict[str, Any] = cdp.send("Memory.getDOMCounters")
    heap = cdp.send("Runtime.getHeapUsage")["usedSize"]
    return heap / 1e6, counters["nodes"], counters["jsEventListeners"]


if __name__ == "__main__":
    sys.exit(main())
