"""What the output process is to do: who we are, which universes go where, which slots stay at 0."""

import ipaddress
import json
import uuid
from dataclasses import astuple, dataclass, fields
from functools import lru_cache
from typing import Any, Literal

from server.wire.artnet import LAST_PORT_ADDRESS
from server.wire.artnet import PORT as ARTNET_PORT
from server.wire.e131 import LAST_UNIVERSE, MAX_PRIORITY
from server.wire.e131 import PORT as SACN_PORT

__all__ = [
    "MOST_HZ",
    "MOST_PAUSE_S",
    "MOST_UNIVERSES",
    "ArtNet",
    "ArtSyncTo",
    "Plan",
    "Sacn",
    "Target",
    "UniversePlan",
    "from_json",
    "target",
    "to_json",
    "wire_universe",
]

MOST_UNIVERSES = 1024  # what the shared map has room for
MOST_HZ = 44.0  # one packet of 513 slots takes 22.68 ms on DMX512 (E1.31-2018, 6.6.1)
# All rates of a universe share its sequence number. With these, 1 Hz beside the two fastest, 0xDD and all,
# the number never is on by so much between two packets that the second looks late (237 and more, 6.7.2).
MOST_RATES = 3

MOST_PAUSE_S = 0.01  # before synchronisation; the next frame comes after 22.1 ms at the earliest

WhenAlone = Literal["hold", "end"]
Target = tuple[str, str | int | None, int, int]


@dataclass(frozen=True, slots=True)
class Sacn:
    """Send by sACN: to the universe's multicast group when host is None, else to that IPv4 address.

    universe: its number on the wire, 1-63999; None: as ours. interface: the IPv4 address of ours that this
    leaves by; None: the plan's, for multicast. ipv6: with no host, multicast by IPv6 instead, by the
    interface with this index; 0 lets the system choose. most_hz: packets a second at most, 1-44.
    """

    host: str | None = None
    port: int = SACN_PORT
    priority: int = 100
    universe: int | None = None
    interface: str | None = None
    ipv6: int | None = None
    most_hz: float = MOST_HZ

    def __post_init__(self) -> None:
        if self.host is not None:
            _refuse_host(self.host)
        _refuse_port(self.port)
        if not 0 <= self.priority <= MAX_PRIORITY:
            raise ValueError(f"Priority {self.priority} is not 0 to {MAX_PRIORITY}.")
        if self.universe is not None:
            _refuse_universe(self.universe)
        if self.interface is not None:
            _refuse_host(self.interface)
        if self.ipv6 is not None:
            if self.host is not None or self.interface is not None:
                raise ValueError("By IPv6 only multicast is sent, and its interface is a number.")
            if not 0 <= self.ipv6 < 1 << 31:
                raise ValueError(f"{self.ipv6} is no number of an interface.")
        _refuse_hz(self.most_hz)


@dataclass(frozen=True, slots=True)
class ArtNet:
    """Send by Art-Net to an IPv4 address (a node's, or an interface's directed broadcast when asked for).

    interface: the IPv4 address of ours that this leaves by; None lets the system choose. most_hz: packets a
    second at most, 1-44.
    """

    host: str
    port: int = ARTNET_PORT
    port_address: int = 0
    interface: str | None = None
    most_hz: float = MOST_HZ

    def __post_init__(self) -> None:
        _refuse_host(self.host)
        _refuse_port(self.port)
        if not 0 <= self.port_address <= LAST_PORT_ADDRESS:
            raise ValueError(f"Port-Address {self.port_address} is not 0 to {LAST_PORT_ADDRESS}.")
        if self.interface is not None:
            _refuse_host(self.interface)
        _refuse_hz(self.most_hz)


