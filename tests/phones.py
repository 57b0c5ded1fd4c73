"""A phone as the server sees one: the live channel from outside, and what the page would have made of it."""

import json
import time
from collections.abc import Callable
from contextlib import ExitStack, suppress
from typing import Any

from websockets.exceptions import ConnectionClosed
from websockets.sync.client import ClientConnection, connect

__all__ = ["Message", "Phone"]

Message = dict[str, Any]
ENOUGH_S = 60.0
MERGED = ("fixtures", "people", "looks", "slots")


class Phone:
    """rig: hello with every change since merged in. heard: every message. token: whose it is.

    socket: for what no page does.
    """

    def __init__(self, url: str) -> None:
        """url: with the token."""
        self.token = url.rpartition("=")[2]
        opening = connect(
            url, compression=None, proxy=None, max_size=None, max_queue=None, ping_interval=None
        )
        self._closing = ExitStack()
        self.socket: ClientConnection = self._closing.enter_context(opening)
        self.heard: list[Message] = []
        self.rig: Message = {}
        self._n = 0
        self.until(lambda: bool(self.rig))

    def listen(self, timeout_s: float = ENOUGH_S) -> Message | None:
        """The next message, or None when none came in time."""
        try:
            text = self.socket.recv(timeout_s)
        except TimeoutError:
            return None
        message: Message = json.loads(text)
        self.heard.append(message)
        if message["is"] == "hello":
            self.rig = message
        elif message["is"] == "change":
            merge(self.rig, message)
        return message

    def until(self, true: Callable[[], object], why: str = "") -> None:
        """Listen until `true`; fails after a minute."""
        deadline = time.monotonic() + ENOUGH_S
        while not true():
            assert time.monotonic() < deadline, f"never came: {why}; last {self.heard[-3:]}"
            self.listen(0.5)

    def send(self, do: str, **fields: object) -> int:
        """Send a command; returns its number."""
        self._n += 1
        self.socket.send(json.dumps({"do": do, "n": self._n, **fields}))
        return self._n

    def ask(self, do: str, **fields: object) -> Message:
        """Send a command and wait for its answer."""
        return self.answer(self.send(do, **fields))

    def say(self, text: str | bytes) -> Message:
        """Send anything at all and wait for a refusal."""
        before = len(self.heard)
        self.socket.send(text)
        self.until(lambda: any(m["is"] == "refused" for m in self.heard[before:]), "a refusal")
        return next(m for m in self.heard[before:] if m["is"] == "refused")

    def answer(self, n: int) -> Message:
        """The answer to a command, waited for."""
        self.until(lambda: self._answers(n), f"an answer to {n}")
        return self._answers(n)[0]

    def _answers(self, n: int) -> list[Message]:
        return [m for m in self.heard if m["is"] in ("ok", "refused") and m.get("n") == n]

    def closed(self) -> int | None:
        """Listen until the server has hung up; its close code."""
        with suppress(ConnectionClosed):
            while True:
                self.listen()
        return self.socket.close_code

    def catch_up(self) -> None:
        """Listen until all that has happened before now is told."""
        now = self.ask("signal", rtt_ms=None)["rev"]
        self.until(lambda: self._told() >= now, "what has happened")

    def _told(self) -> int:
        """The newest revision that was told of; `here` means that there is no more to tell."""
        newest: int = (self.heard[-1] if self.heard[-1]["is"] == "here" else self.rig)["rev"]
        return newest

    def drain(self, quiet_s: float = 0.2) -> None:
        """Listen until nothing but `here` came for so long."""
        deadline = time.monotonic() + ENOUGH_S
        while (message := self.listen(quiet_s)) is not None and message["is"] != "here":
            assert time.monotonic() < deadline

    def close(self) -> None:
        """Hang up."""
        self._closing.close()


def merge(rig: Message, news: Message) -> None:
    """Put a change into what is known, as DEVELOPERS.md describes it."""
    for key, value in news.items():
        if key in MERGED and isinstance(value, dict):
            for name, part in value.items():
                _merge_one(rig[key], name, part, given_back=key == "slots")
        elif key != "is":
            rig[key] = value


def _merge_one(known: Message, name: str, part: Message | None, given_back: bool) -> None:
    if part is None:
        known.pop(name, None)
        return
    there = known.setdefault(name, {})
    for key, value in part.items():
        if isinstance(value, dict) and isinstance(there.get(key), dict):
            there[key].update(value)
        elif value is None and given_back:
            there.pop(key, None)
        else:
            there[key] = value
    if given_back and not there:  # a universe with nothing set by hand is not named in hello
        del known[name]
