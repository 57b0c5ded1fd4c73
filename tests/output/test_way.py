"""The sockets of the output process: what goes wrong is said in words, and mended when it can be."""

import socket
import struct
import sys
from collections.abc import Iterator
from contextlib import ExitStack

import pytest

from server.net.sockets import open_shared
from server.output.batch import batch_of
from server.output.place import ART_NET, By, plain_sacn
from server.output.trouble import GONE, MULTICAST
from server.output.way import Way
from server.wire import e131
from tests.networks import own_network
from tests.output.ear import Ear
from tests.ports import free_port

__all__: list[str] = []

NOT_OURS = "192.0.2.77"  # RFC 5737: an address of documentation, which no machine has
GROUP = ("239.255.0.1", 9)


@pytest.fixture
def failed() -> set[tuple[str, str]]:
    return set()


@pytest.fixture
def machine() -> Iterator[socket.socket]:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as made:
        made.bind(("127.0.0.1", 0))
        made.settimeout(5)
        yield made


def test_without_its_interface_no_multicast_leaves_by_another_and_given_machines_get_theirs(
    failed: set[tuple[str, str]], machine: socket.socket
) -> None:
    way = Way(plain_sacn(NOT_OURS), failed)
    assert failed == {(GONE, MULTICAST)}
    assert way.broken
    batch = batch_of([(bytearray(b"level"), to) for to in (GROUP, machine.getsockname(), GROUP)])
    assert list(way.send(batch, 0, 3)) == [0, 2]
    assert machine.recv(100) == b"level"
    assert not way.rebuild()
    assert (way.broken, way.waits) == (True, True)
    way.close()


def test_an_interface_that_is_there_sends_multicast(failed: set[tuple[str, str]]) -> None:
    way = Way(plain_sacn("127.0.0.1"), failed)
    assert list(way.send(batch_of([(bytearray(b"level"), GROUP)]), 0, 1)) == []
    assert not failed
    way.close()


@pytest.mark.parametrize("protocol", ["sacn", "artnet"])
def test_what_is_bound_to_an_interface_that_is_gone_leaves_by_none(
    failed: set[tuple[str, str]], machine: socket.socket, protocol: str
) -> None:
    by = By("sacn" if protocol == "sacn" else "artnet", NOT_OURS, bound=True)
    way = Way(by, failed)
    batch = batch_of([(bytearray(b"level"), machine.getsockname())])
    assert list(way.send(batch, 0, 1)) == [0]
    assert {words for words, _ in failed} == {GONE}
    assert (way.broken, way.waits, way.port) == (True, True, 0)
    way.close()


@pytest.mark.parametrize("protocol", ["sacn", "artnet"])
def test_what_is_bound_leaves_from_that_address_and_is_back_when_the_address_is(protocol: str) -> None:
    failed: set[tuple[str, str]] = set()
    with own_network() as network, ExitStack() as bound:
        heard = bound.enter_context(socket.socket(socket.AF_INET, socket.SOCK_DGRAM))
        network.add("one", "10.9.0.5/24")
        heard.bind(("", 0))
        heard.settimeout(5)
        batch = batch_of([(bytearray(b"level"), ("10.9.0.5", heard.getsockname()[1]))])
        network.add("two", "10.8.0.5/24")
        way = Way(By("sacn" if protocol == "sacn" else "artnet", "10.8.0.5", bound=True), failed)
        bound.callback(way.close)
        assert list(way.send(batch, 0, 1)) == []
        assert heard.recvfrom(100)[1][0] == "10.8.0.5"
        network.take("two", "10.8.0.5/24")
        assert list(way.send(batch, 0, 1)) == [0]
        assert way.broken
        assert not way.rebuild()
        assert GONE in {words for words, _ in failed}
        assert list(way.send(batch, 0, 1)) == [0], "nothing leaves by the other interface"
        network.give("two", "10.8.0.5/24")
        assert way.rebuild()
        assert list(way.send(batch, 0, 1)) == []
        assert heard.recvfrom(100)[1][0] == "10.8.0.5"