@dataclass(frozen=True, slots=True)
class UniversePlan:
    """One universe, 1-63999.

    steady: 44 packets a second all the time, for receivers that want it so.
    off_limits: (first, last) slots, 1-512, both included, which leave as 0 whatever the picture says.
    per_slot: by sACN also send the priority of each slot (START code 0xDD). A receiver that knows them takes
    the slots of priority 0 from elsewhere; one that does not takes all of them by the packet's priority.
    When per_slot ends while the universe goes on, that happens at the first kind too, some 2.5 s later: the
    packet's priority of the new plan then counts for the whole universe. The other way round, priorities that
    were written before the plan go with the first packets.
    """

    universe: int
    outputs: tuple[Sacn | ArtNet, ...]
    steady: bool = False
    off_limits: tuple[tuple[int, int], ...] = ()
    per_slot: bool = False

    def __post_init__(self) -> None:
        _refuse_universe(self.universe)
        for first, last in self.off_limits:
            if not 1 <= first <= last <= 512:
                raise ValueError(f"Slots {first} to {last} are not a range within 1 to 512.")
        targets = [target(output, self.universe, None) for output in self.outputs]
        if len(set(targets)) < len(targets):
            raise ValueError(f"Universe {self.universe} goes to one place twice.")
        if len({output.most_hz for output in self.outputs}) > MOST_RATES:
            raise ValueError(f"Universe {self.universe} is sent at more than {MOST_RATES} different rates.")


@dataclass(frozen=True, slots=True)
class ArtSyncTo:
    """Who gets ArtSync: a directed broadcast address, or a host. interface: as for levels by Art-Net."""

    host: str
    port: int = ARTNET_PORT
    interface: str | None = None

    def __post_init__(self) -> None:
        _refuse_host(self.host)
        _refuse_port(self.port)
        if self.interface is not None:
            _refuse_host(self.interface)


@dataclass(frozen=True, slots=True)
class Plan:
    """Everything the output process is told. cid: a UUID's text; interface: an IPv4 address of ours, or None.

    when_alone: what happens when the web side is gone; hold the last picture for ever, or end the streams.
    sync: sACN synchronisation address, 1-63999; 0: none. artnet_sync: who gets ArtSync. With either, all
    universes of the plan share one pace, the slowest `most_hz`. sync_pause_s: between the levels of a frame
    and what synchronises them, less than a frame.
    """

    cid: str
    source_name: str
    interface: str | None
    universes: tuple[UniversePlan, ...]
    when_alone: WhenAlone = "hold"
    sync: int = 0
    artnet_sync: tuple[ArtSyncTo, ...] = ()
    sync_pause_s: float = 0.001

    def __post_init__(self) -> None:
        uuid.UUID(self.cid)
        if len(self.source_name.encode()) > 63 or "\0" in self.source_name:
            raise ValueError("A source name is at most 63 octets of text.")  # E1.31-2018, 6.2.2
        if self.interface is not None:
            _refuse_host(self.interface)
        if self.when_alone not in ("hold", "end"):
            raise ValueError(f"Left alone the output can hold or end, not {self.when_alone!r}.")
        if len(self.universes) > MOST_UNIVERSES:
            raise ValueError(f"{len(self.universes)} universes are more than {MOST_UNIVERSES}.")
        if len({planned.universe for planned in self.universes}) < len(self.universes):
            raise ValueError("A universe is planned twice.")
        if self.sync:
            _refuse_universe(self.sync)
        if not 0 <= self.sync_pause_s <= MOST_PAUSE_S:
            raise ValueError(f"A pause of {self.sync_pause_s} s is not 0 to {MOST_PAUSE_S:g}.")
        if len({(to.host, to.port) for to in self.artnet_sync}) < len(self.artnet_sync):
            raise ValueError("ArtSync goes to one address twice.")
        self._refuse_shared_places()

    def _refuse_shared_places(self) -> None:
        # Two pictures in turn in one place would flicker, and their sequence numbers would be one mess.
        held: dict[Target, int] = {}
        for planned in self.universes:
            for output in planned.outputs:
                place = target(output, planned.universe, self.interface)
                if place in held:
                    both = f"{held[place]} and {planned.universe}"
                    raise ValueError(f"Universes {both} both go to {_words(output, planned.universe)}.")
                held[place] = planned.universe


def wire_universe(output: Sacn, universe: int) -> int:
    """What our universe is called where this output goes."""
    return output.universe or universe


