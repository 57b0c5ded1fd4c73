"""The sockets of the output process: what goes wrong is said in words, and mended when it can be."""

import socket
import sys
from collections.abc import Iterator

import pytest

from server.net.sockets import open_shared
from server.output.batch import batch_of
from server.output.sender import Sender
from server.output.trouble import GONE, MULTICAST

__all__: list[str] = []

NOT_OURS = "192.0.2.77"  # RFC 5737: an address of documentation, which no machine has


@pytest.fixture
def sender() -> Iterator[Sender]:
    made = Sender()
    yield made
    made.close()


GROUP = ("239.255.0.1", 9)


def test_without_its_interface_no_multicast_leaves_by_another_and_given_machines_get_theirs(
    sender: Sender,
) -> None:
    sender.use(NOT_OURS)
    assert sender.failed == {(GONE, MULTICAST)}
    assert sender.broken
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as machine:
        machine.bind(("127.0.0.1", 0))
        machine.settimeout(5)
        batch = batch_of([(bytearray(b"level"), to) for to in (GROUP, machine.getsockname(), GROUP)])
        assert list(sender.send_sacn(batch, 0, 3)) == [0, 2]
        assert machine.recv(100) == b"level"


def test_an_interface_that_comes_back_is_used_again(sender: Sender) -> None:
    sender.use(NOT_OURS)
    assert not sender.rebuild()
    still_broken = sender.broken
    assert sender.use("127.0.0.1")
    assert not sender.use("127.0.0.1"), "it is the same"
    assert (still_broken, sender.broken, sender.waits) == (True, False, False)
    batch = batch_of([(bytearray(b"level"), GROUP)])
    assert list(sender.send_sacn(batch, 0, 1)) == []


def test_a_host_that_cannot_be_reached_is_named(sender: Sender) -> None:
    batch = batch_of([(bytearray(b"level"), ("127.255.255.255", 9))])
    assert list(sender.send_sacn(batch, 0, 1)) == [0]
    assert {host for _, host in sender.failed} == {"127.255.255.255"}
    assert not sender.broken, "another socket would not help"
    sender.failed.clear()
    assert list(sender.send_artnet(batch, 0, 1)) == [], "Art-Net may be broadcast when asked for"


def free_port() -> int:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.bind(("", 0))
        port: int = probe.getsockname()[1]
        return port


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere the output leaves the Art-Net port alone")
def test_art_net_leaves_from_its_port_and_whoever_binds_later_hears_what_is_sent_there() -> None:
    # Art-Net 4, Protocol Operation: source and destination are the same port.
    port = free_port()
    sender = Sender(port)
    with open_shared(port) as polling, socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as node:
        assert source_port(sender, node) == port
        assert hears(polling, node, port)
    sender.close()


def test_a_port_somebody_has_is_left_alone_and_levels_leave_all_the_same() -> None:
    with open_shared(0) as polling, socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as node:
        port = polling.getsockname()[1]
        sender = Sender(port)
        assert source_port(sender, node) != port
        assert hears(polling, node, port)
        sender.close()


def source_port(sender: Sender, node: socket.socket) -> int:
    """The port a packet of Art-Net comes from, as the node sees it."""
    node.bind(("127.0.0.1", 0))
    node.settimeout(5)
    sender.send_artnet(batch_of([(bytearray(b"level"), node.getsockname())]), 0, 1)
    port: int = node.recvfrom(100)[1][1]
    return port


def hears(polling: socket.socket, node: socket.socket, port: int) -> bool:
    """Whether what the node sends to the port arrives where it is waited for."""
    polling.settimeout(5)
    node.sendto(b"reply", ("127.0.0.1", port))
    return polling.recv(100) == b"reply"
