"""A network of a test's own, with real interfaces that come and go; nothing in it reaches any other."""

import ctypes
import os
import socket
import struct
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

__all__ = ["Interfaces", "own_network"]

CLONE_NEWNET = 0x40000000  # linux/sched.h


class Interfaces:
    """The interfaces of a network namespace, changed by `ip` as a person's cable or Wi-Fi changes them."""

    def add(self, name: str, *addresses: str) -> None:
        """A cable between two sockets of this machine, both ends in it: `name` and `name`-far."""
        self.ip(f"link add {name} type veth peer name {name}-far")
        self.ip(f"link set {name} up")
        self.ip(f"link set {name}-far up")
        for address in addresses:
            self.give(name, address)

    def give(self, name: str, address: str) -> None:
        """One more address, such as 10.9.0.5/24."""
        self.ip(f"addr add {address} broadcast + dev {name}")

    def take(self, name: str, address: str) -> None:
        """That address is gone."""
        self.ip(f"addr del {address} dev {name}")

    def pull(self, name: str) -> None:
        """The cable is out: the interface is there with its address, and nothing comes through."""
        self.ip(f"link set {name}-far down")

    def plug(self, name: str) -> None:
        """The cable is in again."""
        self.ip(f"link set {name}-far up")

    def arrive(self, name: str, sender: str, group: str, port: int, sent: bytes) -> None:
        """Have a datagram come in by that interface, from a machine that is not this one."""
        addresses = socket.inet_aton(sender) + socket.inet_aton(group)
        udp = struct.pack(">HHHH", 50_000, port, 8 + len(sent), 0) + sent  # RFC 768: no checksum
        head = struct.pack(">BBHHHBBH", 0x45, 0, 20 + len(udp), 1, 0, 8, 17, 0)  # RFC 791
        words = sum(struct.unpack(">10H", head + addresses))
        words = (words & 0xFFFF) + (words >> 16)
        head = head[:10] + struct.pack(">H", ~((words & 0xFFFF) + (words >> 16)) & 0xFFFF)
        to = bytes.fromhex("01005e") + bytes([addresses[5] & 127]) + addresses[6:]  # RFC 1112, 6.4
        with socket.socket(socket.AF_PACKET, socket.SOCK_RAW) as far:
            far.bind((f"{name}-far", 0))
            far.send(to + bytes.fromhex("020000000009") + b"\x08\x00" + head + addresses + udp)

    def remove(self, name: str) -> None:
        """The whole adapter is gone."""
        self.ip(f"link del {name}")

    def ip(self, words: str) -> None:
        """Call `ip`; skips the test where this kind of interface cannot be made."""
        done = subprocess.run(["ip", *words.split()], capture_output=True, text=True, check=False)
        if done.returncode and words.startswith("link add"):
            pytest.skip(f"no interfaces can be made here: {done.stderr.strip()}")
        assert done.returncode == 0, f"ip {words}: {done.stderr}"


@contextmanager
def own_network() -> Iterator[Interfaces]:
    """Be alone on a network with only a loopback: this thread and all it starts from now on.

    Skips the test where that is not permitted or not possible.
    """
    if sys.platform != "linux" or os.geteuid() != 0:
        pytest.skip("a network of one's own takes Linux, and root")
    libc = ctypes.CDLL(None, use_errno=True)
    before = os.open("/proc/thread-self/ns/net", os.O_RDONLY)
    try:
        if libc.unshare(CLONE_NEWNET) != 0:
            pytest.skip(f"no network of one's own here: {os.strerror(ctypes.get_errno())}")
        try:
            interfaces = Interfaces()
            interfaces.ip("link set lo up")
            yield interfaces
        finally:
            assert libc.setns(before, CLONE_NEWNET) == 0, os.strerror(ctypes.get_errno())
    finally:
        os.close(before)
