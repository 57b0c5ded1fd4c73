"""Which universe goes where: what the output process is told."""

from collections.abc import Callable, Container, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from server.engine.terms import USUAL, Terms
from server.output.plan import ArtNet, ArtSyncTo, Plan, Sacn, Target, UniversePlan, target
from server.rig.universe import SLOTS, OffLimits
from server.stage.outputs import (
    NO_ROUTE,
    PORTS,
    UNSYNCED,
    By,
    Output,
    Route,
    Sync,
    Way,
    barred,
    number_on_wire,
    outputs_of,
)

__all__ = ["Ear", "Routing", "Subscribers"]

# The hosts of the nodes that want a Port-Address, by one of our addresses, or the main one: "".
Subscribers = Callable[[int, str], Iterable[str]]
NO_ROUTES: Mapping[int, Route] = {}
PROTOCOLS: tuple[By, ...] = ("sacn", "artnet")


class Ear(NamedTuple):
    """What a universe is called somewhere: by that protocol, on the network of one of our addresses.

    number: of sACN, or a Port-Address. interface: "" for the main one.
    """

    by: By
    number: int
    interface: str


@dataclass(frozen=True, slots=True)
class Routing:
    """How levels leave this laptop, by the settings and the network as it is now.

    interface: the main one's address. ways: every interface that is there. sacn_to, artnet_to: hosts (IPv4)
    and ports; with either given, nothing goes anywhere else as usual. artnet_broadcast: Art-Net usually goes
    to everybody. artnet_offset: universe less Port-Address, 0 or 1. sync_pause_s: before synchronisation.
    """

    cid: str
    source_name: str
    interface: str | None = None
    ways: tuple[Way, ...] = ()
    priority: int = 100
    sacn_to: tuple[tuple[str, int], ...] = ()
    artnet_to: tuple[tuple[str, int], ...] = ()
    artnet_broadcast: bool = False
    artnet_offset: int = 0
    steady: frozenset[int] = frozenset()
    off_limits: tuple[OffLimits, ...] = ()
    sync_pause_s: float = 0.001

    @property
    def by_itself(self) -> bool:
        """Whether levels usually go by multicast and to the nodes found, not to hosts given by hand."""
        return not self.sacn_to and not self.artnet_to

    @property
    def usual(self) -> tuple[Output, ...]:
        """Where a universe goes that has no outputs of its own."""
        sacn = [Output("sacn", "host", host, port) for host, port in self.sacn_to]
        artnet = [Output("artnet", "host", host, port) for host, port in self.artnet_to]
        if self.by_itself:
            sacn, artnet = [Output("sacn", "multicast")], [Output("artnet", "nodes")]
        if self.artnet_broadcast and self.interface is not None:
            artnet = [Output("artnet", "broadcast")]
        return (*sacn, *artnet)

    def plan(
        self,
        universes: Iterable[int],
        subscribers: Subscribers,
        terms: Callable[[int], Terms] = lambda _: USUAL,
        routes: Mapping[int, Route] = NO_ROUTES,
        sync: Sync = UNSYNCED,
        last: Container[int] = (),
    ) -> Plan:
        """The plan for these universes.

        terms: on which each universe leaves; one that does not is planned, and goes nowhere. routes: of the
        universes that have outputs of their own, or a steadiness. A universe that is off limits from end to
        end is not sent at all. Where two universes come to one place, the one that was told to goes there;
        last: those that are only still there give way to all others.
        """
        sent = [u for u in universes if (1, SLOTS) not in self._limits(u)]
        held = dict[Target, int]()
        resolved = dict[int, tuple[Sacn | ArtNet, ...]]()
        for universe in sorted(sent, key=lambda u: (u in last, not routes.get(u, NO_ROUTE).outputs)):
            found = self._resolved(universe, routes, subscribers, terms(universe))
            free = {target(one, universe, self.interface): one for one in found}
            resolved[universe] = tuple(one for place, one in free.items() if place not in held)
            held |= dict.fromkeys(free, universe)
        plans = tuple(
            UniversePlan(u, resolved[u], self._steady(u, routes), self._limits(u), terms(u).per_slot)
            for u in sent
        )
        # Beside a console nothing may leave by Art-Net: then nobody is told to wait for us (ArtSync).
        by_artnet = [u for u in sent if any(isinstance(one, ArtNet) for one in resolved[u])]
        syncing = self._artnet_syncs(by_artnet, routes) if sync.artnet else ()
        return Plan(
            self.cid,
            self.source_name,
            self.interface,
            plans,
            sync=sync.sacn,
            artnet_sync=tuple(syncing),
            sync_pause_s=self.sync_pause_s if sync.pause_ms is None else sync.pause_ms / 1000,
        )

    def port_addresses(
        self, universes: Iterable[int], routes: Mapping[int, Route] = NO_ROUTES, *, to_nodes: bool = False
    ) -> dict[int, int]:
        """Which of these universes leaves by Art-Net as which Port-Address; one may do so as several.

        to_nodes: only what goes to whichever nodes serve it.
        """
        found = dict[int, int]()
        for universe in universes:
            for output in outputs_of(routes, universe, self.usual):
                number = number_on_wire(output, universe, self.artnet_offset)
                if output.by == "artnet" and number is not None and (output.to == "nodes" or not to_nodes):
                    found.setdefault(number, universe)
        return found

    def sacn_priority(self, universe: int, routes: Mapping[int, Route] = NO_ROUTES) -> int | None:
        """With which priority it usually leaves by sACN, the highest of several; None: it does not."""
        outputs = [o for o in outputs_of(routes, universe, self.usual) if o.by == "sacn"]
        return max((self.priority if o.priority is None else o.priority for o in outputs), default=None)

    def has_network(self, output: Output) -> bool:
        """Whether the network is there that an output is to leave by; the main one counts as if it were."""
        return not output.interface or self._way(output.interface) is not None

    def ears(self, universe: int, routes: Mapping[int, Route] = NO_ROUTES) -> frozenset[Ear]:
        """All that this universe is called where it goes."""
        return frozenset(self._called(universe, outputs_of(routes, universe, self.usual)))

    def heard_as(
        self, universes: Iterable[int], routes: Mapping[int, Route] = NO_ROUTES
    ) -> dict[Ear, tuple[int, ...]]:
        """Which universes of ours somebody drives who sends so.

        Each is heard under all that its outputs call it, and as usual by a protocol that it does not leave
        by. Where one was told to go, those that would only usually go there are not meant.
        """
        told, usual = dict[Ear, tuple[int, ...]](), dict[Ear, tuple[int, ...]]()
        for universe in universes:
            own = routes.get(universe, NO_ROUTE).outputs
            for by in PROTOCOLS:
                outputs = [output for output in own if output.by == by]
                found = told if outputs else usual
                for ear in set(self._called(universe, outputs or [_usual_by(by)])):
                    found[ear] = (*found.get(ear, ()), universe)
        return usual | told

    def _called(self, universe: int, outputs: Iterable[Output]) -> Iterator[Ear]:
        for output in outputs:
            if (number := number_on_wire(output, universe, self.artnet_offset)) is not None:
                yield Ear(output.by, number, output.interface)

    def node_networks(self, universes: Iterable[int], routes: Mapping[int, Route] = NO_ROUTES) -> list[Way]:
        """The interfaces that nodes are looked for by."""
        outputs = (o for u in universes for o in outputs_of(routes, u, self.usual) if o.to == "nodes")
        wanted = {output.interface or self.interface for output in outputs}
        return [way for way in self.ways if way.address in wanted]

    def _resolved(
        self, universe: int, routes: Mapping[int, Route], subscribers: Subscribers, terms: Terms
    ) -> Iterator[Sacn | ArtNet]:
        for output in outputs_of(routes, universe, self.usual):
            number = number_on_wire(output, universe, self.artnet_offset)
            way = self._way(output.interface)
            if number is None or (output.interface and way is None):
                continue  # what is gone is waited for: nothing leaves by another network instead
            if barred(output, universe, self.artnet_offset, self.off_limits):
                continue  # set off limits since it was told to go there
            if output.by == "sacn" and terms.sacn:
                yield from self._sacn(output, number if number != universe else None, way, terms)
            elif output.by == "artnet" and terms.artnet:
                yield from self._artnet(output, number, way, subscribers)

    def _sacn(self, output: Output, number: int | None, way: Way | None, terms: Terms) -> Iterator[Sacn]:
        own = self.priority if output.priority is None else output.priority
        priority = own if terms.priority is None else terms.priority
        port, by = output.port or PORTS["sacn"], output.interface or None
        if output.to != "multicast6":
            host = output.host if output.to == "host" else None
            yield Sacn(host, port, priority, number, by, most_hz=output.most_hz)
        elif (network := way or self._way(self.interface)) is not None:
            yield Sacn(None, port, priority, number, ipv6=network.index, most_hz=output.most_hz)

    def _artnet(
        self, output: Output, number: int, way: Way | None, subscribers: Subscribers
    ) -> Iterator[ArtNet]:
        network = way or self._way(self.interface)
        match output.to:
            case "host":
                hosts: Iterable[str] = (output.host,)
            case "broadcast":
                hosts = (network.broadcast,) if network else ()
            case _:
                hosts = subscribers(number, output.interface)
        port, by = output.port or PORTS["artnet"], output.interface or None
        for host in hosts:
            yield ArtNet(host, port, number, by, output.most_hz)

    def _artnet_syncs(self, universes: Iterable[int], routes: Mapping[int, Route]) -> Iterable[ArtSyncTo]:
        """Who gets ArtSync: everybody on the networks that Art-Net leaves by, else the machines given.

        Source: Art-Net 4, ArtSync: directed broadcast only, and Protocol Operation: port 6454. Whoever gets
        levels at another port hears nothing of that, and is told there.
        """
        found = dict[tuple[str, int], ArtSyncTo]()
        for universe in universes:
            for output in outputs_of(routes, universe, self.usual):
                if output.by != "artnet":
                    continue
                network, by = self._way(output.interface or self.interface), output.interface or None
                port = output.port or PORTS["artnet"]
                if network is not None and port == PORTS["artnet"]:
                    found.setdefault((network.broadcast, port), ArtSyncTo(network.broadcast, port, by))
                elif output.host:
                    found.setdefault((output.host, port), ArtSyncTo(output.host, port, by))
        return found.values()

    def _way(self, address: str | None) -> Way | None:
        return next((way for way in self.ways if way.address == address), None)

    def _steady(self, universe: int, routes: Mapping[int, Route]) -> bool:
        steady = routes.get(universe, NO_ROUTE).steady
        return universe in self.steady if steady is None else steady

    def _limits(self, universe: int) -> tuple[tuple[int, int], ...]:
        return tuple((o.first, o.last) for o in self.off_limits if o.universe == universe)


def _usual_by(by: By) -> Output:
    return Output(by, "multicast" if by == "sacn" else "nodes")
