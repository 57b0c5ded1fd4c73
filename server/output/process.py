"""The loop of the output process: look at the shared map, send what is due, wait."""

import contextlib
import gc
import os
import select
import socket
import sys
import uuid
from math import inf
from pathlib import Path
from time import monotonic

from server.output.pacing import Announcements
from server.output.plan import Plan, Sacn, UniversePlan, from_json
from server.output.sender import Sender
from server.output.shared_map import ENDED, RUNNING, SharedMap
from server.output.stream import Address, Ending, Stream
from server.wire import artnet, e131

__all__ = ["ALONE_S", "OutputProcess"]

ALONE_S = 3.0  # without a sign of life from the web side
_HOUSEKEEPING_S = 0.25
_REBUILD_S = 1.0
_WORDS_S = 3.0  # how long a fault is told after the last time it happened
_WAKES_AT_ONCE = 64  # datagrams read in one go: a flood of them must not hold up a frame


class OutputProcess:
    """Everything the process does. One thread, one clock, nothing it waits for but time and a wake-up."""

    def __init__(self, path: Path) -> None:
        """path: the shared map. Raises OSError or ValueError: no usable map there."""
        self._map = SharedMap(path)
        self._wake = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        self._wake.bind(("127.0.0.1", 0))
        self._wake.setblocking(False)
        self._sender = Sender()
        self._plan: Plan | None = None
        self._plan_version = 0
        self._template = b""
        self._streams: list[Stream] = []
        self._seen = b""
        self._endings: list[Ending] = []
        self._announcements = Announcements(e131.DISCOVERY_INTERVAL_S)
        self._announced: tuple[int, ...] = ()
        self._ending = False
        self._housekeeping_due = 0.0
        self._rebuild_due = 0.0
        self._trouble_at = -inf

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
        while True:
            try:
                self._look()
            except Exception as why:
                # Whatever the map holds: what was good a moment ago goes on being sent.
                self._sender.words = f"The output could not follow the server: {why!r}."
            due = self._send()
            if self._ending and not self._endings:
                break
            self._wait(due)
        self._keep_house(monotonic())
        self._sender.close()
        self._wake.close()
        self._map.close()

    def _look(self) -> None:
        now = monotonic()
        if now >= self._housekeeping_due:
            self._keep_house(now)
        if self._ending:
            return
        if self._map.number("end_asked"):
            self._begin_end(now)
            return
        if self._map.number("plan_version") != self._plan_version:
            self._take_plan(now)
        versions = bytes(self._map.versions)
        if versions != self._seen:
            self._take_pictures(versions, now)

    def _take_pictures(self, versions: bytes, now: float) -> None:
        first_pictures = False
        whole = True
        for stream in self._streams:
            block, at = stream.block, 4 * stream.block
            if versions[at : at + 4] == self._seen[at : at + 4] or not self._map.has_picture(block):
                continue
            picture = self._map.picture(block)
            # A block given to another universe is not ours any more, though the new plan is still to be read.
            if picture is None or self._map.universes[block] != stream.planned.universe:
                whole = False
            elif stream.show(picture):
                first_pictures = first_pictures or stream.pace.due == inf
                stream.pace.changed(now)
        if whole:
            self._seen = versions
        if first_pictures:
            self._announce(now)

    def _send(self) -> float:
        """Send what is due; returns when the next is."""
        next_due = self._housekeeping_due
        now = monotonic()
        for stream in self._streams:
            pace = stream.pace
            if pace.due <= now:
                if stream.sacn:
                    self._send_sacn(stream)
                if stream.artnet:
                    self._send_artnet(stream)
                pace.sent(monotonic())
            if pace.due < next_due:
                next_due = pace.due
        if self._endings:
            next_due = min(next_due, self._send_endings(now))
        if self._announcements.due <= now:
            self._send_announcement(now)
        return min(next_due, self._announcements.due)

    def _send_sacn(self, stream: Stream) -> None:
        sequences, block = self._map.sacn_sequences, stream.block
        # Kept before it is sent: a process that takes over must never use a number again.
        sequence = sequences[block] = (sequences[block] + 1) & 255
        for packet, addresses in stream.sacn:
            packet[e131.SEQUENCE_AT] = sequence
            stream.errors += self._sender.send_sacn(packet, addresses)
        stream.frames += 1

    def _send_artnet(self, stream: Stream) -> None:
        sequences, block = self._map.artnet_sequences, stream.block
        sequence = sequences[block] = artnet.next_sequence(sequences[block])
        for packet, addresses in stream.artnet:
            packet[artnet.DMX_SEQUENCE_AT] = sequence
            stream.errors += self._sender.send_artnet(packet, addresses)
        stream.frames += not stream.sacn

    def _send_endings(self, now: float) -> float:
        sequences = self._map.sacn_sequences
        for ending in self._endings:
            if ending.pace.due <= now:
                sequence = sequences[ending.block] = (sequences[ending.block] + 1) & 255
                for packet, addresses in ending.packets:
                    packet[e131.SEQUENCE_AT] = sequence
                    self._sender.send_sacn(packet, addresses)
                ending.pace.sent(monotonic())
        self._endings = [ending for ending in self._endings if ending.pace.due < inf]
        return min((ending.pace.due for ending in self._endings), default=inf)

    def _wait(self, due: float) -> None:
        wait_s = due - monotonic()
        if wait_s <= 0:
            return
        ready, _, _ = select.select([self._wake], [], [], wait_s)
        if ready:
            with contextlib.suppress(OSError):
                for _ in range(_WAKES_AT_ONCE):
                    self._wake.recv(1)

    def _take_plan(self, now: float) -> None:
        published = self._map.plan()
        if published is None:
            return
        # Kept first: a plan that cannot be read is told once, and the one before stays in force.
        self._plan_version, text = published
        old, plan = self._plan, from_json(text)
        self._sender.use(plan.interface)
        if old is None or (old.cid, old.source_name) != (plan.cid, plan.source_name):
            self._template = bytes(e131.data_packet(uuid.UUID(plan.cid).bytes, plan.source_name, 1))
        self._plan = plan
        self._replace_streams(old, plan, now)
        self._seen = b""
        self._announce(now)

    def _replace_streams(self, old: Plan | None, plan: Plan, now: float) -> None:
        blocks = {universe: block for block, universe in enumerate(self._map.universes) if universe}
        before = {stream.planned.universe: stream for stream in self._streams}
        same_packets = old is not None and (old.cid, old.source_name) == (plan.cid, plan.source_name)
        self._streams = []
        for planned in plan.universes:
            stream = before.get(planned.universe)
            if stream is None or not same_packets or stream.planned != planned:
                stream = self._new_stream(planned, blocks[planned.universe], stream, now)
            self._streams.append(stream)
        same_source = old is not None and old.cid == plan.cid
        after = {stream.planned.universe: stream.sacn_addresses() for stream in self._streams}
        for universe, stream in before.items():
            stays = after.get(universe, set()) if same_source else set()
            self._end(stream, stream.sacn_addresses() - stays, now)
        if same_source:
            for ending in self._endings:
                ending.spare(after.get(ending.universe, set()))

    def _new_stream(self, planned: UniversePlan, block: int, before: Stream | None, now: float) -> Stream:
        stream = Stream(planned, self._template, block)
        if before is not None:
            stream.carry_on(before, now)
        else:
            stream.frames, stream.errors = self._map.frames[block], self._map.errors[block]
        return stream

    def _end(self, stream: Stream, addresses: set[Address], now: float) -> None:
        if addresses and stream.pace.due < inf:
            self._endings.append(stream.ending(addresses, now))

    def _begin_end(self, now: float) -> None:
        # Said first: a server that starts now must not take over a process that is about to go.
        self._map.set_number("state", ENDED)
        self._ending = True
        for stream in self._streams:
            self._end(stream, stream.sacn_addresses(), now)
        self._streams = []

    def _announce(self, now: float) -> None:
        sending = tuple(
            stream.planned.universe for stream in self._streams if stream.sacn and stream.pace.due < inf
        )
        if sending != self._announced:
            self._announced = sending
            self._announcements.changed(now)

    def _send_announcement(self, now: float) -> None:
        self._announcements.sent(now)
        if self._plan is None or not self._announced:
            return
        outputs = [output for planned in self._plan.universes for output in planned.outputs]
        told = {(output.host, output.port) for output in outputs if isinstance(output, Sacn)}
        hosts: set[Address] = {(host, port) for host, port in told if host is not None}
        if len(hosts) < len(told):
            hosts = {(e131.multicast_address(e131.DISCOVERY_UNIVERSE), e131.PORT)}
        cid = uuid.UUID(self._plan.cid).bytes
        for page in e131.discovery_pages(cid, self._plan.source_name, self._announced):
            self._sender.send_sacn(page, list(hosts))

    def _keep_house(self, now: float) -> None:
        self._housekeeping_due = now + _HOUSEKEEPING_S
        self._map.set_time("beat", now)
        for stream in self._streams:
            block = stream.block
            self._map.frames[block], self._map.errors[block] = stream.frames, stream.errors
            self._map.last_sent[block] = max(stream.pace.last, 0.0)
        self._tell_trouble(now)
        if self._plan and self._plan.when_alone == "end" and not self._ending and self._alone(now):
            self._begin_end(now)

    def _tell_trouble(self, now: float) -> None:
        if self._sender.words:
            self._map.set_error(self._sender.words)
            self._sender.words = ""
            self._trouble_at = now
        elif now - self._trouble_at > _WORDS_S:
            self._map.set_error("")
            self._trouble_at = inf
        if self._sender.broken and now >= self._rebuild_due:
            self._rebuild_due = now + _REBUILD_S
            self._sender.rebuild()

    def _alone(self, now: float) -> bool:
        return now - self._map.time("web_beat") > ALONE_S or not _lives(self._map.number("web_pid"))


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
