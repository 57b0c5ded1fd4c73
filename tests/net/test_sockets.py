"""Sharing a UDP port on one machine."""

import socket

import pytest

from server.net.sockets import open_shared

__all__: list[str] = []


def test_two_programs_can_have_one_port() -> None:
    with open_shared(0) as first, open_shared(first.getsockname()[1]) as second:
        assert first.getsockname() == second.getsockname()


def test_a_port_somebody_has_alone_is_refused() -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as alone:
        alone.bind(("127.0.0.1", 0))
        with pytest.raises(OSError, match="in use"):
            open_shared(alone.getsockname()[1])


def test_ipv6_has_a_socket_of_its_own_on_the_same_port() -> None:
    with open_shared(0) as four, open_shared(four.getsockname()[1], family=socket.AF_INET6) as six:
        port = four.getsockname()[1]
        assert six.getsockname()[1] == port
        for family, host, ear in ((socket.AF_INET, "127.0.0.1", four), (socket.AF_INET6, "::1", six)):
            ear.settimeout(5)
            with socket.socket(family, socket.SOCK_DGRAM) as mouth:
                mouth.sendto(host.encode(), (host, port))
            assert ear.recv(100) == host.encode()


def test_a_broadcast_on_loopback_is_heard() -> None:
    with open_shared(0) as ear, open_shared(0) as mouth:
        ear.settimeout(5)
        mouth.sendto(b"anybody", ("127.255.255.255", ear.getsockname()[1]))
        assert ear.recv(100) == b"anybody"
