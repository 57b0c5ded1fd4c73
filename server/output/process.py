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

from server.output.batch import Address, batch_of
from server.output.pacing import TOGETHER_S, Announcements
from server.output.plan import Plan, Sacn, UniversePlan, from_json
from server.output.sender import Sender
from server.output.shared_map import ENDED, RUNNING, SharedMap
from server.output.stream import Ending, Stream
from server.output.trouble import Trouble
from server.wire import artnet, e131

__all__ = ["ALONE_S", "HOUSEKEEPING_S", "OutputProcess"]

ALONE_S = 3.0  # without a sign of life from the web side
_STOOD_S = 1.0  # late by so much, it was this process that stood still: a laptop that slept
HOUSEKEEPING_S = 0.25
_REBUILD_S = 1.0
_AT_ONCE = 32  # universes
# Used for every packet, so looked up here once.
_SACN_SEQUENCE_AT, _ARTNET_SEQUENCE_AT = e131.SEQUENCE_AT, artnet.DMX_SEQUENCE_AT
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
        self._plan: Plan | None = None
        self._plan_version = 0
        self._template = b""
        self._streams: list[Stream] = []
        self._sacn = batch_of(())
        self._artnet = batch_of(())
        self._blocks = 0  # how many blocks of the map are looked at
        self._seen = b""
        self._endings: list[Ending] = []
        self._announcements = Announcements(e131.DISCOVERY_INTERVAL_S)
        self._announced: tuple[int, ...] = ()
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
        while True:
            try:
                self._look()
            except Exception as why:
                # Whatever the map holds: what was good a moment ago goes on being sent.
                self._trouble.note(f"The output could not follow the server: {why!r}.", "", monotonic())
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
        news = self._map.news(self._blocks)
        if news == self._seen or self._ending:
            return
        if self._map.number("end_asked"):
            self._begin_end(now)
        elif self._map.number("plan_version") != self._plan_version:
            self._take_plan(now)
        else:
            self._take_pictures(news, now)

    def _take_pictures(self, news: bytes, now: float) -> None:
        first_pictures = False
        whole = True
        for stream in self._streams:
            block, at = stream.block, 8 + 4 * stream.block
            if news[at : at + 4] == self._seen[at : at + 4] or not self._map.has_picture(block):
                continue
            picture = self._map.picture(block)
            # A block given to another universe is not ours any more, though the new plan is still to be read.
            if picture is None or self._map.universes[block] != stream.planned.universe:
                whole = False
            elif stream.show(*picture):
                first_pictures = first_pictures or stream.pace.due == inf
                stream.pace.changed(now)
        if whole:
            self._seen = news
        if first_pictures:
            self._announce(now)

    def _send(self) -> float:
        """Send what is due; returns when the next is."""
        now = monotonic()
        while due := self._due(now + TOGETHER_S):
            self._number(due, now)
            now = self._send_streams(due)
            if len(due) < _AT_ONCE:
                break
        next_due = min([stream.pace.due for stream in self._streams], default=inf)
        if self._endings:
            next_due = min(next_due, self._send_endings(now))
        if self._announcements.due <= now:
            self._send_announcement(now)
        return min(next_due, self._announcements.due, self._housekeeping_due)

    def _due(self, now: float) -> list[Stream]:
        # No more at once than 0.1 ms' worth: that is how well the time at which each left is known.
        return [stream for stream in self._streams if stream.pace.due <= now][:_AT_ONCE]

    def _number(self, streams: list[Stream], now: float) -> None:
        # Kept in the map before they are sent: a process that takes over must never use a number again.
        sacn, art = self._map.sacn_sequences, self._map.artnet_sequences
        for stream in streams:
            block = stream.block
            if stream.sacn:
                sequence = sacn[block] = (sacn[block] + 1) & 255
                for packet, _ in stream.sacn:
                    packet[_SACN_SEQUENCE_AT] = sequence
                if stream.each:
                    sacn[block] = stream.number_each(sequence, now)
            if stream.artnet:
                sequence = art[block] = artnet.next_sequence(art[block])
                for packet, _ in stream.artnet:
                    packet[_ARTNET_SEQUENCE_AT] = sequence

    def _send_streams(self, streams: list[Stream]) -> float:
        for first, end in _joined([stream.sacn_span for stream in streams]):
            for place in self._sender.send_sacn(self._sacn, first, end):
                self._count_error(place, 0)
        if self._artnet.entries:
            for first, end in _joined([stream.artnet_span for stream in streams]):
                for place in self._sender.send_artnet(self._artnet, first, end):
                    self._count_error(place, 1)
        now = monotonic()
        for stream in streams:
            stream.frames += stream.goes_somewhere
            stream.pace.sent(now)
        return now

    def _count_error(self, place: int, protocol: int) -> None:
        for stream in self._streams:
            first, end = (stream.sacn_span, stream.artnet_span)[protocol]
            if first <= place < end:
                stream.errors += 1

    def _send_endings(self, now: float) -> float:
        sequences = self._map.sacn_sequences
        for ending in self._endings:
            if ending.pace.due <= now:
                sequence = sequences[ending.block] = (sequences[ending.block] + 1) & 255
                for packet, addresses in ending.packets:
                    packet[_SACN_SEQUENCE_AT] = sequence
                    self._sender.send_sacn_once(packet, addresses)
                ending.pace.sent(monotonic())
        self._endings = [ending for ending in self._endings if ending.pace.due < inf]
        return min((ending.pace.due for ending in self._endings), default=inf)

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
        old, plan = self._plan, from_json(text)
        moved = self._sender.use(plan.interface)
        if old is None or (old.cid, old.source_name) != (plan.cid, plan.source_name):
            self._template = bytes(e131.data_packet(uuid.UUID(plan.cid).bytes, plan.source_name, 1))
        self._plan = plan
        self._replace_streams(old, plan, now)
        self._seen = b""
        self._take_pictures(self._map.news(self._blocks), now)  # what is shown may now have priorities
        self._announce(now)
        if moved:
            self._come_back(now)

    def _replace_streams(self, old: Plan | None, plan: Plan, now: float) -> None:
        blocks = {universe: block for block, universe in enumerate(self._map.universes) if universe}
        before = {stream.planned.universe: stream for stream in self._streams}
        same_packets = old is not None and (old.cid, old.source_name) == (plan.cid, plan.source_name)
        streams = []
        for planned in plan.universes:
            stream = before.get(planned.universe)
            if stream is None or not same_packets or stream.planned != planned:
                stream = self._new_stream(planned, blocks[planned.universe], stream, now)
            streams.append(stream)
        self._streams = streams
        same_source = old is not None and old.cid == plan.cid
        after = {stream.planned.universe: stream.sacn_addresses() for stream in self._streams}
        for universe, stream in before.items():
            stays = after.get(universe, set()) if same_source else set()
            self._end(stream, stream.sacn_addresses() - stays, now)
        if same_source:
            for ending in self._endings:
                ending.spare(after.get(ending.universe, set()))
        self._fill_batches()

    def _fill_batches(self) -> None:
        sacn: list[tuple[bytearray, Address]] = []
        art: list[tuple[bytearray, Address]] = []
        for stream in self._streams:
            first, art_first = len(sacn), len(art)
            sacn += [(packet, address) for packet, addresses in stream.sacn for address in addresses]
            middle = len(sacn)
            sacn += [(packet, address) for packet, addresses in stream.each for address in addresses]
            art += [(packet, address) for packet, addresses in stream.artnet for address in addresses]
            stream.place_at((first, middle, len(sacn)), (art_first, len(art)))
        self._sacn, self._artnet = batch_of(sacn), batch_of(art)
        self._blocks = 1 + max((stream.block for stream in self._streams), default=-1)

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
            self._sender.send_sacn_once(bytearray(page), hosts)

    def _keep_house(self, now: float) -> None:
        if now - self._housekeeping_due > _STOOD_S:
            self._awake_since = now
        self._housekeeping_due = now + HOUSEKEEPING_S
        self._map.set_time("beat", now)
        self._map.set_number("artnet_port", self._sender.artnet_port)
        for stream in self._streams:
            block = stream.block
            self._map.frames[block], self._map.errors[block] = stream.frames, stream.errors
            self._map.last_sent[block] = max(stream.pace.last, 0.0)
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
            if self._sender.rebuild():
                self._come_back(now)

    def _come_back(self, now: float) -> None:
        """Levels leave by another interface, or by one that was away: nobody need wait for a keep-alive."""
        for stream in self._streams:
            if stream.sacn and stream.pace.due < inf:
                stream.again(now)
        if self._announced:
            self._announcements.changed(now)

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


def _joined(spans: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """The same places in as few spans as possible, the empty ones left out."""
    joined: list[tuple[int, int]] = []
    for first, end in spans:
        if joined and joined[-1][1] == first:
            joined[-1] = joined[-1][0], end
        elif first < end:
            joined.append((first, end))
    return joined


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
