"""Art-Net nodes as people see them: one device with its ports, from the pages it answers with."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby

from server.net.nodes import Node
from server.wire.artnet import PollReply, port_address_from_parts

__all__ = ["Device", "Port", "devices"]

# Art-Net 4, ArtPollReply: PortTypes, GoodInput, GoodOutputA, Status3.
_IS_OUTPUT, _IS_INPUT = 0x80, 0x40
_DATA, _SHORT, _ERRORS, _MERGES, _LATEST, _SACN = 0x80, 0x04, 0x04, 0x08, 0x02, 0x01
_CAN_FAIL_OVER = 0x20
_FAILSAFE = ("hold", "zero", "full", "scene")


@dataclass(frozen=True, slots=True)
class Port:
    """A socket of a node: an output to fixtures, or an input that it sends on from.

    number: on the page `bind_index`, from 1. has_data: levels come through now. merges: an output that hears
    a second source. latest: it shows the newest of two sources, not the higher level. has_fault: an output
    that is short-circuited, an input with errors. by_sacn: an output that follows sACN instead, an input
    that is sent on as sACN.
    """

    bind_index: int
    number: int
    is_output: bool
    port_address: int
    has_data: bool = False
    merges: bool = False
    latest: bool = False
    has_fault: bool = False
    by_sacn: bool = False


@dataclass(frozen=True, slots=True)
class Device:
    """A node. mac: as text, "" where it gives none. says_ip: the address in its reply.

    firmware: its two octets as it gives them. failsafe: what its outputs do when nothing comes any more
    (`hold`, `zero`, `full`, `scene`), None where it does not say. seen_s: monotonic seconds.
    """

    host: str
    mac: str
    name: str
    long_name: str
    says_ip: str
    firmware: str
    report: str
    failsafe: str | None
    seen_s: float
    lost: bool
    pages: frozenset[int]
    ports: tuple[Port, ...]

    @property
    def outputs(self) -> frozenset[int]:
        """Port-Addresses that it turns into DMX512 by what comes as Art-Net."""
        return frozenset(port.port_address for port in self.ports if port.is_output and not port.by_sacn)


def devices(pages: Iterable[Node]) -> list[Device]:
    """The devices of these pages, in their order: those of one address and MAC are one."""
    by_device = groupby(sorted(pages, key=_device), key=_device)
    return sorted((_made(list(own)) for _, own in by_device), key=lambda one: _by_number(one.host))


def _device(page: Node) -> tuple[str, bytes]:
    return page.host, page.reply.mac


def _made(pages: list[Node]) -> Device:
    pages.sort(key=lambda page: page.bind_index)
    newest = max(pages, key=lambda page: page.seen_s)
    here = [page for page in pages if page.lost == newest.lost]  # a port that is gone is none any more
    root = here[0].reply
    return Device(
        newest.host,
        ":".join(f"{octet:02x}" for octet in root.mac) if any(root.mac) else "",
        root.port_name or root.long_name,
        root.long_name,
        root.ip,
        f"{root.firmware >> 8}.{root.firmware & 255}",
        newest.reply.node_report,
        _FAILSAFE[root.status3 >> 6] if root.status3 & _CAN_FAIL_OVER else None,
        newest.seen_s,
        newest.lost,
        frozenset(page.bind_index for page in here),
        tuple(port for page in here for port in _ports(page.bind_index, page.reply)),
    )


def _ports(bind_index: int, reply: PollReply) -> Iterator[Port]:
    for at, kind in enumerate(reply.port_types):
        if kind & _IS_OUTPUT:
            good, address = reply.good_output[at], _address(reply, reply.sw_out[at])
            marks = (good & _DATA, good & _MERGES, good & _LATEST, good & _SHORT, good & _SACN)
            yield Port(bind_index, at + 1, True, address, *map(bool, marks))
        if kind & _IS_INPUT:
            good, address = reply.good_input[at], _address(reply, reply.sw_in[at])
            marks = (good & _DATA, 0, 0, good & _ERRORS, good & _SACN)
            yield Port(bind_index, at + 1, False, address, *map(bool, marks))


def _address(reply: PollReply, switch: int) -> int:
    return port_address_from_parts(reply.net, reply.sub_net, switch & 15)


def _by_number(host: str) -> tuple[int, ...]:
    return tuple(int(part) for part in host.split("."))
