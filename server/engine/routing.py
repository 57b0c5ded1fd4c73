"""Which universe goes where: what the output process is told."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from server.engine.terms import USUAL, Terms
from server.output.plan import ArtNet, Plan, Sacn, UniversePlan
from server.rig.universe import SLOTS, OffLimits, port_address_of
from server.wire.artnet import PORT

__all__ = ["Routing"]


@dataclass(frozen=True, slots=True)
class Routing:
    """How levels leave this laptop.

    sacn_to, artnet_to: hosts (IPv4) and ports; with either given, nothing is sent anywhere else. artnet_all:
    the directed broadcast address, only when asked for. artnet_offset: universe minus Port-Address, 0 or 1.
    """

    cid: str
    source_name: str
    interface: str | None = None
    priority: int = 100
    sacn_to: tuple[tuple[str, int], ...] = ()
    artnet_to: tuple[tuple[str, int], ...] = ()
    artnet_all: str | None = None
    artnet_offset: int = 0
    steady: frozenset[int] = frozenset()
    off_limits: tuple[OffLimits, ...] = ()

    @property
    def by_itself(self) -> bool:
        """Whether levels go out by multicast and to the nodes found, rather than to hosts given by hand."""
        return not self.sacn_to and not self.artnet_to

    def plan(
        self,
        universes: Iterable[int],
        subscribers: Callable[[int], Iterable[str]],
        terms: Callable[[int], Terms] = lambda _: USUAL,
    ) -> Plan:
        """The plan for these universes. subscribers: hosts of the nodes that want a Port-Address.

        terms: on which each universe leaves; one that does not is planned, and goes nowhere.

        A universe that is off limits from end to end is not sent at all.
        """
        plans = tuple(
            UniversePlan(u, self._outputs(u, subscribers, terms(u)), u in self.steady, self._limits(u))
            for u in universes
            if (1, SLOTS) not in self._limits(u)
        )
        return Plan(self.cid, self.source_name, self.interface, plans)

    def port_addresses(self, universes: Iterable[int], *, to_nodes: bool = False) -> dict[int, int]:
        """The Port-Address of each of these universes that leaves by Art-Net.

        to_nodes: only those that go to whichever nodes serve them.
        """
        leaves = self.by_itself or (not to_nodes and (self.artnet_to or self.artnet_all))
        ports = ((u, port_address_of(u, self.artnet_offset)) for u in universes if leaves)
        return {u: port for u, port in ports if port is not None}

    def _outputs(
        self, universe: int, subscribers: Callable[[int], Iterable[str]], terms: Terms
    ) -> tuple[Sacn | ArtNet, ...]:
        priority = self.priority if terms.priority is None else terms.priority
        sacn = [Sacn(host, port, priority) for host, port in self.sacn_to]
        port_address = universe - self.artnet_offset
        hosts = list(self.artnet_to)
        if self.by_itself:
            sacn.append(Sacn(None, priority=priority))
            hosts = [(host, PORT) for host in subscribers(port_address)]
        if self.artnet_all is not None:
            hosts = [(self.artnet_all, PORT)]
        reachable = hosts if terms.artnet and 0 <= port_address <= 32767 else []
        return (
            *(sacn if terms.sacn else ()),
            *(ArtNet(host, port, port_address) for host, port in reachable),
        )

    def _limits(self, universe: int) -> tuple[tuple[int, int], ...]:
        return tuple((o.first, o.last) for o in self.off_limits if o.universe == universe)
