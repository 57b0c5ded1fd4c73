"""Captures for tshark, and what it reads in them.

Written for tshark 4.0.17. It shows sACN only with both switches below, names the synchronisation address
`acn.dmx.reserved`, and does not decode synchronisation and discovery packets at all.
"""

import socket
import struct
import subprocess
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest

from tests.needs import program
from tests.servers import ENOUGH_S

__all__ = ["capture_file", "caught", "fields"]

SACN = ("--enable-heuristic", "acn", "-o", "acn.dmx_enable:TRUE")


def capture_file(path: Path, packets: Sequence[tuple[bytes, int]]) -> Path:
    """Write packets, each with its UDP port, as a file of raw IPv4 (libpcap format, link type 101)."""
    content = struct.pack("<IHHiIII", 0xA1B2C3D4, 2, 4, 0, 0, 65535, 101)
    loopback = socket.inet_aton("127.0.0.1")
    for payload, port in packets:
        udp = struct.pack(">HHHH", port, port, 8 + len(payload), 0) + payload
        ip = struct.pack(">BBHHHBBH4s4s", 0x45, 0, 20 + len(udp), 0, 0, 8, 17, 0, loopback, loopback)
        content += struct.pack("<IIII", 0, 0, len(ip + udp), len(ip + udp)) + ip + udp
    path.write_bytes(content)
    return path


def fields(source: Sequence[str], *names: str) -> list[list[str]]:
    """What tshark finds in these fields, a list of texts for each packet."""
    command = [
        program("tshark"),
        "-n",
        *source,
        *SACN,
        "-T",
        "fields",
        "-E",
        "separator=/t",
        "-E",
        "occurrence=a",
    ]
    for name in names:
        command += ["-e", name]
    done = subprocess.run(command, capture_output=True, text=True, check=True, timeout=ENOUGH_S)
    return [line.split("\t") for line in done.stdout.splitlines()]


def caught(path: Path, packets: str, count: int, begin: Callable[[], object], interface: str = "lo") -> Path:
    """What tshark catches on loopback after `begin`: `count` packets of this capture filter."""
    watch = subprocess.Popen(
        [program("tshark"), "-n", "-i", interface, "-f", packets, "-c", str(count), "-w", str(path)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert watch.stderr is not None
    try:
        if not any(line.startswith("Capturing") for line in watch.stderr):
            pytest.skip("this machine does not let tshark capture")
        deadline = time.monotonic() + ENOUGH_S
        while not (path.exists() and path.stat().st_size):  # written once it really listens
            assert time.monotonic() < deadline
            time.sleep(0.01)
        begin()
        watch.communicate(timeout=ENOUGH_S)
    finally:
        watch.kill()
        watch.wait()
        watch.stderr.close()
    return path
