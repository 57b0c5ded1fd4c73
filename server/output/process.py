"""The loop of the output process: look at the shared map, send what is due, wait."""

import contextlib
import gc
import os
import select
import socket
import sys
from collections.abc import Iterator
from pathlib import Path
from time import monotonic

from server.output.frames import Frames
from server.output.plan import Plan, from_json
from server.output.sender import Sender
from server.output.shared_map import ENDED, RUNNING, SharedMap
from server.output.stream import Stream
from server.output.trouble import Trouble

__all__ = ["ALONE_S", "HOUSEKEEPING_S", "OutputProcess"]

ALONE_S = 3.0  # without a sign of life from the web side
_STOOD_S = 1.0  # late by so much, it was this process that stood still: a laptop that slept
HOUSEKEEPING_S = 0.25
_WRITES_S = 0.05  # what belongs together is written in less, unless the writer died on the way
_REBUILD_S = 1.0
_WAKES_AT_ONCE = 64  # datagrams read in one go: a flood of them must not hold up a frame


class OutputProcess:
    """Everything the process does. One thread, one clock, nothing it waits for but time and a wake-up."""

    def __init__(self, path: Path) -> None:
        """path: the shared map. Raises OSError or ValueError: no usable map there."""
        self._path = path
        self._inode = path.stat().st_ino
        self._map = SharedMap(path)
        self._wake = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        self._wake.bind(("127.0.0.1", 0))
        self._wake.setblocking(False)
        self._sender = Sender()
        self._frames = Frames(self._map, self._sender)
        self._plan: Plan | None = None
        self._plan_version = 0
        self._blocks = 0  # how many blocks of the map are looked at
        self._seen = b""
        self._ending = False
        self._housekeeping_due = 0.0
        self._awake_since = 0.0
        self._rebuild_due = 0.0
        self._trouble = Trouble()
        self._told = ""

    def ask_end(self) -> None:
        """End the streams properly, then return from `run`. Safe to call from a signal handler."""
        self._map.set_number("end_asked", 1)
        with contextlib.suppress(OSError):
            self._wake.sendto(b"", self._wake.getsockname())

    def run(self) -> None:
        """Send until asked to end."""
        self._map.set_number("pid", os.getpid())
        self._map.set_number("wake_port", self._wake.getsockname()[1])
        self._map.set_time("beat", monotonic())
        self._map.set_number("state", RUNNING)
        # Nothing here makes cycles; a collection would only be a pause at the wrong moment.
        gc.collect()
        gc.freeze()
        gc.disable()
        while (due := self._turn()) is not None:
            self._wait(due)
        self._keep_house(monotonic())
        self._sender.close()
        self._wake.close()
        self._map.close()

    def _turn(self) -> float | None:
        """Look, and send what is due; returns until when to wait, None when all is ended."""
        looked = monotonic()
        try:
            self._look(looked)
        except Exception as why:
            # Whatever the map holds: what was good a moment ago goes on being sent.
            self._trouble.note(f"The output could not follow the server: {why!r}.", "", monotonic())
        due = self._frames.send()
        if self._ending and not self._frames.endings:
            return None
        return min(self._frames.looking.next(due, looked), self._housekeeping_due)

    def _look(self, now: float) -> None:
        if now >= self._housekeeping_due:
            self._keep_house(now)
        news = self._map.news(self._blocks)
        if news == self._seen or self._ending:
            return
        if self._map.number("end_asked"):
            self._begin_end(now)
        elif self._map.number("plan_version") != self._plan_version:
            self._take_plan(now)
        else:
            self._take_pictures(news, now)
            self._frames.looking.took(now, monotonic())

    def _take_pictures(self, news: bytes, now: float) -> None:
        first_pictures = False
        whole = True
        shared = self._map
        universes = shared.universes
        found = self._new_pictures()
        if self._frames.goes_together:
            found = iter(list(found))
            # Half of a cue is not to leave a frame before the rest: whoever writes that wakes this process.
            if shared.news(self._blocks) != news or now - shared.time("writing") < _WRITES_S:
                return
        for stream, version, picture in found:
            block, first = stream.block, not stream.shown
            if picture is None:
                whole = whole and not shared.has_picture(block)
                continue
            # A block given to another universe is not ours any more, though the new plan is still to be read.
            if universes[block] != stream.planned.universe:
                whole = False
                continue
            stream.version = version
            if stream.show(*picture):
                first_pictures = first_pictures or first
                stream.pace.changed(now)
        if whole:
            self._seen = news
        if first_pictures:
            self._frames.announcer.look(self._frames.streams, now)

    def _new_pictures(self) -> Iterator[tuple[Stream, int, tuple[bytes, bytes] | None]]:
        """What is another one than before, with its version; None: it is none, or not whole just now."""
        versions, picture = self._map.versions, self._map.picture
        for stream in self._frames.streams:
            version = versions[stream.block]
            if version != stream.version:
                yield stream, version, picture(stream.block, stream.shown)

    def _wait(self, due: float) -> None:
        wait_s = due - monotonic()
        if wait_s > 0 and select.select([self._wake], [], [], wait_s)[0]:
            with contextlib.suppress(OSError):
                for _ in range(_WAKES_AT_ONCE):
                    self._wake.recv(1)

    def _take_plan(self, now: float) -> None:
        published = self._map.plan()
        if published is None:
            return
        # Kept first: a plan that cannot be read is told once, and the one before stays in force.
        self._plan_version, text = published
        self._plan = from_json(text)
        self._frames.follow(self._plan, now)
        self._blocks = 1 + max((stream.block for stream in self._frames.streams), default=-1)
        self._seen = b""
        self._take_pictures(self._map.news(self._blocks), now)  # what is shown may now have priorities
        if self._map.number("plan_version") != self._plan_version or self._map.number("end_asked"):
            self._seen = b""  # that came meanwhile, and was not looked at

    def _begin_end(self, now: float) -> None:
        # Said first: a server that starts now must not take over a process that is about to go.
        self._map.set_number("state", ENDED)
        self._ending = True
        self._frames.end(now)

    def _keep_house(self, now: float) -> None:
        if now - self._housekeeping_due > _STOOD_S:
            self._awake_since = now
        self._housekeeping_due = now + HOUSEKEEPING_S
        self._map.set_time("beat", now)
        self._map.set_number("artnet_port", self._sender.artnet_port)
        self._frames.count()
        self._frames.looking.settle()
        self._tell_trouble(now)
        if not self._ending and self._alone(now) and (self._told_to_end_alone() or self._lost()):
            self._begin_end(now)

    def _tell_trouble(self, now: float) -> None:
        for sentence, host in self._sender.failed:
            self._trouble.note(sentence, host, now)
        self._sender.failed.clear()
        if (words := self._trouble.words(now)) != self._told:
            self._told = words
            self._map.set_error(words)
        if self._sender.broken and now >= self._rebuild_due:
            self._rebuild_due = now + _REBUILD_S
            if back := self._sender.rebuild():
                self._frames.come_back(back, now)

    def _told_to_end_alone(self) -> bool:
        return self._plan is not None and self._plan.when_alone == "end"

    def _lost(self) -> bool:
        """Whether nobody can ever find this process again: its map is deleted or replaced."""
        try:
            return self._path.stat().st_ino != self._inode
        except OSError:
            return True

    def _alone(self, now: float) -> bool:
        # While this process stood still, the web side may have, too: it is given its time to say so.
        heard = max(self._map.time("web_beat"), self._awake_since)
        return now - heard > ALONE_S or not _lives(self._map.number("web_pid"))


def _lives(pid: int) -> bool:
    # Elsewhere there is no harmless way to ask: the missing heartbeat will tell.
    if sys.platform == "win32" or pid == 0:
        return True
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return True
