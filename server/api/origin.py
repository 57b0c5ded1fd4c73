"""Which names this server answers to, and which site a request comes from."""

import ipaddress
import socket
from collections.abc import Collection

__all__ = ["is_loopback", "is_ours", "names_here", "same_site"]


def names_here(given: Collection[str]) -> frozenset[str]:
    """The names of this machine, and those given in the settings, in small letters."""
    return frozenset(name.lower().rstrip(".") for name in (socket.gethostname(), *given) if name)


def is_ours(host: str, names: Collection[str]) -> bool:
    """Whether a Host header names this server: an address, a name of this machine, localhost or NAME.local.

    A page of another site may let its own name lead to this machine and is then, for the browser, one with us
    (DNS rebinding). It cannot do so with an address, nor with a name that only the own network gives.
    """
    name = _name_of(host)
    if name in names or name == "localhost" or name.endswith((".local", ".localhost")):
        return True
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def is_loopback(host: str) -> bool:
    """Whether a Host header names the machine that the browser itself runs on."""
    name = _name_of(host)
    if name == "localhost" or name.endswith(".localhost"):
        return True
    try:
        return ipaddress.ip_address(name).is_loopback
    except ValueError:
        return False


def same_site(origin: str, host: str) -> bool:
    """Whether an Origin header (RFC 6454, 7) names the page of ours that is served at `host`."""
    return bool(host) and origin.lower() in (f"http://{host.lower()}", f"https://{host.lower()}")


def _name_of(host: str) -> str:
    """The name in "name:port", an IPv6 address without its brackets."""
    if host.startswith("["):
        return host[1:].partition("]")[0]
    return host.partition(":")[0].rstrip(".").lower()
