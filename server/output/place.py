"""Where packets go, and which way they leave."""

from typing import Literal, NamedTuple

from server.output.batch import Address
from server.output.plan import ArtNet, Plan, Sacn, UniversePlan, wire_universe
from server.wire import e131

__all__ = ["ART_NET", "By", "Key", "Place", "groups_and_hosts", "places_of", "plain_sacn"]

Key = tuple[Address, int]


class By(NamedTuple):
    """One way out, each with a socket of its own.

    bound: everything that leaves here leaves by `interface`, an IPv4 address of ours; otherwise only what is
    multicast does, and None there lets the system choose. ipv6: multicast by the interface with that index,
    0 is the system's choice; None: IPv4.
    """

    protocol: Literal["sacn", "artnet"]
    interface: str | None = None
    bound: bool = False
    ipv6: int | None = None


ART_NET = By("artnet")


class Place(NamedTuple):
    """One receiver or group. number: the universe on the wire, or the Port-Address."""

    by: By
    address: Address
    number: int
    multicast: bool = False

    @property
    def key(self) -> Key:
        """What tells it from other places, whichever way packets get there."""
        return self.address, self.number


def plain_sacn(interface: str | None) -> By:
    """The way of what names no interface of its own. interface: the plan's."""
    return By("sacn", interface)


def places_of(planned: UniversePlan, interface: str | None) -> list[Place]:
    """Where each of its outputs goes, in their order. interface: the plan's."""
    return [_place(output, planned.universe, interface) for output in planned.outputs]


def groups_and_hosts(plan: Plan, universe: int) -> tuple[set[tuple[By, Address]], set[tuple[By, Address]]]:
    """Where a packet about all universes goes by sACN: that universe's groups, and hosts given by address."""
    groups = set[tuple[By, Address]]()
    hosts: dict[Address, By] = {}  # one that is reached in two ways is told once
    for planned in plan.universes:
        for place in places_of(planned, plan.interface):
            if place.multicast:
                groups.add((place.by, _group(place.by, universe)))
            elif place.by.protocol == "sacn":
                hosts.setdefault(place.address, place.by)
    return groups, {(by, address) for address, by in hosts.items()}


def _place(output: Sacn | ArtNet, universe: int, interface: str | None) -> Place:
    if isinstance(output, ArtNet):
        by = By("artnet", output.interface, bound=True) if output.interface else ART_NET
        return Place(by, (output.host, output.port), output.port_address)
    number = wire_universe(output, universe)
    if output.ipv6 is not None:
        by = By("sacn", ipv6=output.ipv6)
    elif output.interface is not None:
        by = By("sacn", output.interface, bound=True)
    else:
        by = plain_sacn(interface)
    if output.host is None:
        return Place(by, _group(by, number), number, multicast=True)
    return Place(by, (output.host, output.port), number)


def _group(by: By, universe: int) -> Address:
    # Multicast has its port by the standard; another one is for unicast only (E1.31-2018, 9.1.1).
    group = e131.multicast_address if by.ipv6 is None else e131.multicast_address_v6
    return group(universe), e131.PORT
