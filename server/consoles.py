"""The consoles that others drive our universes with: listened for, and told of to all it concerns."""

import asyncio
from collections.abc import Callable, Collection
from datetime import datetime, timedelta
from time import monotonic

import numpy as np

from server.api.room import Room
from server.arriving import Arriving
from server.beside import effects
from server.beside import told as beside
from server.beside.borrowed import whose
from server.beside.crowd import all_heard, crowd
from server.beside.effects import takes
from server.beside.followed import followed
from server.beside.joining import Joining, Standing
from server.beside.moving import Moving
from server.beside.rank import Rank, rank_before, rank_of
from server.engine.running import running_as
from server.hearing.source import Source
from server.hearing.told import Ours, alerts, told_of_twin
from server.identity import Identity
from server.network import Network
from server.output.link import Output
from server.output.plan import ArtNet, Sacn, UniversePlan
from server.rig.said import Said
from server.settings import Settings
from server.stage.outputs import outputs_of
from server.stage.state import State

__all__ = ["Consoles", "Known"]

_LOOK_S = 0.1  # a console that changes its priority is followed as soon
_STOOD_S = 1.0  # late by so much, it was this process that stood still: what came meanwhile is read first
_TELL_S = 0.5
_TOLD_S = 60.0  # how long it is told that there was a twin
_RATES_S = 2.0  # long enough that a source at rest, which sends once a second, does not seem to come and go


