"""A server of its own with a rig of any size, phones that drag, and what both processes cost."""

import asyncio
import contextlib
import itertools
import json
import os
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import AsyncIterator, Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import websockets

from tests.arrivals import ear

__all__ = ["PER_UNIVERSE", "Cost", "Phone", "Show", "running", "table"]

PER_UNIVERSE = 16  # 26-slot moving spots; 256 universes of them are as many fixtures as a rig may hold
_numbers = itertools.count()  # nobody in a show is called as somebody else
ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True, slots=True)
class Cost:
    """Processor time in seconds and resident memory in MB, both processes. 0 where /proc is missing."""

    server_s: float
    output_s: float
    server_mb: float
    output_mb: float

    @property
    def memory_mb(self) -> float:
        """Both together."""
        return self.server_mb + self.output_mb


@dataclass(slots=True)
class Phone:
    """One connected page. acks: seconds from asking to the answer."""

    socket: websockets.ClientConnection
    acks: list[float] = field(default_factory=list)
    seen: dict[tuple[str, float], float] = field(default_factory=dict)
    refused: list[str] = field(default_factory=list)
    _asked: dict[int, float] = field(default_factory=dict)
    _n: int = 0

    async def ask(self, **message: object) -> None:
        """Send one message; `listen` takes the answer down."""
        self._n += 1
        self._asked[self._n] = time.perf_counter()
        await self.socket.send(json.dumps({**message, "n": self._n}))

    @property
    def unanswered(self) -> int:
        """How many questions are on their way."""
        return len(self._asked)

    def answered(self, n: int) -> float:
        """Take an answer down; returns when it was asked for."""
        return self._asked.pop(n)

    async def listen(self, watch: bool = False) -> None:
        """Read until closed; watch: note when each level of each fixture was first told."""
        with contextlib.suppress(websockets.ConnectionClosed):
            async for text in self.socket:
                now, message = time.perf_counter(), json.loads(text)
                if message["is"] in ("ok", "refused"):
                    self.acks.append(now - self._asked.pop(message["n"], now))
                    if message["is"] == "refused":
                        self.refused.append(message["why"])
                elif watch and message["is"] == "change":
                    for fixture, change in (message.get("fixtures") or {}).items():
                        level = ((change or {}).get("values") or {}).get("Pan")
                        if level is not None:
                            self.seen.setdefault((fixture, level), now)


@dataclass(frozen=True, slots=True)
class Show:
    """Where the server listens, where levels arrive, and its fixtures: id by universe, in address order."""

    port: int
    wire: socket.socket
    token: str
    fixtures: dict[int, list[str]]
    server_pid: int
    folder: Path

    @contextlib.asynccontextmanager
    async def phones(self, count: int) -> AsyncIterator[list[Phone]]:
        """So many connected phones of as many people, past their hello."""
        tokens = [_join(self.port, f"Hand {next(_numbers)}") for _ in range(count)]
        urls = [f"ws://127.0.0.1:{self.port}/api/live?token={token}" for token in tokens]
        sockets = [await websockets.connect(url, max_size=None, compression=None) for url in urls]
        for each in sockets:
            await each.recv()
        try:
            yield [Phone(each) for each in sockets]
        finally:
            await asyncio.gather(*(each.close() for each in sockets))

    def call(self, path: str, body: object = None) -> "dict":  # type: ignore[type-arg]
        """Ask over HTTP as the lead: POST when there is a body."""
        return _call(self.port, path, body, self.token)

    @property
    def output_pid(self) -> int:
        """The output process's number."""
        return _output_pid(self.folder)

    def cost(self) -> Cost:
        """What has been used so far."""
        output = self.output_pid
        return Cost(_cpu_s(self.server_pid), _cpu_s(output), _memory_mb(self.server_pid), _memory_mb(output))


@contextlib.contextmanager
def running(universes: int, steady: Iterable[int] = (), more: tuple[str, ...] = ()) -> Iterator[Show]:
    """A server with so many universes of moving spots, sending to a socket here.

    steady: those that leave 44 times a second, whether anything changes or not. more: further options.
    """
    with tempfile.TemporaryDirectory() as folder, ear() as wire:
        rig = Path(folder) / "rig.csv"
        rig.write_text(_rig(universes))
        (Path(folder) / "settings.toml").write_text(f"steady = {list(steady)}\n")
        port = _free_port()
        to = f"127.0.0.1:{wire.getsockname()[1]}"
        options = f"--port {port} --host 127.0.0.1 --interface 127.0.0.1 --sacn-to {to} --lead-pin 1111"
        command = [
            sys.executable,
            "-m",
            "server",
            *options.split(),
            "--data",
            folder,
            "--rig",
            str(rig),
            *("--listen", "0"),
            *more,
        ]
        process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL)
        try:
            _wait(port)
            token = _join(port, "Bench")
            fixtures: dict[int, list[str]] = {}
            for unit in _call(port, "/api/fixtures", token=token):
                fixtures.setdefault(unit["universe"], []).append(unit["id"])
            yield Show(port, wire, token, fixtures, process.pid, Path(folder))
        finally:
            process.terminate()
            process.wait(15)


def table(heads: tuple[str, ...], rows: list[tuple[object, ...]]) -> None:
    """Print a table, numbers to the right."""
    cells = [heads, *([f"{c:.2f}" if isinstance(c, float) else str(c) for c in row] for row in rows)]
    widths = [max(len(str(row[at])) for row in cells) for at in range(len(heads))]
    for row in cells:
        print("  ".join(str(cell).rjust(width) for cell, width in zip(row, widths, strict=True)))


def _rig(universes: int) -> str:
    lines = ["Position,Unit,Channel,Profile,Mode,Universe,Address"]
    for universe in range(1, universes + 1):
        for unit in range(PER_UNIVERSE):
            channel = (universe - 1) * PER_UNIVERSE + unit + 1
            address = unit * 26 + 1
            lines.append(
                f"Bar {universe},{unit + 1},{channel},moving-spot-cmy,26-slot 16 bit,{universe},{address}"
            )
    return "\n".join(lines)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def _wait(port: int) -> None:
    for _ in range(300):
        with contextlib.suppress(OSError):
            _call(port, "/api/health")
            return
        time.sleep(0.05)
    raise RuntimeError("the server did not come up")


def _call(port: int, path: str, body: object = None, token: str = "") -> "dict":  # type: ignore[type-arg]
    data = None if body is None else json.dumps(body).encode()
    headers = {"Content-Type": "application/json", "Authorization": f"Bearer {token}"}
    request = urllib.request.Request(f"http://127.0.0.1:{port}{path}", data, headers)
    with urllib.request.urlopen(request, timeout=10) as answer:  # noqa: S310 (our own server)
        found: dict = json.load(answer)  # type: ignore[type-arg]
        return found


def _join(port: int, name: str) -> str:
    return str(_call(port, "/api/join", {"name": name, "pin": "1111"})["token"])


def _output_pid(folder: Path) -> int:
    for entry in Path("/proc").glob("[0-9]*/cmdline"):
        with contextlib.suppress(OSError):
            words = entry.read_bytes().split(b"\0")
            if b"server.output" in words and any(str(folder).encode() in word for word in words):
                return int(entry.parent.name)
    return 0


def _cpu_s(pid: int) -> float:
    with contextlib.suppress(OSError):
        fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
    return 0.0


def _memory_mb(pid: int) -> float:
    with contextlib.suppress(OSError):
        lines = Path(f"/proc/{pid}/status").read_text().splitlines()
        return next(int(line.split()[1]) / 1024 for line in lines if line.startswith("VmRSS"))
    return 0.0
