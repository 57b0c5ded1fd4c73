"""Sending many packets: both ways of doing it send the same, and go on after one that does not leave."""

import errno
import socket
import sys
from collections.abc import Callable, Sequence

import pytest

from server.output.batch import Address, Batch, OneByOne, OneCall, batch_of

__all__: list[str] = []

KINDS = [OneByOne, *([OneCall] if sys.platform == "linux" else [])]
Make = Callable[[Sequence[tuple[bytearray, Address]]], Batch]


@pytest.mark.parametrize("make", KINDS)
def test_a_span_arrives_in_order_and_nothing_else_does(make: Make) -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as by, socket.socket(type=socket.SOCK_DGRAM) as ear:
        ear.bind(("127.0.0.1", 0))
        packets = [bytearray(b"packet %d" % number) for number in range(5)]
        batch = make([(packet, ear.getsockname()) for packet in packets])
        packets[2][0:1] = b"P"
        assert batch.send(by, 1, 4) == []
        ear.settimeout(5)
        assert [ear.recv(100) for _ in range(3)] == [b"packet 1", b"Packet 2", b"packet 3"]
        ear.setblocking(False)
        with pytest.raises(BlockingIOError):
            ear.recv(100)


@pytest.mark.parametrize("make", KINDS)
def test_packets_that_do_not_leave_are_named_and_the_others_leave(make: Make) -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as by, socket.socket(type=socket.SOCK_DGRAM) as ear:
        ear.bind(("127.0.0.1", 0))
        ear.settimeout(5)
        good, bad = ear.getsockname(), ("127.255.255.255", 9)  # broadcast, which this socket may not do
        batch = make([(bytearray([place]), to) for place, to in enumerate((bad, good, bad, bad, good, bad))])
        failed = batch.send(by, 0, 6)
        assert [place for place, _ in failed] == [0, 2, 3, 5]
        assert {why.errno for _, why in failed} == {errno.EACCES}
        assert [ear.recv(10) for _ in range(2)] == [b"\1", b"\4"]


@pytest.mark.parametrize("make", KINDS)
def test_packets_reach_an_address_of_ipv6(make: Make) -> None:
    try:
        ear = socket.socket(socket.AF_INET6, socket.SOCK_DGRAM)
        ear.bind(("::1", 0))
    except OSError as why:
        pytest.skip(f"this machine has no IPv6: {why}")
    with ear, socket.socket(socket.AF_INET6, socket.SOCK_DGRAM) as by:
        ear.settimeout(5)
        batch = make([(bytearray(b"one"), ("::1", ear.getsockname()[1])), (bytearray(b"two"), ("::1", 0))])
        assert [(place, why.errno) for place, why in batch.send(by, 0, 2)] == [(1, errno.EINVAL)]
        assert ear.recvfrom(100)[:1] == (b"one",)


def test_the_cheapest_kind_is_taken() -> None:
    assert type(batch_of([])) is KINDS[-1]


def test_an_empty_span_sends_nothing() -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as by:
        assert batch_of([]).send(by, 0, 0) == []