class Consoles:
    """Who is heard, when universes of ours begin beside them, and on what terms.

    arriving: hears them. sources: who they are, and what they send.
    """

    def __init__(self, settings: Settings, identity: Identity) -> None:
        """identity: this installation's."""
        self._identity = identity
        self.arriving = Arriving(settings.sacn_in_port, identity.cid)
        self.sources = self.arriving.sources
        self.joining = Joining(settings.listen_s, self._own, settings.off_limits)
        self.moving = Moving(settings.listen_s)
        self._listens = settings.listen_s > 0
        self._priority = settings.priority
        self._usual: Callable[[int], int | None] = lambda _: None
        self._heard: tuple[object, ...] = ()
        self._told = 0
        self._joined: set[str] = set()
        self._rates_due = self._tell_due = self._twin_told_until = 0.0

    def take_over(self, output: Output, state: State, network: Network) -> None:
        """What is being sent already goes on as it is until more is known."""
        self._usual = lambda universe: network.routing.sacn_priority(universe, self.moving.routes)
        routing = network.routing
        self.joining.take_over({one.universe: _rank_before(one, output, state) for one in output.running})
        found = (
            (one.universe, running_as(routing, one, outputs_of(state.routes, one.universe, routing.usual)))
            for one in output.running
        )
        self.moving.take_over({universe: route for universe, route in found if route is not None})

    async def run(self, room: Room, network: Network, output: Output, plan: Callable[[], None]) -> None:
        """Listen and tell until cancelled. plan: called when a universe leaves on other terms."""
        room.sources, room.ahead = self.sources, self.arriving.ahead
        room.hears_ipv6 = lambda: self.arriving.by_ipv6
        room.ours, room.joining, room.moving = self._ours_on(room), self.joining, self.moving
        room.sacn_priority = self._usual
        try:
            while True:
                self._look(room, network)
                self.arriving.look(room, network, output)
                self._meet_twin(room, network, plan)
                self._join(room, network, plan)
                if monotonic() >= self._tell_due:
                    self._tell_due = monotonic() + _TELL_S
                    self._tell(room)
                before = monotonic()
                await asyncio.sleep(_LOOK_S)
                if monotonic() - before > _STOOD_S:
                    await asyncio.sleep(_LOOK_S)
        finally:
            await self.arriving.close()

    def _own(self, universe: int) -> int:
        """The sACN priority set here for it, the highest of several outputs."""
        usual = self._usual(universe)
        return self._priority if usual is None else usual

    def _look(self, room: Room, network: Network) -> None:
        now = monotonic()
        universes, moving = room.engine.rig.universes, self.moving
        agreed = [universe for universe, move in moving.moves.items() if move.agreed]
        new = universes, moving.routes, moving.ahead(), agreed, network.networks
        if new != self._heard:
            self._heard = new
            heard = moving.heard(network.routing.heard_as(universes, moving.routes))
            self.arriving.follow(universes, heard, moving.ahead(), network)
        nodes = network.nodes.all() if network.nodes else []
        names = {node.host: node.reply.long_name or node.reply.port_name for node in nodes}
        for sources in (self.sources, self.arriving.ahead):
            if now >= self._rates_due:
                sources.look(now)
            sources.call(names)
        if now >= self._rates_due:
            self._rates_due = now + _RATES_S

    def _meet_twin(self, room: Room, network: Network, plan: Callable[[], None]) -> None:
        """Be somebody else than a machine that sends as we do, while nothing of ours would end by that."""
        host = self.arriving.twin.where(network.addresses, monotonic())
        if host is None:
            if monotonic() >= self._twin_told_until:
                room.alert("twin", None)
            return
        sends = any(self.joining.terms(universe).sacn for universe in room.engine.rig.universes)
        if sends or not self._identity.renew():
            room.alert("twin", told_of_twin(host))
            return
        self.arriving.become(self._identity.cid)
        network.become(self._identity.cid)
        self.joining.again(self.joining.listening())
        plan()
        self._twin_told_until = monotonic() + _TOLD_S
        room.alert("twin", told_of_twin(host, parted=True))

    def _join(self, room: Room, network: Network, plan: Callable[[], None]) -> None:
        """Let universes begin whose time has come, and follow what consoles change."""
        now, state, routing = monotonic(), room.stage.state, network.routing
        shared, wanted = state.shared, state.routes

        def live(universe: int) -> list[Source]:
            return self.sources.live(universe, now)

        def decides(universe: int) -> bool:
            return state.shared_as(universe).holds_for(routing.ears(universe, wanted))

        def there(universe: int) -> bool:
            if self.arriving.is_deaf and self._listens:
                return False
            outputs = outputs_of(self.moving.routes, universe, routing.usual)
            return not outputs or any(network.is_there(output) for output in outputs)

        heard, standings = set(self.sources.universes()), self.joining.all()
        changed = self.joining.look(
            live, shared, lambda u: self._known(room, u, now), now, heard, decides, there
        )
        settled = self.moving.look(
            lambda u: self.arriving.ahead.live(u, now),
            lambda u: shared.get(u) if decides(u) else None,
            lambda u, here: self._may_leave(room, u, here, now),
            now,
        )
        for universe in settled:
            self.moving.settle(universe)
        if changed or settled:
            plan()
        room.engine.outrank(self.joining.outranking())
        for universe in heard & standings.keys():
            self._lend(room, universe, standings[universe], now)

    def _lend(self, room: Room, universe: int, standing: Standing, now: float) -> None:
        """Note what the console sends where slots become ours, and forget it where they are its own again."""
        engine, here = room.engine, self.sources.live(universe, now)
        index = engine.rig.universe_index(universe)
        if not here or index is None:
            return
        state, ours = room.stage.state, None
        priority = room.sacn_priority(universe) or 0
        if standing.where == "joined" and takes(standing.leaving, effects.beside(here, now), priority):
            ours = ~engine.rig.pinned[index] & ~engine.through(universe)

        def whose_is(slot: int) -> tuple[str, str]:
            row = int(engine.rig.owned[index][slot - 1])
            return whose(state, universe, engine.rig.names[row][0] if row >= 0 else "", slot)

        room.borrowed.look(universe, ours, self.sources.levels(universe, now), whose_is, now)

    def _known(self, room: Room, universe: int, now: float) -> bool:
        """Whether what the engine holds ready there is what the consoles send."""
        if room.stage.state.shared_as(universe).follow:
            return room.engine.carries(universe)
        shown, index = self.sources.shown(universe, now), room.engine.rig.universe_index(universe)
        if shown is None or index is None:
            return False
        theirs = ~room.engine.rig.pinned[index]
        return np.array_equal(room.engine.frame[index][theirs], shown.levels[theirs])

    def _may_leave(self, room: Room, universe: int, here: Collection[Source], now: float) -> bool:
        """Whether these are heard there, and what is held ready is theirs where they are followed."""
        if not all_heard(here, self.sources, universe, now):
            return False
        return not room.stage.state.shared_as(universe).follow or room.engine.carries(universe)

    def _ours_on(self, room: Room) -> Callable[[int], Ours]:
        def ours(universe: int) -> Ours:
            standing = self.joining.all().get(universe)
            if standing is None or not (standing.terms.sacn or standing.terms.artnet):
                return Ours(room.sacn_priority(universe), sent=False)
            terms, follows = standing.terms, room.stage.state.shared_as(universe).follow
            usual = room.sacn_priority(universe)
            priority = usual if usual is None or terms.priority is None else terms.priority
            shared = standing.leaving.join != "alone"
            return Ours(priority, outrank=standing.leaving.outrank, follows=follows, shared=shared)

        return ours

    def _outranks(self, room: Room, universe: int, now: float) -> bool:
        here = self.sources.live(universe, now)
        return beside.outranks(self.joining.all()[universe], here, room.sacn_priority(universe))

    def _tell(self, room: Room) -> None:
        now = monotonic()
        _tell_missing(room, self.arriving.missing)
        standings = self.joining.all()
        waits = [universe for universe, move in self.moving.moves.items() if move.where == "waiting"]
        crowds = [crowd(self.sources, self.arriving.ahead, universe, now) for universe in waits]
        said = beside.alerts(standings, self.moving.moves, now, lambda at: _clock(now - at), crowds)
        lesser = {
            universe
            for universe in standings.keys() & self.sources.universes()
            if not self._outranks(room, universe, now)
        }
        if (sentence := beside.unheld(room.stage.state, lesser)) is not None:
            said["unheld"] = sentence
        said |= followed(room.engine.following, now, lambda at: _clock(now - at))
        for about in self._joined | said.keys():
            room.alert(about, said.get(about))
        self._joined = set(said)
        told = alerts(self.sources, room.ours, now)
        for at in range(max(len(told), self._told)):
            room.alert(f"heard {at + 1}", told[at] if at < len(told) else None)
        self._told = len(told)


