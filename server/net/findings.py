"""What is wrong, or worth knowing, about the Art-Net nodes that answer: in words."""

import ipaddress
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from server.net.devices import Device
from server.net.interfaces import Interface
from server.rig.said import Said

__all__ = ["Finding", "alerts", "called", "findings", "listed"]

_MOST_TOLD = 6  # alerts at once; the list of nodes has them all
_MOST_NAMED = 8  # universes in a sentence


@dataclass(frozen=True, slots=True)
class Finding:
    """Something about the nodes at `hosts`, as a sentence. is_alert: the lead is told wherever they look."""

    said: Said
    hosts: tuple[str, ...] = ()
    is_alert: bool = False


def findings(
    found: Sequence[Device],
    networks: Sequence[Interface],
    sent: Mapping[int, int],
    wanted: Mapping[int, int],
    lost_at: Mapping[str, str],
) -> list[Finding]:
    """All there is to say. networks: the interfaces that Art-Net leaves by, the main one first.

    sent: the universes of ours that leave by Art-Net, by Port-Address; wanted: those among them that go to
    whichever nodes serve them. lost_at: since what time of the day nodes are lost, by host.
    """
    here = [device for device in found if not device.lost]
    return [
        *_same_address(here),
        *(_lost(device, lost_at.get(device.host, "")) for device in found if device.lost),
        *_elsewhere(here, networks),
        *_merging(here, sent),
        *_served_twice(here),
        *_unserved(here, wanted),
    ]


def alerts(found: Iterable[Finding]) -> list[Said]:
    """What the lead is told of them wherever they look."""
    told = [one.said for one in found if one.is_alert]
    if len(told) > _MOST_TOLD:
        rest = len(told) - _MOST_TOLD + 1
        told = [*told[: _MOST_TOLD - 1], Said("{count} more things are to be said of nodes.", count=rest)]
    return told


def called(device: Device) -> str:
    """What a sentence calls it: the name it was given, and where it is."""
    return f"{device.name} ({device.host})" if device.name else device.host


def _same_address(here: Sequence[Device]) -> Iterator[Finding]:
    """Two that answer from one address, by different MACs; pages of one device share theirs."""
    for at, one in enumerate(here):
        for other in here[at + 1 :]:
            if one.host == other.host and one.mac and other.mac and one.pages & other.pages:
                said = Said(
                    "Two nodes have the address {address}: {one} and {other}. Each gets only part of what is "
                    "sent there; give one of them another address.",
                    address=one.host,
                    one=_told_apart(one),
                    other=_told_apart(other),
                )
                yield Finding(said, (one.host,), True)


def _told_apart(device: Device) -> str:
    return f"{device.name} ({device.mac})" if device.name else device.mac


def _lost(device: Device, since: str) -> Finding:
    said = Said(
        "{name} has not answered since {time}: look at its power and its cable.",
        name=called(device),
        time=since,
    )
    return Finding(said, (device.host,), bool(device.ports))  # a controller that goes takes no light along


def _elsewhere(here: Sequence[Device], networks: Sequence[Interface]) -> Iterator[Finding]:
    ranges = (ipaddress.IPv4Interface(f"{network.address}/{network.prefix}").network for network in networks)
    ours = ", ".join(str(network) for network in ranges)
    for device in here:
        if networks and not any(network.reaches(device.host) for network in networks):
            said = Said(
                "{name} is on another network than ours, {network}: what we send may not reach it. Give it "
                "an address of our range.",
                name=called(device),
                network=ours,
            )
            yield Finding(said, (device.host,), True)
        if device.says_ip not in ("0.0.0.0", device.host):  # noqa: S104 - "not given"
            said = Said(
                "{name} says that its address is {told}, and answers from {address}. Levels go to {address}.",
                name=called(device),
                told=device.says_ip,
                address=device.host,
            )
            yield Finding(said, (device.host,), True)


def _merging(here: Sequence[Device], ours: Mapping[int, int]) -> Iterator[Finding]:
    for device in here:
        merged = [port for port in device.ports if port.merges and port.port_address in ours]
        for latest in (False, True):
            universes = {ours[port.port_address] for port in merged if port.latest == latest}
            if not universes:
                continue
            facts = {"name": called(device), "universes": listed(universes)}
            if latest:
                said = Said(
                    "{name} hears somebody else on universe {universes} as well, and shows whichever of the "
                    "two changed last.",
                    **facts,
                )
            else:
                said = Said(
                    "{name} hears somebody else on universe {universes} as well, and shows the higher level "
                    "of each slot.",
                    **facts,
                )
            yield Finding(said, (device.host,), True)


def _served_twice(here: Sequence[Device]) -> Iterator[Finding]:
    by_port: dict[int, list[Device]] = {}
    for device in here:
        for port in sorted(device.outputs):
            by_port.setdefault(port, []).append(device)
    alike: dict[tuple[str, ...], list[int]] = {}
    for port, serving in by_port.items():
        if len(serving) > 1:
            alike.setdefault(tuple(called(device) for device in serving), []).append(port)
    for names, ports in alike.items():
        said = Said(
            "Port-Address {ports} comes out of more than one node: {names}. That is all right where the same "
            "light is wanted at both.",
            ports=listed(ports),
            names=", ".join(names),
        )
        yield Finding(said, tuple(device.host for device in by_port[ports[0]]))


def _unserved(here: Sequence[Device], wanted: Mapping[int, int]) -> Iterator[Finding]:
    served = frozenset[int]().union(*(device.outputs for device in here))
    without = set(wanted.values()) - {universe for port, universe in wanted.items() if port in served}
    if without and len(without) < len(set(wanted.values())):
        said = Said(
            "No node that answers sends out universe {universes}, while other universes are served. What "
            "receives sACN does not answer, and may be there all the same.",
            universes=listed(without),
        )
        yield Finding(said)


def listed(numbers: Iterable[int]) -> str:
    """These in order, as a sentence names them; of many only the first."""
    ordered = sorted(set(numbers))
    more = ", …" if len(ordered) > _MOST_NAMED else ""
    return ", ".join(str(number) for number in ordered[:_MOST_NAMED]) + more
