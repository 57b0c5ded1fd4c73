"""What one connection may cost the others: how many, what waits in them, how long they dawdle."""

import asyncio
import json
import os
import socket
import struct
from contextlib import suppress
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol
from uvicorn.protocols.websockets.websockets_sansio_impl import WebSocketsSansIOProtocol

__all__ = ["MOST", "MOST_OF_ONE", "PING_S", "Http", "Live"]

# A phone keeps one socket and opens six more for a moment while it loads the page. Behind a router all of a
# crew have one address, so that one address may bring a crew of 64 and more.
MOST_OF_ONE = 512
MOST = 1024
SPARE = 64  # beyond it nobody is even told why
SENTENCE = "Too many connections come from here. Close pages you do not need, then try again."

LOOK_S = 10.0  # how often a connection is looked at; one that dawdles at two looks in a row is closed
LEAST_OCTETS = 10_000  # to come in between from one whose turn it is: no Wi-Fi that works is so slow
PING_S = 10.0  # between pings, and for the answer to one: a phone that walked off is away after 20 s
LINGER_S = 2.0  # for the last words to get through to one that is closed

SEND_ROOM = 128 * 1024  # octets in the system, which would take up to 4 MB for a phone that reads nothing
WAITING = 64 * 1024  # octets here, of what the system did not take; besides it one message of any length
AT_ONCE = struct.pack("hh" if os.name == "nt" else "ii", 1, 0)  # the system keeps nothing to try again with
AHEAD = 4  # messages that wait here before nothing more is read
SIP = 1024  # octets read into messages at once: a few hundred of the shortest


class Http(H11Protocol):
    """HTTP as uvicorn speaks it, for a bounded number of connections that do not dawdle."""

    _refused = False
    _octets = 0
    _dawdled = False
    _look: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """One more, if there is room for it."""
        super().connection_made(transport)
        if len(self.connections) > MOST + SPARE:
            transport.abort()
            return
        host = _host(self)
        of_one = sum(1 for each in self.connections if _host(each) == host)
        # Answered when it asks: one that is closed unread never sees the answer.
        self._refused = of_one > MOST_OF_ONE or len(self.connections) > MOST
        self._look = self.loop.call_later(LINGER_S if self._refused else LOOK_S, self._look_at_it)

    def connection_lost(self, exc: Exception | None) -> None:
        """It is gone."""
        self._look_no_more()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Octets of a request."""
        if self._refused:
            self.transport.write(_refusal(503, SENTENCE))
            self.transport.close()
            return
        self._octets += len(data)
        super().data_received(data)

    def handle_websocket_upgrade(self, event: h11.Request) -> None:
        """From here on it is a live channel."""
        self._look_no_more()
        super().handle_websocket_upgrade(event)

    def _look_at_it(self) -> None:
        before, self._dawdled = self._dawdled, self._dawdles()
        if self._refused or (before and self._dawdled):
            self.transport.abort()
        self._octets = 0
        self._look = self.loop.call_later(LOOK_S, self._look_at_it)

    def _dawdles(self) -> bool:
        """Whether it is its turn to take or to send, and it hardly did."""
        answering = self.cycle is not None and not self.cycle.response_complete
        its_turn = self.conn.their_state is h11.SEND_BODY or not answering
        return self.flow.write_paused or (its_turn and self._octets < LEAST_OCTETS)

    def _look_no_more(self) -> None:
        if self._look is not None:
            self._look.cancel()
            self._look = None


class Live(WebSocketsSansIOProtocol):
    """WebSockets as uvicorn speaks them, with bounded room for what a phone sends and does not take."""

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        """Taken over from HTTP."""
        super().connection_made(transport)
        self._unread, self._heard = bytearray(), False
        self.transport.set_write_buffer_limits(high=WAITING)
        with suppress(OSError):  # gone already
            self._option(socket.SO_SNDBUF, SEND_ROOM)

    def data_received(self, data: bytes) -> None:
        """Octets of messages: in sips, because the shortest costs fifty times its octets once it is read."""
        self._heard = True
        self._unread += data
        self._sip()

    async def receive(self) -> Any:
        """The next message."""
        message = await super().receive()
        self._sip()
        return message

    def send_receive_event_to_app(self) -> None:
        """One more message is to be read; its sender waits only while several are."""
        paused, self.read_paused = self.read_paused, True  # or it pauses, and goes on, with each of them
        super().send_receive_event_to_app()
        self.read_paused = paused
        if not paused and self.queue.qsize() >= AHEAD:
            self.read_paused = True
            self.transport.pause_reading()

    def _sip(self) -> None:
        while self._unread and not self.read_paused and not self.transport.is_closing():
            data = bytes(self._unread[:SIP])
            del self._unread[:SIP]
            super().data_received(data)

    def keepalive_timeout(self) -> None:
        """Its answer to a ping has not come, or waits behind all else that it has sent."""
        heard, self._heard = self._heard or self.read_paused, False
        if heard:
            self.pong_timer = self.loop.call_later(self.ping_timeout or LOOK_S, self.keepalive_timeout)
            return
        super().keepalive_timeout()

    async def run_asgi(self) -> None:
        """Serve it; afterwards it is gone, whatever it still has not taken."""
        try:
            await super().run_asgi()
        finally:
            self.loop.call_later(LINGER_S, self._drop)

    def _drop(self) -> None:
        if not self.disconnected:
            with suppress(OSError):  # gone already
                self._option(socket.SO_LINGER, AT_ONCE)
            self.transport.abort()

    def _option(self, name: int, value: int | bytes) -> None:
        self.transport.get_extra_info("socket").setsockopt(socket.SOL_SOCKET, name, value)


def _host(connection: Any) -> str | None:
    client = connection.client
    return client[0] if client else None


def _refusal(status: int, detail: str) -> bytes:
    """A whole answer, problem details (RFC 9457), to one for whom nothing else is done."""
    title = "Service Unavailable"
    body = json.dumps({"type": "about:blank", "title": title, "status": status, "detail": detail}).encode()
    head = (
        f"HTTP/1.1 {status} {title}\r\nContent-Type: application/problem+json\r\n"
        f"Content-Length: {len(body)}\r\nRetry-After: 5\r\nConnection: close\r\n\r\n"
    )
    return head.encode() + body
