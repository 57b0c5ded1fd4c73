"""Joining multicast groups, on loopback only."""

import socket
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from server.net.groups import Groups
from server.net.sockets import open_shared

__all__: list[str] = []


@contextmanager
def mouth() -> Iterator[socket.socket]:
    """Sends multicast on loopback, and no further than this machine."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as made:
        made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_IF, socket.inet_aton("127.0.0.1"))
        made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_TTL, 0)
        yield made


@pytest.fixture
def hearing() -> Iterator[socket.socket]:
    with open_shared(0) as made:
        yield made


def heard(hearing: socket.socket, universes: range) -> set[int]:
    """Which of these universes arrive, told from those that do not by one that comes last, by unicast."""
    port = hearing.getsockname()[1]
    with mouth() as sending:
        for universe in universes:
            # E1.31-2018, 9.3.1: 239.255.UHI.ULO
            sending.sendto(universe.to_bytes(2, "big"), (f"239.255.{universe // 256}.{universe % 256}", port))
        sending.sendto(b"end", ("127.0.0.1", port))
    hearing.settimeout(5)
    arrived = set()
    while (packet := hearing.recv(100)) != b"end":
        arrived.add(int.from_bytes(packet, "big"))
    return arrived


def test_the_groups_of_the_universes_are_heard_and_no_others(hearing: socket.socket) -> None:
    groups = Groups(hearing)
    # More than the twenty that Linux allows one socket; numbers that no other test uses.
    groups.follow(range(41_000, 41_050), "127.0.0.1")
    assert groups.missing is None
    assert heard(hearing, range(40_998, 41_052)) == set(range(41_000, 41_050))
    groups.follow(range(41_045, 41_052), "127.0.0.1")
    assert heard(hearing, range(41_040, 41_060)) == set(range(41_045, 41_052))
    groups.close()
    assert heard(hearing, range(41_040, 41_060)) == set()


def test_an_interface_that_is_away_takes_its_groups_and_brings_them_back(hearing: socket.socket) -> None:
    groups = Groups(hearing)
    groups.follow([41_100], "127.0.0.1")
    groups.follow([41_100], None)
    assert heard(hearing, range(41_100, 41_101)) == set()
    groups.follow([41_100], "127.0.0.1")
    assert heard(hearing, range(41_100, 41_101)) == {41_100}
    groups.close()


def test_an_interface_that_is_not_ours_is_told_and_tried_again(hearing: socket.socket) -> None:
    groups = Groups(hearing)
    groups.follow([41_200], "192.0.2.77")  # RFC 5737: an address of documentation
    before = groups.missing
    groups.follow([41_200], "127.0.0.1")
    assert (before is None, groups.missing) == (False, None)
    assert heard(hearing, range(41_200, 41_201)) == {41_200}
    groups.close()
