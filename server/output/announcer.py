"""Tells what universes we send, as E1.31 asks for (universe discovery)."""

import uuid
from collections.abc import Iterable

from server.output.batch import Address
from server.output.pacing import Announcements
from server.output.place import By, groups_and_hosts
from server.output.plan import Plan
from server.output.sender import Sender
from server.output.stream import Stream
from server.wire import e131

__all__ = ["Announcer"]


class Announcer:
    """The list of universes, by their numbers on the wire, and when it goes out: `due`."""

    def __init__(self) -> None:
        self._times = Announcements(e131.DISCOVERY_INTERVAL_S)
        self._listed: tuple[int, ...] = ()
        self._to: set[tuple[By, Address]] = set()
        self._plan: Plan | None = None

    @property
    def due(self) -> float:
        """Monotonic seconds; infinity before anything is sent."""
        return self._times.due

    def follow(self, plan: Plan, now: float) -> None:
        """This is the plan from now on: to the groups if there are any, else to the hosts."""
        groups, hosts = groups_and_hosts(plan, e131.DISCOVERY_UNIVERSE)
        self._plan = plan
        if (to := groups or hosts) != self._to:
            self._to = to
            self.again(now)

    def look(self, streams: Iterable[Stream], now: float) -> None:
        """See what is sent now; a list that is another one is told soon."""
        numbers = {
            place.number
            for stream in streams
            if stream.sacn and stream.shown
            for place in stream.places
            if place.by.protocol == "sacn"
        }
        if numbers and self._plan is not None and self._plan.sync:
            numbers.add(self._plan.sync)  # E1.31-2018, 8.5
        listed = tuple(sorted(numbers))
        if listed != self._listed:
            self._listed = listed
            self._times.changed(now)

    def again(self, now: float) -> None:
        """Tell it soon all the same: it goes elsewhere now, or an interface is back."""
        if self._listed:
            self._times.changed(now)

    def send(self, sender: Sender, now: float) -> None:
        """Send it."""
        self._times.sent(now)
        if self._plan is None or not self._listed:
            return
        cid = uuid.UUID(self._plan.cid).bytes
        for page in e131.discovery_pages(cid, self._plan.source_name, self._listed):
            sender.send_once(bytearray(page), self._to)
