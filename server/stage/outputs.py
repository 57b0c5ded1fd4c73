"""Where the lead lets each universe go: outputs of its own, in place of what the command line says."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from server.rig.universe import OffLimits, port_address_of

__all__ = [
    "MOST_HZ",
    "NO_ROUTE",
    "PORTS",
    "TO",
    "UNSYNCED",
    "USUAL",
    "By",
    "Output",
    "Route",
    "Sync",
    "To",
    "Way",
    "barred",
    "number_on_wire",
    "outputs_of",
    "same_place",
]

By = Literal["sacn", "artnet"]
To = Literal["multicast", "multicast6", "host", "nodes", "broadcast"]
TO: dict[By, tuple[To, ...]] = {
    "sacn": ("multicast", "multicast6", "host"),
    "artnet": ("nodes", "host", "broadcast"),
}
PORTS: dict[By, int] = {"sacn": 5568, "artnet": 6454}  # E1.31-2018, 9.3.1; Art-Net 4, Protocol Operation
MOST_HZ = 44.0  # E1.31-2018, 6.6.1


@dataclass(frozen=True, slots=True)
class Output:
    """One way that a universe leaves.

    to: a group by IPv4 or IPv6, one host, the Art-Net nodes that serve it, or everybody on a network. host:
    an IPv4 address, "" where `to` is no host. port: None is the protocol's own. priority: of sACN, 0-200;
    None is what the settings say. number: what it is called on the wire (sACN universe or Port-Address); None
    is as here. interface: the IPv4 address of ours that it leaves by; "" is the main one. most_hz: packets a
    second at most.
    """

    by: By
    to: To
    host: str = ""
    port: int | None = None
    name: str = ""
    priority: int | None = None
    number: int | None = None
    interface: str = ""
    most_hz: float = MOST_HZ


@dataclass(frozen=True, slots=True)
class Route:
    """Where one universe goes. outputs: none of its own, it goes as the command line says.

    steady: whether it is sent at full rate all the time; None: as the settings say.
    """

    outputs: tuple[Output, ...] = ()
    steady: bool | None = None


@dataclass(frozen=True, slots=True)
class Sync:
    """Whether receivers show all universes at one moment.

    sacn: the universe that synchronisation is sent on, 0 for none. artnet: whether ArtSync is sent.
    pause_ms: between a frame's levels and either of them (E1.31-2018, 11.2.2); None: as the settings say.
    """

    sacn: int = 0
    artnet: bool = False
    pause_ms: float | None = None


@dataclass(frozen=True, slots=True)
class Way:
    """A network interface of this laptop, as outputs name it. index: the system's number of it."""

    name: str
    address: str
    broadcast: str
    index: int = 0


NO_ROUTE = Route()
UNSYNCED = Sync()
USUAL = (Output("sacn", "multicast"), Output("artnet", "nodes"))


def outputs_of(routes: Mapping[int, Route], universe: int, usual: tuple[Output, ...]) -> tuple[Output, ...]:
    """Its own outputs, or else the usual ones."""
    return routes.get(universe, NO_ROUTE).outputs or usual


def number_on_wire(output: Output, universe: int, offset: int) -> int | None:
    """What that universe is called where this output goes; None where Art-Net has no number for it.

    offset: universe less Port-Address.
    """
    if output.number is not None:
        return output.number
    return universe if output.by == "sacn" else port_address_of(universe, offset)


def barred(output: Output, universe: int, offset: int, off_limits: Iterable[OffLimits]) -> OffLimits | None:
    """What is off limits on another universe by whose number that one would go there; None: nothing is."""
    number = number_on_wire(output, universe, offset)
    if number is None:
        return None
    there = number if output.by == "sacn" else number + offset
    return next((limit for limit in off_limits if limit.universe == there != universe), None)


def same_place(one: Output, other: Output) -> bool:
    """Whether a receiver could hear these, of one protocol and number on the wire, as one universe."""
    ports = [each.port or PORTS[each.by] for each in (one, other)]
    if one.to == other.to == "host":
        return (one.host, ports[0]) == (other.host, ports[1])
    # Whoever has an address of its own may have joined the group, too, or be one of the nodes; by another
    # interface it is another network.
    return ports[0] == ports[1] and one.interface == other.interface
