"""What the tests of the output need: an ear on loopback, a plan for it, and a web side that can be killed."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from itertools import pairwise
from pathlib import Path

from server.output.link import Output
from server.output.plan import Plan, Sacn, UniversePlan
from server.wire import artnet, e131
from tests.stamped import STAMPED, receiver, stamp_of

__all__ = ["CID", "DIM", "ENOUGH_S", "FULL", "Ear", "at_once", "kill", "plan", "sequences_run_on", "web_side"]

CID = "ef07c8dd-0064-4401-a3a2-459ef8e6143e"
DIM, FULL = bytes([1]) * 512, bytes([255]) * 512
ENOUGH_S = 60.0


class Ear:
    """A receiver on loopback that remembers everything it heard.

    times: when each came, in seconds; by the kernel's clock where it tells.
    """

    def __init__(self, host: str = "127.0.0.1", port: int = 0) -> None:
        self._socket = receiver(host, port)
        self.port: int = self._socket.getsockname()[1]
        self.heard: list[bytes] = []
        self._read: list[object] = []
        self.times: list[float] = []
        self.senders: list[tuple[str, int]] = []

    def until(self, satisfied: Callable[[], bool]) -> None:
        """Listen until `satisfied`; fails after a minute."""
        deadline = time.monotonic() + ENOUGH_S
        while not satisfied():
            assert time.monotonic() < deadline, f"heard {len(self.heard)} packets and waited for more"
            with suppress(TimeoutError):
                self._hear(0.02)

    def until_silent(self, seconds: float) -> None:
        """Listen until nothing came for so long."""
        with suppress(TimeoutError):
            while True:
                self._hear(seconds)

    def until_nothing(self) -> None:
        """Take all that is here already."""
        with suppress(BlockingIOError):
            while True:
                self._hear(0)

    def _hear(self, timeout_s: float) -> None:
        self._socket.settimeout(timeout_s)
        if STAMPED:
            octets, told, _, sender = self._socket.recvmsg(2000, 64)
            at = stamp_of(told)
        else:
            octets, sender = self._socket.recvfrom(2000)
            at = time.monotonic()
        self.heard.append(octets)
        self._read.append(_read(octets))
        self.times.append(at)
        self.senders.append(sender)

    def apart(self, universe: int = 1) -> list[float]:
        """Seconds between one packet of a universe's levels and the next."""
        wanted = [
            at
            for packet, at in zip(self._read, self.times, strict=True)
            if isinstance(packet, e131.Data) and (packet.universe, packet.start_code) == (universe, 0)
        ]
        return [after - before for before, after in pairwise(wanted)]

    def data(self, universe: int = 1) -> list[e131.Data]:
        return [
            packet for packet in self._read if isinstance(packet, e131.Data) and packet.universe == universe
        ]

    def ended(self, universe: int = 1) -> bool:
        """Whether the three packets that end it are here."""
        return sum(packet.terminated for packet in self.data(universe)) == 3

    def syncs(self) -> list[e131.Sync]:
        return [packet for packet in self._read if isinstance(packet, e131.Sync)]

    def levels(self) -> list[artnet.Dmx]:
        return [packet for packet in self._read if isinstance(packet, artnet.Dmx)]

    def close(self) -> None:
        self._socket.close()


def _read(octets: bytes) -> object:
    if octets.startswith(b"\0\x10"):
        return e131.decode(octets)
    return artnet.decode(octets) if octets.startswith(b"Art-Net") else None


def plan(ear: Ear, *universes: int, steady: bool = False) -> Plan:
    return Plan(
        CID, "Test", None, tuple(UniversePlan(n, (Sacn("127.0.0.1", ear.port),), steady) for n in universes)
    )


def at_once(output: Output, pictures: dict[int, bytes], each: bytes = b"") -> None:
    """Write all while the process stands still, so that it never looks between two of them, and wake it.

    each: priorities of their slots.
    """
    stops = hasattr(signal, "SIGSTOP")
    if stops:
        os.kill(output.pid, signal.SIGSTOP)
        os.waitpid(output.pid, os.WUNTRACED)
    try:
        for universe, picture in pictures.items():
            output.write(universe, picture, each)
    finally:
        if stops:
            os.kill(output.pid, signal.SIGCONT)
    output.wake()


def sequences_run_on(packets: list[e131.Data]) -> bool:
    return all((b.sequence - a.sequence) % 256 == 1 for a, b in pairwise(packets))


WEB_SIDE = """
import sys, time
from pathlib import Path
from server.output.link import Output
from server.output.plan import Plan, Sacn, UniversePlan
output = Output.start(Path(sys.argv[1]))
saturated = sys.argv[4:] == ["saturated"]
planned = (UniversePlan(1, (Sacn("127.0.0.1", int(sys.argv[2])),), steady=True),)
output.set_plan(Plan("ef07c8dd-0064-4401-a3a2-459ef8e6143e", "Test", None, planned, sys.argv[3]))
output.write(1, bytes([1]) * 512)
output.wake()
print("up", flush=True)
began = time.monotonic()
while saturated and time.monotonic() - began < 60:
    sum(range(1000))  # no pause, no turn of any loop: all that a runaway handler would do
time.sleep(60)
"""


def web_side(folder: Path, ear: Ear, *how: str) -> "subprocess.Popen[str]":
    """Another process as the web side; it writes one picture and then does nothing at all.

    how: "hold" (the default) or "end" when alone; then "saturated" to burn its processor instead.
    """
    child = subprocess.Popen(
        [sys.executable, "-c", WEB_SIDE, str(folder), str(ear.port), *(how or ("hold",))],
        stdout=subprocess.PIPE,
        text=True,
        cwd=Path(__file__).parents[2],
    )
    assert child.stdout is not None
    assert child.stdout.readline() == "up\n"
    return child


def kill(child: "subprocess.Popen[str]") -> None:
    child.kill()
    child.communicate()
