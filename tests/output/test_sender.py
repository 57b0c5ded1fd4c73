"""The sockets of the output process: what goes wrong is said in words, and mended when it can be."""

import socket
import sys
from collections.abc import Iterator

import pytest

from server.net.sockets import open_shared
from server.output.batch import batch_of
from server.output.sender import Sender

__all__: list[str] = []

NOT_OURS = "192.0.2.77"  # RFC 5737: an address of documentation, which no machine has


@pytest.fixture
def sender() -> Iterator[Sender]:
    made = Sender()
    yield made
    made.close()


def test_an_interface_that_is_not_there_is_said_and_nothing_leaves_by_another(sender: Sender) -> None:
    sender.use(NOT_OURS)
    assert sender.words == "The chosen network interface is not there any more."
    assert sender.broken
    batch = batch_of([(bytearray(b"level"), ("127.0.0.1", 9))])
    assert list(sender.send_sacn(batch, 0, 1)) == [0]


def test_an_interface_that_comes_back_is_used_again(sender: Sender) -> None:
    sender.use(NOT_OURS)
    sender.rebuild()
    still_broken = sender.broken
    sender.use("127.0.0.1")
    assert (still_broken, sender.broken) == (True, False)
    batch = batch_of([(bytearray(b"level"), ("239.255.0.1", 9))])
    assert list(sender.send_sacn(batch, 0, 1)) == []


def test_a_host_that_cannot_be_reached_is_named(sender: Sender) -> None:
    batch = batch_of([(bytearray(b"level"), ("127.255.255.255", 9))])
    assert list(sender.send_sacn(batch, 0, 1)) == [0]
    assert "127.255.255.255" in sender.words
    assert not sender.broken, "another socket would not help"
    sender.words = ""
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