def test_multicast_by_ipv6_leaves_by_the_interface_of_that_number_and_comes_back_here_too() -> None:
    failed: set[tuple[str, str]] = set()
    with own_network() as network, ExitStack() as bound:
        network.add("rig")
        network.give_ipv6("rig", "fd00::5/64")
        number = socket.if_nametoindex("rig")
        heard = bound.enter_context(socket.socket(socket.AF_INET6, socket.SOCK_DGRAM))
        heard.bind(("", 5568))
        # E1.31-2018, Table 9-12: universe 7962 is ff 18, ten times 00, 83 00 1f 1a.
        group = bytes.fromhex("ff18 00000000000000000000 8300 1f1a")
        heard.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_JOIN_GROUP, group + struct.pack("@I", number))
        heard.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_RECVHOPLIMIT, 1)
        heard.settimeout(5)
        way = Way(By("sacn", ipv6=number), failed)
        bound.callback(way.close)
        batch = batch_of([(bytearray(b"level"), (e131.multicast_address_v6(7962), 5568))])
        assert list(way.send(batch, 0, 1)) == []
        octets, told, _, sender = heard.recvmsg(100, 64)
        assert (octets, sender[0]) == (b"level", "fd00::5")
        assert [int.from_bytes(value, sys.byteorder) for _, _, value in told] == [8]
        network.remove("rig")
        assert list(way.send(batch, 0, 1)) == [0]
        assert not way.rebuild()
        assert (way.broken, way.waits) == (True, True)
        assert GONE in {words for words, _ in failed}


def test_a_host_that_cannot_be_reached_is_named(failed: set[tuple[str, str]]) -> None:
    batch = batch_of([(bytearray(b"level"), ("127.255.255.255", 9))])
    way = Way(plain_sacn(None), failed)
    assert list(way.send(batch, 0, 1)) == [0]
    assert {host for _, host in failed} == {"127.255.255.255"}
    assert not way.broken, "another socket would not help"
    way.close()
    art = Way(ART_NET, failed)
    assert list(art.send(batch, 0, 1)) == [], "Art-Net may be broadcast when asked for"
    art.close()


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere the output leaves the Art-Net port alone")
def test_art_net_leaves_from_its_port_and_whoever_binds_later_hears_what_is_sent_there(
    failed: set[tuple[str, str]],
) -> None:
    # Art-Net 4, Protocol Operation: source and destination are the same port.
    port = free_port()
    way = Way(ART_NET, failed, port)
    with open_shared(port) as polling, socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as node:
        assert source_port(way, node) == way.port == port
        assert hears(polling, node, port)
        beside = Way(By("artnet", "127.0.0.1", bound=True), failed, way.port)
        assert hears(polling, node, port), "a socket for one interface gets no answers meant for who polls"
        ear = Ear()
        beside.send_once(bytearray(b"level"), [("127.0.0.1", ear.port)])
        ear.until(lambda: ear.heard == [b"level"])
        assert ear.senders == [("127.0.0.1", port)], "and it is known as ours by the same port"
        ear.close()
        beside.close()
    way.close()


def test_a_port_somebody_has_is_left_alone_and_levels_leave_all_the_same(
    failed: set[tuple[str, str]],
) -> None:
    with open_shared(0) as polling, socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as node:
        port = polling.getsockname()[1]
        way = Way(ART_NET, failed, port)
        assert source_port(way, node) != port
        assert hears(polling, node, port)
        way.close()


def source_port(way: Way, node: socket.socket) -> int:
    """The port a packet of Art-Net comes from, as the node sees it."""
    node.bind(("127.0.0.1", 0))
    node.settimeout(5)
    way.send(batch_of([(bytearray(b"level"), node.getsockname())]), 0, 1)
    port: int = node.recvfrom(100)[1][1]
    return port


def hears(polling: socket.socket, node: socket.socket, port: int) -> bool:
    """Whether what the node sends to the port arrives where it is waited for."""
    polling.settimeout(5)
    node.sendto(b"reply", ("127.0.0.1", port))
    return polling.recv(100) == b"reply"
