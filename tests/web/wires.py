"""What stands between a page and its server, and what leaves the server: a line to cut, slots to read."""

import asyncio
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress

from playwright.sync_api import Page

from tests.servers import Server
from tests.web.phones import percent

__all__ = ["Line", "Lit", "answered", "drawn", "line_to"]


class Line:
    """A TCP relay on loopback that can stall (a black hole), be reset, and be out of reach.

    port: where it listens.
    """

    def __init__(self, to: int) -> None:
        self._to = to
        self._loop = asyncio.new_event_loop()
        self._writers: set[asyncio.StreamWriter] = set()
        self._flows = asyncio.Event()
        self._flows.set()
        self._reached = True
        self.port = 0
        self._thread = threading.Thread(target=self._run, name="line", daemon=True)
        self._ready = threading.Event()
        self._thread.start()
        assert self._ready.wait(10)

    def _run(self) -> None:
        asyncio.set_event_loop(self._loop)
        serving = self._loop.run_until_complete(asyncio.start_server(self._relay, "127.0.0.1", 0))
        self.port = serving.sockets[0].getsockname()[1]
        self._ready.set()
        self._loop.run_forever()
        serving.close()
        while tasks := asyncio.all_tasks(self._loop):  # what carried ends by itself: nothing is open any more
            self._loop.run_until_complete(asyncio.gather(*tasks, return_exceptions=True))
        self._loop.close()

    async def _relay(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        far: asyncio.StreamWriter | None = None
        try:
            if self._reached:
                from_far, far = await asyncio.open_connection("127.0.0.1", self._to)
                self._writers |= {writer, far}
                await asyncio.gather(self._carry(reader, far), self._carry(from_far, writer))
        except OSError:
            pass
        finally:
            for one in filter(None, (writer, far)):
                self._writers.discard(one)
                one.transport.abort()

    async def _carry(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        while data := await reader.read(65536):
            await self._flows.wait()
            writer.write(data)
            await writer.drain()
        await self._flows.wait()
        with suppress(OSError, RuntimeError):
            writer.write_eof()

    def _do(self, what: str) -> None:
        async def there() -> None:
            if what == "freeze":
                self._flows.clear()
            elif what == "flow":
                self._flows.set()
            else:
                for writer in tuple(self._writers):
                    writer.transport.abort()

        asyncio.run_coroutine_threadsafe(there(), self._loop).result(10)

    def freeze(self) -> None:
        """Carry nothing any more, and close nothing: a phone behind a wall."""
        self._do("freeze")

    def reset(self) -> None:
        """Abort every connection; what was under way is lost."""
        self._do("reset")

    def cut(self) -> None:
        """Reset, and let nobody through."""
        self._reached = False
        self.reset()

    def mend(self) -> None:
        """Carry again; what stalled is lost."""
        self.reset()
        self._reached = True
        self._do("flow")

    def close(self) -> None:
        """Reset, and be gone."""
        self.cut()
        self._do("flow")
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join(10)


@contextmanager
def line_to(server: Server) -> Iterator[Line]:
    """A line to a server, gone afterwards."""
    line = Line(server.port)
    try:
        yield line
    finally:
        line.close()


class Lit:
    """The level of one fixture of the demo as it leaves, by its channel."""

    def __init__(self, server: Server, channel: int) -> None:
        client = server.client()
        it = next(one for one in client.get("/api/fixtures").json() if one["channel"] == channel)
        modes = client.get(f"/api/profiles/{it['profile']}").json()["modes"]
        controls = next(mode["controls"] for mode in modes if mode["name"] == it["mode"])
        offsets = next(one["offset"] for one in controls if one["key"] == "Dimmer")
        self._server, self._universe = server, it["universe"]
        self._slots = [it["address"] + offset - 2 for offset in offsets]
        self._largest = int(256 ** len(offsets) - 1)

    def _percent(self, picture: bytes) -> float:
        raw = int.from_bytes(bytes(picture[slot] for slot in self._slots), "big")
        return raw / self._largest * 100

    def now(self) -> float:
        """Percent."""
        return self._percent(self._server.sacn.pictures(self._universe)[-1])

    def since(self, time: float) -> list[float]:
        """Percent in each packet that came after a monotonic time."""
        return [self._percent(picture) for picture in self._server.sacn.pictures(self._universe, time)]

    def until(self, percent: float) -> None:
        """Wait until this leaves, as exactly as a page shows it: whole percent."""
        self._server.sacn.until(lambda: abs(self.now() - percent) <= 0.501, f"{percent} %, not {self.now()}")


def drawn(page: Page) -> float:
    """Percent that a level shows once all that a thumb asked is drawn."""
    page.evaluate(
        "() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done())))"
    )
    return percent(page)


def answered(page: Page) -> float:
    """The same once it is answered, too; the thumb may still be down."""
    drawn(page)
    page.wait_for_selector("fc-fader:not([data-asked])")
    return percent(page)
