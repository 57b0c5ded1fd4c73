"""A network of a test's own, with real interfaces that come and go; nothing in it reaches any other."""

import ctypes
import os
import socket
import struct
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.needs import lacking, program

__all__ = ["Interfaces", "own_network"]

_ENOUGH_S = 60.0  # for anything that should take a moment, on a busy machine
CLONE_NEWNET = 0x40000000  # linux/sched.h


class Interfaces:
    """The interfaces of a network namespace, changed by `ip` as a person's cable or Wi-Fi changes them."""

    def add(self, name: str, *addresses: str) -> None:
        """A cable between two sockets of this machine, both ends in it: `name` and `name`-far."""
        self.ip(f"link add {name} type veth peer name {name}-far")
        for end in (name, f"{name}-far"):
            self.ip(f"link set {end} up")
        self._until(name, "UP")
        for address in addresses:
            self.give(name, address)

    def give(self, name: str, address: str) -> None:
        """One more address, such as 10.9.0.5/24."""
        self.ip(f"addr add {address} broadcast + dev {name}")

    def give_ipv6(self, name: str, address: str) -> None:
        """One more address of IPv6, such as fe80::9/64, at once; skips the test where there is none of it."""
        if not socket.has_ipv6 or not Path("/proc/net/if_inet6").exists():
            lacking("this machine has no IPv6")
        self.ip(f"-6 addr add {address} dev {name} nodad")
        deadline = time.monotonic() + _ENOUGH_S
        while address.partition("/")[0] not in self.ip(f"-6 route show table local dev {name}"):
            assert time.monotonic() < deadline, self.ip("-6 route show table local")
            time.sleep(0.005)

    def switch_off_ipv6(self, name: str) -> None:
        """No IPv6 there any more, not even an address that it gives itself."""
        Path(f"/proc/sys/net/ipv6/conf/{name}/disable_ipv6").write_text("1")

    def take(self, name: str, address: str) -> None:
        """That address is gone."""
        self.ip(f"addr del {address} dev {name}")

    def pull(self, name: str) -> None:
        """The cable is out: the interface is there with its address, and nothing comes through."""
        self.ip(f"link set {name}-far down")
        self._until(name, "LOWERLAYERDOWN")

    def plug(self, name: str) -> None:
        """The cable is in again."""
        self.ip(f"link set {name}-far up")
        self._until(name, "UP")

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

    def _until(self, name: str, state: str) -> None:
        """Wait for the system to notice, which it does in its own time, with its own lock."""
        deadline = time.monotonic() + _ENOUGH_S
        for end in (name, f"{name}-far") if state == "UP" else (name,):
            while f"state {state} " not in self.ip(f"-o link show dev {end}"):
                assert time.monotonic() < deadline, self.ip("link show")
                time.sleep(0.005)
            if state == "UP":
                self.ip(f"link set {end} up")  # so it waits for the lock, and what was noticed is done

    def ip(self, words: str) -> str:
        """Call `ip`, and what it says; skips the test where this kind of interface cannot be made."""
        done = subprocess.run([program("ip"), *words.split()], capture_output=True, text=True, check=False)
        if done.returncode and words.startswith("link add"):
            lacking(f"no interfaces can be made here: {done.stderr.strip()}")
        assert done.returncode == 0, f"ip {words}: {done.stderr}"
        return done.stdout


@contextmanager
def own_network() -> Iterator[Interfaces]:
    """Be alone on a network with only a loopback: this thread and all it starts from now on.

    Skips the test where that is not permitted or not possible, or fails it where everything is required.
    """
    if sys.platform != "linux" or os.geteuid() != 0:
        lacking("a network of one's own takes Linux, and root")
    libc = ctypes.CDLL(None, use_errno=True)
    before = os.open("/proc/thread-self/ns/net", os.O_RDONLY)
    try:
        if libc.unshare(CLONE_NEWNET) != 0:
            lacking(f"no network of one's own here: {os.strerror(ctypes.get_errno())}")
        try:
            interfaces = Interfaces()
            interfaces.ip("link set lo up")
            yield interfaces
        finally:
            assert libc.setns(before, CLONE_NEWNET) == 0, os.strerror(ctypes.get_errno())
    finally:
        os.close(before)