class Known:
    """What the engine asks about a universe besides its own levels."""

    def __init__(self, consoles: Consoles, output: Output) -> None:
        self._consoles, self.picture = consoles, output.picture
        self.levels, self.names = consoles.sources.levels, consoles.sources.names
        self.undriven = consoles.sources.undriven

    def leaves(self, universe: int) -> bool:
        """Whether anything of ours leaves there."""
        terms = self._consoles.joining.terms(universe)
        return terms.sacn or terms.artnet

    def shows(self, universe: int, now: float) -> bool:
        """Whether it does, and no console that is heard there by sACN ranks level with it, or above."""
        joining, live = self._consoles.joining, self._consoles.sources.live(universe, now)
        priority = joining.terms(universe).priority
        own = joining.own(universe) if priority is None else priority
        by_sacn = [source for source in live if source.protocol == "sacn"]
        return self.leaves(universe) and (not by_sacn or own > rank_of(by_sacn, Rank(), now).highest)


def _rank_before(planned: UniversePlan, output: Output, state: State) -> Rank:
    sacn = [to.priority for to in planned.outputs if isinstance(to, Sacn)]
    each = (output.priorities(planned.universe) or b"\0") if planned.per_slot else None
    outrank = None if each is None else max(each)
    artnet = any(isinstance(to, ArtNet) for to in planned.outputs)
    return rank_before(state.shared_as(planned.universe).join, max(sacn, default=0), outrank, artnet)


def _clock(ago_s: float) -> str:
    return (datetime.now().astimezone() - timedelta(seconds=ago_s)).strftime("%H:%M:%S")


def _tell_missing(room: Room, missing: OSError | None) -> None:
    if missing is None:
        room.alert("groups", None)
        return
    why = missing.strerror or str(missing)
    room.alert("groups", Said("Consoles that send sACN by multicast cannot all be heard ({why}).", why=why))
