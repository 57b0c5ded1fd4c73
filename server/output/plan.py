"""What the output process is to do: who we are, which universes go where, which slots stay at 0."""

import ipaddress
import json
import uuid
from dataclasses import asdict, dataclass
from typing import Any, Literal

from server.wire.artnet import LAST_PORT_ADDRESS
from server.wire.artnet import PORT as ARTNET_PORT
from server.wire.e131 import LAST_UNIVERSE, MAX_PRIORITY
from server.wire.e131 import PORT as SACN_PORT

__all__ = ["MOST_UNIVERSES", "ArtNet", "Plan", "Sacn", "UniversePlan", "from_json", "to_json"]

MOST_UNIVERSES = 1024  # what the shared map has room for

WhenAlone = Literal["hold", "end"]


@dataclass(frozen=True, slots=True)
class Sacn:
    """Send by sACN: to the universe's multicast group when host is None, else to that IPv4 address."""

    host: str | None = None
    port: int = SACN_PORT
    priority: int = 100

    def __post_init__(self) -> None:
        if self.host is not None:
            _refuse_host(self.host)
        _refuse_port(self.port)
        if not 0 <= self.priority <= MAX_PRIORITY:
            raise ValueError(f"Priority {self.priority} is not 0 to {MAX_PRIORITY}.")


@dataclass(frozen=True, slots=True)
class ArtNet:
    """Send by Art-Net to an IPv4 address (a node's, or an interface's directed broadcast when asked for)."""

    host: str
    port: int = ARTNET_PORT
    port_address: int = 0

    def __post_init__(self) -> None:
        _refuse_host(self.host)
        _refuse_port(self.port)
        if not 0 <= self.port_address <= LAST_PORT_ADDRESS:
            raise ValueError(f"Port-Address {self.port_address} is not 0 to {LAST_PORT_ADDRESS}.")


@dataclass(frozen=True, slots=True)
class UniversePlan:
    """One universe, 1-63999.

    steady: 44 packets a second all the time, for receivers that want it so.
    off_limits: (first, last) slots, 1-512, both included, which leave as 0 whatever the picture says.
    """

    universe: int
    outputs: tuple[Sacn | ArtNet, ...]
    steady: bool = False
    off_limits: tuple[tuple[int, int], ...] = ()

    def __post_init__(self) -> None:
        if not 1 <= self.universe <= LAST_UNIVERSE:
            raise ValueError(f"Universe {self.universe} is not 1 to {LAST_UNIVERSE}.")
        for first, last in self.off_limits:
            if not 1 <= first <= last <= 512:
                raise ValueError(f"Slots {first} to {last} are not a range within 1 to 512.")
        targets = [(type(out), out.host, out.port, getattr(out, "port_address", 0)) for out in self.outputs]
        if len(set(targets)) < len(targets):
            raise ValueError(f"Universe {self.universe} goes to one place twice.")


@dataclass(frozen=True, slots=True)
class Plan:
    """Everything the output process is told. cid: a UUID's text; interface: an IPv4 address of ours, or None.

    when_alone: what happens when the web side is gone; hold the last picture for ever, or end the streams.
    """

    cid: str
    source_name: str
    interface: str | None
    universes: tuple[UniversePlan, ...]
    when_alone: WhenAlone = "hold"

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
        ports = [out for planned in self.universes for out in planned.outputs if isinstance(out, ArtNet)]
        if len(set(ports)) < len(ports):
            # Two pictures in turn on one port would flicker, and their sequence numbers would be one mess.
            raise ValueError("Two universes go to the same Port-Address of one node.")


def to_json(plan: Plan) -> bytes:
    """The plan as JSON; each output says which protocol it is."""
    written = asdict(plan)
    for planned, fields in zip(plan.universes, written["universes"], strict=True):
        for output, entry in zip(planned.outputs, fields["outputs"], strict=True):
            entry["by"] = "sacn" if isinstance(output, Sacn) else "artnet"
    return json.dumps(written, separators=(",", ":")).encode()


def from_json(text: bytes) -> Plan:
    """The plan that `to_json` wrote.

    Raises ValueError: not JSON, or values a plan refuses. Raises KeyError or TypeError: not a plan.
    """
    written = json.loads(text)
    return Plan(**(written | {"universes": tuple(_universe(fields) for fields in written["universes"])}))


def _universe(fields: dict[str, Any]) -> UniversePlan:
    outputs = tuple(_output(dict(entry)) for entry in fields["outputs"])
    ranges = tuple((first, last) for first, last in fields["off_limits"])
    return UniversePlan(**(fields | {"outputs": outputs, "off_limits": ranges}))


def _output(entry: dict[str, Any]) -> Sacn | ArtNet:
    return Sacn(**entry) if entry.pop("by") == "sacn" else ArtNet(**entry)


def _refuse_host(host: str) -> None:
    # A name would have to be looked up, and a look-up can hold the output up for seconds.
    if int(ipaddress.IPv4Address(host)) == 0:
        raise ValueError(f"{host} is no address to send to.")


def _refuse_port(port: int) -> None:
    if not 1 <= port <= 65535:
        raise ValueError(f"Port {port} is not 1 to 65535.")