def target(output: Sacn | ArtNet, universe: int, interface: str | None) -> Target:
    """Where one universe's picture ends up; no two may end up in one place.

    interface: the plan's. A host is one host whichever way it is reached; a group is another by each
    interface.
    """
    if isinstance(output, ArtNet):
        return "artnet", output.host, output.port, output.port_address
    if output.host is not None:
        return "sacn", output.host, output.port, wire_universe(output, universe)
    by = output.ipv6 if output.ipv6 is not None else output.interface or interface
    return "sacn", by, 0, wire_universe(output, universe)


def _words(output: Sacn | ArtNet, universe: int) -> str:
    if isinstance(output, ArtNet):
        return f"Port-Address {output.port_address} at {output.host}"
    number = wire_universe(output, universe)
    return (
        f"sACN universe {number} at {output.host}"
        if output.host
        else f"the multicast of sACN universe {number}"
    )


def to_json(plan: Plan) -> bytes:
    """The plan as JSON; each universe is a text of JSON in it, and each output says which protocol it is."""
    written = {field.name: getattr(plan, field.name) for field in fields(plan)}
    written["universes"] = [_universe_to_json(planned) for planned in plan.universes]
    written["artnet_sync"] = [astuple(to) for to in plan.artnet_sync]
    return _dumped(written).encode()


def from_json(text: bytes) -> Plan:
    """The plan that `to_json` wrote.

    Raises ValueError: not JSON, or values a plan refuses. Raises KeyError or TypeError: not a plan.
    """
    written = json.loads(text)
    written["universes"] = tuple(_universe(text) for text in written["universes"])
    written["artnet_sync"] = tuple(ArtSyncTo(*to) for to in written["artnet_sync"])
    return Plan(**written)


def _written(output: Sacn | ArtNet) -> dict[str, Any]:
    # A large house has thousands of outputs, nearly all of them alike: what is usual is left out.
    by = "sacn" if isinstance(output, Sacn) else "artnet"
    values = {field.name: (getattr(output, field.name), field.default) for field in fields(output)}
    return {"by": by} | {name: value for name, (value, usual) in values.items() if value != usual}


@lru_cache(2 * MOST_UNIVERSES)
def _universe_to_json(planned: UniversePlan) -> str:
    outputs = [_written(output) for output in planned.outputs]
    return _dumped(
        {field.name: getattr(planned, field.name) for field in fields(planned)} | {"outputs": outputs}
    )


# Of a plan that is edited nearly all universes stay: they are neither read nor checked again, in a process
# that has others to send meanwhile.
@lru_cache(2 * MOST_UNIVERSES)
def _universe(text: str) -> UniversePlan:
    entries = json.loads(text)
    outputs = tuple(_output(dict(entry)) for entry in entries["outputs"])
    ranges = tuple((first, last) for first, last in entries["off_limits"])
    return UniversePlan(**(entries | {"outputs": outputs, "off_limits": ranges}))


def _output(entry: dict[str, Any]) -> Sacn | ArtNet:
    return Sacn(**entry) if entry.pop("by") == "sacn" else ArtNet(**entry)


def _dumped(values: dict[str, Any]) -> str:
    return json.dumps(values, separators=(",", ":"))


def _refuse_host(host: str) -> None:
    # A name would have to be looked up, and a look-up can hold the output up for seconds.
    if int(ipaddress.IPv4Address(host)) == 0:
        raise ValueError(f"{host} is no address to send to.")


def _refuse_universe(universe: int) -> None:
    if not 1 <= universe <= LAST_UNIVERSE:
        raise ValueError(f"Universe {universe} is not 1 to {LAST_UNIVERSE}.")


def _refuse_hz(hz: float) -> None:
    if not 1 <= hz <= MOST_HZ:
        raise ValueError(f"{hz} packets a second are not 1 to {MOST_HZ:g}.")


def _refuse_port(port: int) -> None:
    if not 1 <= port <= 65535:
        raise ValueError(f"Port {port} is not 1 to 65535.")
