"""Joining multicast groups, on loopback only."""

import socket
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from server.net.groups import Groups
from server.net.sockets import open_shared
from tests.networks import own_network

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


def test_by_ipv6_the_same_groups_are_joined_by_the_number_of_an_interface() -> None:
    with own_network() as network, open_shared(0, family=socket.AF_INET6) as hearing:
        network.add("rig")
        network.give_ipv6("rig-far", "fe80::9/64")
        groups = Groups(hearing)
        groups.follow(range(300, 350), socket.if_nametoindex("rig"))
        assert groups.missing is None
        assert heard_by_ipv6(hearing, range(298, 352)) == set(range(300, 350))
        groups.follow(range(345, 352), socket.if_nametoindex("rig"))
        assert heard_by_ipv6(hearing, range(340, 360)) == set(range(345, 352))
        groups.follow(range(345, 352), None)
        assert heard_by_ipv6(hearing, range(340, 360)) == set()
        groups.follow([345], 77)  # nobody's number
        before = groups.missing
        groups.follow([345], socket.if_nametoindex("rig"))
        assert (before is None, groups.missing) == (False, None)
        assert heard_by_ipv6(hearing, range(340, 360)) == {345}
        groups.close()


def heard_by_ipv6(hearing: socket.socket, universes: range) -> set[int]:
    """The same, sent in at the other end of the cable."""
    port, far = hearing.getsockname()[1], socket.if_nametoindex("rig-far")
    hearing.settimeout(5)
    with socket.socket(socket.AF_INET6, socket.SOCK_DGRAM) as sending:
        sending.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_MULTICAST_IF, far)
        sending.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_MULTICAST_LOOP, 0)  # at the near end only
        for universe in universes:
            # E1.31-2018, Table 9-12: ff 18, ten times 00, 83 00, and the universe.
            octets = bytes.fromhex("ff18 00000000000000000000 8300") + universe.to_bytes(2, "big")
            group = socket.inet_ntop(socket.AF_INET6, octets)
            sending.sendto(universe.to_bytes(2, "big"), (group, port))
        # The group of all nodes (RFC 4291, 2.7.1), which every interface is in.
        sending.sendto(b"end", ("ff02::1", port))
    arrived = set()
    while (packet := hearing.recv(100)) != b"end":
        arrived.add(int.from_bytes(packet, "big"))
    return arrived


def test_an_interface_that_is_not_ours_is_told_and_tried_again(hearing: socket.socket) -> None:
    groups = Groups(hearing)
    groups.follow([41_200], "192.0.2.77")  # RFC 5737: an address of documentation
    before = groups.missing
    groups.follow([41_200], "127.0.0.1")
    assert (before is None, groups.missing) == (False, None)
    assert heard(hearing, range(41_200, 41_201)) == {41_200}
    groups.close()
