"""All streams: numbered and sent when they are due, begun and ended as the plan says."""

import uuid
from math import inf
from time import monotonic

from server.output.announcer import Announcer
from server.output.batch import Batch, Entry, batch_of
from server.output.looking import Looking
from server.output.pacing import TOGETHER_S, Pace
from server.output.part import Part
from server.output.place import By
from server.output.plan import Plan
from server.output.sender import Sender
from server.output.shared_map import SharedMap
from server.output.stream import Ending, Source, Stream
from server.output.succession import Change, ends, hand_over, successors
from server.output.together import Together, together_hz
from server.output.traces import Traces
from server.output.way import Way
from server.wire import artnet, e131

__all__ = ["Frames"]

# Universes that go at once: 0.1 ms' worth, for that is how well the time at which each left is known.
_AT_ONCE = 32
# Used for every packet, so looked up here once.
_SACN_SEQUENCE_AT, _ARTNET_SEQUENCE_AT = e131.SEQUENCE_AT, artnet.DMX_SEQUENCE_AT


class Frames:
    """The streams of the plan, in its order; endings: what is still to be said of others."""

    def __init__(self, shared: SharedMap, sender: Sender) -> None:
        self.streams: list[Stream] = []
        self.endings: list[Ending] = []
        self.announcer = Announcer()
        self.looking = Looking(shared)
        self._map = shared
        self._sender = sender
        self._traces = Traces(shared)
        self._plan: Plan | None = None
        self._template = b""
        self._ways: list[tuple[Way, Batch]] = []
        self._ranked = False
        self._needed: set[By] = set()
        self._together: Together | None = None

    def follow(self, plan: Plan, now: float) -> None:
        """Do as this plan says from now on; what it leaves as it is goes on as if nothing had happened."""
        old, before = self._plan, self.streams
        hz = together_hz(plan)
        if self._together is not None and hz is None:
            _part(before, now)
        source = self._source(plan)
        self.streams = successors(before, plan, source, hz, self._map, now)
        changed = Change.between(before, self.streams)
        hand_over(changed, self.endings, self._traces, now)
        if old is not None and old.cid == plan.cid:
            for ending in self.endings:
                ending.spare(changed.came)
            self.endings += ends(changed, now)
        else:
            self.endings += ends(Change(before, []), now)
        self._plan = plan
        self._join(plan, hz, now)
        self._fill_batches()
        self.announcer.follow(plan, now)
        self.announcer.look(self.streams, now)

    def end(self, now: float) -> None:
        """End all streams."""
        self.endings += ends(Change(self.streams, []), now)
        self.streams, self._ways, self._together = [], [], None

    def send(self) -> float:
        """Send what is due; returns when the next is."""
        now = monotonic()
        if self._together is not None:
            if self._together.pace.due <= now + TOGETHER_S and self._together.tells_at == inf:
                now = self._send_together(self._together, now)
            if self._together.tells_at <= now:
                self._tell_whole(self._together)
                self._together.tells_at = inf
        else:
            while due := self._due(now + TOGETHER_S):
                for first in range(0, len(due), _AT_ONCE):
                    now = self._send_apart(due[first : first + _AT_ONCE], now)
                if len(due) < _AT_ONCE:
                    break
        next_due = min([stream.pace.due for stream in self.streams], default=inf)
        if self._together is not None:
            next_due = min(next_due, self._together.tells_at)
        if self.endings:
            next_due = min(next_due, self._send_endings(now))
        if self.announcer.due <= now:
            self.announcer.send(self._sender, now)
        return min(next_due, self.announcer.due)

    @property
    def goes_together(self) -> bool:
        """Whether all streams share one pace."""
        return self._together is not None

    def come_back(self, ways: set[By], now: float) -> None:
        """The interface of these ways was away: nobody who hears us there need wait for a keep-alive."""
        for stream in self.streams:
            if stream.shown and any(place.by in ways for place in stream.places):
                stream.again(now)
        self.announcer.again(now)

    def count(self) -> None:
        """Put frames, and when the last one left, into the map; of several rates the fastest counts."""
        counted = set[int]()
        for stream in self.streams:
            if stream.block not in counted:
                counted.add(stream.block)
                self._map.frames[stream.block] = stream.frames
                self._map.last_sent[stream.block] = max(stream.pace.last, 0.0) if stream.shown else 0.0

    def _due(self, now: float) -> list[Stream]:
        return [stream for stream in self.streams if stream.pace.due <= now]

    def _send_apart(self, streams: list[Stream], now: float) -> float:
        self._number(streams, now)
        now = self._send_streams(streams)
        for stream in streams:
            stream.pace.sent(now)
        self.looking.promise(streams)
        return now

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
        run = bool(streams) and not self._ranked and streams[-1].at - streams[0].at == len(streams) - 1
        for number, (way, batch) in enumerate(self._ways):
            if run:  # what follows one another among the streams does so in each batch
                spans = [(streams[0].spans[number][0], streams[-1].spans[number][1])]
            else:
                spans = [stream.spans[number] for stream in streams]
            for first, end in _joined(spans):
                for place in way.send(batch, first, end):
                    self._count_error(number, place)
        now = monotonic()
        for stream in streams:
            if stream.places:
                stream.frames += 1
        return now

    def _send_together(self, together: Together, now: float) -> float:
        """A whole frame; what says that it is whole comes a little later."""
        going = together.going(self.streams, now)
        self._number(going, now)
        now = self._send_streams(going)
        together.sent(going, self.streams, now)
        return now

    def _tell_whole(self, together: Together) -> None:
        if together.has_sacn:
            self._map.set_number("sync_sequence", (self._map.number("sync_sequence") + 1) & 255)
        for packet, to in together.packets(self._map.number("sync_sequence")):
            self._sender.send_once(packet, to)

    def _count_error(self, way: int, place: int) -> None:
        for stream in self.streams:
            first, end = stream.spans[way]
            if first <= place < end:
                self._map.errors[stream.block] += 1

    def _send_endings(self, now: float) -> float:
        sequences = self._map.sacn_sequences
        for ending in self.endings:
            if ending.pace.due <= now:
                sequence = sequences[ending.block] = (sequences[ending.block] + 1) & 255
                for packet, places in ending.packets:
                    packet[_SACN_SEQUENCE_AT] = sequence
                    self._sender.send_once(packet, [(place.by, place.address) for place in places])
                ending.pace.sent(monotonic())
        self.endings = [ending for ending in self.endings if ending.pace.due < inf]
        if not self.endings:
            self._sender.use(self._needed)
        return min((ending.pace.due for ending in self.endings), default=inf)

    def _source(self, plan: Plan) -> Source:
        old = self._plan
        if old is None or (old.cid, old.source_name, old.sync) != (plan.cid, plan.source_name, plan.sync):
            self._template = bytes(_template(plan))
        return Source(self._template, plan.interface)

    def _join(self, plan: Plan, hz: float | None, now: float) -> None:
        """Give all streams one pace, if they go together."""
        if hz is None:
            self._together = None
            return
        steady = any(planned.steady for planned in plan.universes)
        tells_at = inf if self._together is None else self._together.tells_at
        if self._together is not None and self._together.pace.frame_s == 1 / hz:
            pace = self._together.pace
            pace.set_steady(steady, now)
        else:
            pace = Pace(steady, hz)
        for stream in self.streams:
            if isinstance(stream.pace, Part) and stream.pace.pace is pace:
                stream.pace.set_steady(stream.planned.steady, now)
                continue
            pace.not_soon_after(stream.pace.last)
            stream.pace = Part(pace, stream.planned.steady, stream.pace.last)
            if stream.shown:
                stream.pace.changed(now)
        self._together = Together(plan, pace, tells_at)

    def _fill_batches(self) -> None:
        entries: dict[By, list[Entry]] = {}
        for stream in self.streams:
            for place in stream.places:
                entries.setdefault(place.by, [])
        for at, stream in enumerate(self.streams):
            stream.at = at
            stream.place_in(entries)
        self._ranked = any(stream.each for stream in self.streams)
        told = self._together.ways if self._together else set[By]()
        self._needed = told | entries.keys()
        self._sender.use(self._needed | {place.by for ending in self.endings for place in ending.places})
        self._ways = [(self._sender.way(by), batch_of(batch)) for by, batch in entries.items()]


def _template(plan: Plan) -> bytearray:
    made = e131.data_packet(uuid.UUID(plan.cid).bytes, plan.source_name, 1)
    made[e131.SYNC_AT] = plan.sync.to_bytes(2, "big")
    if plan.sync:
        # Should synchronisation packets get lost, levels that still arrive are followed rather than held.
        made[e131.OPTIONS_AT] |= e131.FORCE_SYNC
    return made


def _part(streams: list[Stream], now: float) -> None:
    """Give each stream a pace of its own again."""
    for stream in streams:
        shared = stream.pace
        stream.pace = Pace(stream.planned.steady, stream.most_hz)
        stream.pace.last = shared.last
        if stream.shown:
            stream.pace.changed(now)


def _joined(spans: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """The same places in as few spans as possible, the empty ones left out."""
    joined: list[tuple[int, int]] = []
    for first, end in spans:
        if joined and joined[-1][1] == first:
            joined[-1] = joined[-1][0], end
        elif first < end:
            joined.append((first, end))
    return joined
