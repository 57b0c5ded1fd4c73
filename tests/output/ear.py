"""What the tests of the output need: an ear on loopback, a plan for it, and a web side that can be killed."""

import socket
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from itertools import pairwise
from pathlib import Path

from server.output.plan import Plan, Sacn, UniversePlan
from server.wire import artnet, e131

__all__ = ["CID", "DIM", "ENOUGH_S", "FULL", "Ear", "kill", "plan", "sequences_run_on", "web_side"]

CID = "ef07c8dd-0064-4401-a3a2-459ef8e6143e"
DIM, FULL = bytes([1]) * 512, bytes([255]) * 512
ENOUGH_S = 10.0


class Ear:
    """A receiver on loopback that remembers everything it heard, with the kernel's time of arrival."""

    def __init__(self) -> None:
        self._socket = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        self._socket.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 1 << 22)
        self._socket.bind(("127.0.0.1", 0))
        self.port: int = self._socket.getsockname()[1]
        self.heard: list[bytes] = []

    def until(self, satisfied: Callable[[], bool]) -> None:
        """Listen until `satisfied`; fails after ten seconds."""
        deadline = time.monotonic() + ENOUGH_S
        self._socket.settimeout(0.02)
        while not satisfied():
            assert time.monotonic() < deadline, f"heard {len(self.heard)} packets and waited for more"
            with suppress(TimeoutError):
                self.heard.append(self._socket.recv(2000))

    def until_silent(self, seconds: float) -> None:
        """Listen until nothing came for so long."""
        self._socket.settimeout(seconds)
        with suppress(TimeoutError):
            while True:
                self.heard.append(self._socket.recv(2000))

    def data(self, universe: int = 1) -> list[e131.Data]:
        packets = [e131.decode(packet) for packet in self.heard if packet.startswith(b"\0\x10")]
        return [packet for packet in packets if isinstance(packet, e131.Data) and packet.universe == universe]

    def levels(self) -> list[artnet.Dmx]:
        packets = [artnet.decode(packet) for packet in self.heard if packet.startswith(b"Art-Net")]
        return [packet for packet in packets if isinstance(packet, artnet.Dmx)]

    def close(self) -> None:
        self._socket.close()


def plan(ear: Ear, *universes: int, steady: bool = False) -> Plan:
    return Plan(
        CID, "Test", None, tuple(UniversePlan(n, (Sacn("127.0.0.1", ear.port),), steady) for n in universes)
    )


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
