"""The networks this machine is on, and which of them the rig most likely hangs on."""

import ipaddress
import socket
import struct
import sys
from collections.abc import Sequence
from dataclasses import dataclass, field

import ifaddr

__all__ = ["Choice", "Interface", "choose", "reachable", "read_interfaces", "towards"]

# Networks inside this machine: containers, virtual machines, tunnels. Names by common practice, no source.
_INSIDE = (
    "br-",
    "bridge",
    "docker",
    "tap",
    "tun",
    "utun",
    "vbox",
    "veth",
    "vethernet",
    "virbr",
    "vmnet",
    "wg",
)
_WIRELESS = ("wl", "wi-fi", "wifi", "wireless")  # likewise
_ARTNET_NETWORKS = (ipaddress.ip_network("2.0.0.0/8"), ipaddress.ip_network("10.0.0.0/8"))


@dataclass(frozen=True, slots=True)
class Interface:
    """One IPv4 address of this machine.

    prefix: bits of its network, 0-32. is_up: the cable is in or the Wi-Fi joined, as far as the system says.
    index: the system's number of it, which IPv6 names it by; 0: not known. ipv6: what the same adapter has of
    IPv6, each address with its prefix; none: nothing is heard or sent by IPv6 there.
    """

    name: str
    address: str
    prefix: int
    is_up: bool = True
    index: int = field(default=0, compare=False)
    ipv6: tuple[str, ...] = field(default=(), compare=False)

    @property
    def broadcast(self) -> str:
        """The directed broadcast address of its network."""
        return str(ipaddress.IPv4Interface(f"{self.address}/{self.prefix}").network.broadcast_address)

    def reaches(self, host: str) -> bool:
        """Whether that address is on its network: IPv4, or IPv6 as it is told of senders (fe80::9%2)."""
        address, _, zone = host.partition("%")
        if zone:  # link-local: it says by itself where it was heard (RFC 4007, 11.2)
            return zone in (self.name, str(self.index))
        if ":" not in address:
            own = ipaddress.IPv4Interface(f"{self.address}/{self.prefix}").network
            return ipaddress.IPv4Address(address) in own
        wanted = ipaddress.IPv6Address(address)
        return any(wanted in ipaddress.IPv6Interface(each).network for each in self.ipv6)

    @property
    def is_loopback(self) -> bool:
        """Reaches this machine only."""
        return ipaddress.IPv4Address(self.address).is_loopback

    @property
    def is_self_given(self) -> bool:
        """An address of 169.254, which a machine gives itself when nobody gives it one (RFC 3927)."""
        return ipaddress.IPv4Address(self.address).is_link_local

    def __str__(self) -> str:
        return f"{self.address} ({self.name})"


@dataclass(frozen=True, slots=True)
class Choice:
    """The interface to use, and what a person should know about it. None: there is not even a loopback."""

    interface: Interface | None
    warnings: tuple[str, ...] = ()


def read_interfaces() -> list[Interface]:
    """Every IPv4 address this machine has now, in the system's order. May block for some milliseconds."""
    return [
        Interface(
            adapter.nice_name,
            str(ip.ip),
            ip.network_prefix,
            _is_up(adapter.nice_name),
            adapter.index or 0,
            tuple(f"{six.ip[0]}/{six.network_prefix}" for six in adapter.ips if six.is_IPv6),
        )
        for adapter in ifaddr.get_adapters()
        for ip in adapter.ips
        if ip.is_IPv4
    ]


def towards(host: str) -> str | None:
    """Which of our addresses leads to that IPv4 address; None: none does. Nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as any_socket:
        try:
            any_socket.connect((host, 9))  # RFC 863's port; any would do
        except OSError:
            return None
        ours: str = any_socket.getsockname()[0]
        return ours


def reachable(found: Sequence[Interface], host: str) -> list[Interface]:
    """Where phones reach a page that is served on `host`, the likeliest first; none: on no network now.

    0.0.0.0 is every network of this machine. Networks inside this machine, and addresses nobody gave it,
    count only when there is nothing else.
    """
    served = [each for each in found if host in ("0.0.0.0", each.address)]  # noqa: S104
    outside = [each for each in served if each.is_up and not each.is_loopback]
    likely = [each for each in outside if not (_is_inside(each) or each.is_self_given)]
    return sorted(likely or outside, key=lambda each: not _is_wireless(each))


def choose(found: Sequence[Interface], wanted: str | None = None) -> Choice:
    """Pick the interface for levels. wanted: an address somebody asked for, which wins when it is there."""
    outside = sorted((each for each in found if not each.is_loopback), key=_unlikeliness)
    likely = next(iter(outside or found), None)
    if wanted is not None:
        asked = next((each for each in found if each.address == wanted), None)
        if asked is None:
            return Choice(likely, (_not_here(wanted, found), *_about(likely, outside, asked_for=True)))
        return Choice(asked, _about(asked, outside, asked_for=True))
    return Choice(likely, _about(likely, outside, asked_for=False))


def _about(chosen: Interface | None, outside: Sequence[Interface], asked_for: bool) -> tuple[str, ...]:
    warnings = []
    if not outside:
        warnings.append(
            "This machine is on no network: nothing it sends reaches a fixture. "
            "Plug the cable in or join the Wi-Fi, and start again."
        )
    elif chosen is not None and chosen.is_loopback:
        warnings.append(f"{chosen.address} is this machine itself: nothing it sends there reaches a fixture.")
    if chosen is not None and chosen.is_self_given:
        warnings.append(
            f"{chosen} is an address this machine gave itself because nobody gave it one. "
            "Give it one by hand that fits the network of the nodes."
        )
    if chosen is not None and len(outside) > 1 and not asked_for:
        others = ", ".join(str(each) for each in outside if each != chosen)
        warnings.append(
            f"This machine is on several networks. Levels leave by {chosen}; the others are {others}. "
            "Choose with --interface."
        )
    return tuple(warnings)


def _not_here(wanted: str, found: Sequence[Interface]) -> str:
    has = ", ".join(str(each) for each in found) or "none at all"
    return f"{wanted} is not an address of this machine now. It has {has}."


def _is_inside(interface: Interface) -> bool:
    return interface.name.lower().startswith(_INSIDE)


def _is_wireless(interface: Interface) -> bool:
    name = interface.name.lower()
    return name.startswith(_WIRELESS) or any(word in name for word in _WIRELESS[1:])


def _is_up(name: str) -> bool:
    """Whether packets can come and go there. Windows takes the addresses away instead."""
    if sys.platform == "win32":
        return True
    import fcntl

    ask = 0x8913 if sys.platform == "linux" else 0xC0206911  # SIOCGIFFLAGS, there and on BSD and macOS
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as any_socket:
        try:
            told = fcntl.ioctl(any_socket.fileno(), ask, struct.pack("16s24x", name.encode()[:15]))
        except OSError:
            return True  # the system does not say
    (flags,) = struct.unpack_from("H", told, 16)
    return bool(flags & 0x1 and flags & 0x40)  # IFF_UP and IFF_RUNNING, the same on both


def _unlikeliness(interface: Interface) -> tuple[bool, bool, bool, bool]:
    address = ipaddress.IPv4Address(interface.address)
    return (
        not interface.is_up,
        _is_inside(interface),
        interface.is_self_given,
        # Nodes come with addresses of these two networks (Art-Net 4, Controller Default Poll).
        not any(address in network for network in _ARTNET_NETWORKS),
    )
