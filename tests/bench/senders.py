"""Everybody who sends here for comparison: the output process, a C loop, and packages of others.

    python -m tests.bench.senders [NAME UNIVERSES PORT]

Each sends so many universes of 512 changing slots, 44 times a second, to a port on loopback, until it is
ended. Where a package keeps no time of its own, it is called by a loop with absolute deadlines. Who makes the
levels is in the same process there; with ours it is what stands for the web side, and not counted.
"""

import asyncio
import importlib
import importlib.util
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from server.output.link import Output
from server.output.plan import Plan, Sacn, UniversePlan
from tests.bench.show import table

__all__ = ["FLOOR", "HZ", "OURS", "Sender", "floor", "known", "main", "under_fire"]

HZ = 44
_CID = "ef07c8dd-0064-4401-a3a2-459ef8e6143e"
OURS, FLOOR, _UNDER_FIRE = "ours", "C sendto", "ours under fire"
_FLOOR = r"""
#include <arpa/inet.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <time.h>
int main(int argc, char **argv) {
    int universes = atoi(argv[1]);
    int out = socket(AF_INET, SOCK_DGRAM, 0);
    struct sockaddr_in to = {.sin_family = AF_INET, .sin_port = htons(atoi(argv[2]))};
    inet_pton(AF_INET, "127.0.0.1", &to.sin_addr);
    static unsigned char packets[1024][638];
    struct timespec due;
    for (int i = 0; i < universes; i++) {
        packets[i][113] = (i + 1) >> 8;
        packets[i][114] = i + 1;
    }
    clock_gettime(CLOCK_MONOTONIC, &due);
    for (unsigned char level = 0;; level++) {
        for (int i = 0; i < universes; i++) {
            packets[i][111]++;
            memset(packets[i] + 126, level, 512);
            sendto(out, packets[i], 638, 0, (struct sockaddr *)&to, sizeof to);
        }
        due.tv_nsec += 22727273;
        if (due.tv_nsec >= 1000000000) { due.tv_nsec -= 1000000000; due.tv_sec++; }
        clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &due, 0);
    }
}
"""
_NODE = """
const { Sender } = require("sacn");
const [universes, port] = process.argv.slice(1).map(Number);
const senders = Array.from({ length: universes }, (_, n) =>
  new Sender({ universe: n + 1, port, useUnicastDestination: "127.0.0.1" }));
let level = 0, due = performance.now();
const frame = () => {
  level = (level + 1) % 256;
  const payload = Object.fromEntries(Array.from({ length: 512 }, (_, n) => [n + 1, level]));
  for (const sender of senders) sender.send({ payload, sourceName: "bench", useRawDmxValues: true });
  due += 1000 / 44;
  setTimeout(frame, Math.max(0, due - performance.now()));
};
frame();
"""


@dataclass(frozen=True, slots=True)
class Sender:
    """Somebody who can be told to send. command: without universes and port. missing: why not, here."""

    name: str
    command: tuple[str, ...] = ()
    missing: str = ""

    @contextmanager
    def sending(self, universes: int, port: int) -> Iterator[int]:
        """It sends; the number of the process that does."""
        words = [*self.command, str(universes), str(port)]
        child = subprocess.Popen(words, stdout=subprocess.PIPE, text=True, start_new_session=True)
        try:
            if self.name not in (OURS, _UNDER_FIRE):
                yield child.pid
                return
            assert child.stdout is not None
            yield int(child.stdout.readline())
        finally:
            child.terminate()
            child.communicate()


def _frames() -> Iterator[bytes]:
    """The 512 levels of each frame, when it is due; what is late is left out."""
    due, level = time.monotonic(), 0
    while True:
        level = (level + 1) % 256
        yield bytes([level]) * 512
        due = max(due + 1 / HZ, time.monotonic() - 1 / HZ)
        time.sleep(max(0.0, due - time.monotonic()))


async def _each_frame(send: Callable[[bytes], None]) -> None:
    due, level, loop = time.monotonic(), 0, asyncio.get_running_loop()
    while True:
        level = (level + 1) % 256
        send(bytes([level]) * 512)
        due = max(due + 1 / HZ, loop.time() - 1 / HZ)
        await asyncio.sleep(max(0.0, due - loop.time()))


def _busy(universes: int, port: int) -> None:
    """The web side never comes to rest: all that a handler that runs away would do."""
    with _output(universes, port):
        while True:
            sum(range(1000))


def _ours(universes: int, port: int) -> None:
    with _output(universes, port) as output:
        for levels in _frames():
            for n in range(1, universes + 1):
                output.write(n, levels)
            output.wake()
            output.beat()


@contextmanager
def _output(universes: int, port: int) -> Iterator[Output]:
    signal.signal(signal.SIGTERM, lambda *_: sys.exit())
    with tempfile.TemporaryDirectory() as folder:
        output = Output.start(Path(folder))
        try:
            to = (Sacn("127.0.0.1", port),)
            planned = tuple(UniversePlan(n, to, steady=True) for n in range(1, universes + 1))
            output.set_plan(Plan(_CID, "bench", None, planned))
            for n in range(1, universes + 1):
                output.write(n, bytes([n % 256]) * 512)
            output.wake()
            print(output.pid, flush=True)
            yield output
        finally:
            output.end()


def _sacn(universes: int, port: int) -> None:

    patched: Any = importlib.import_module("sacn.sending.sender_socket_udp")
    patched.DEFAULT_PORT = port
    sender = importlib.import_module("sacn").sACNsender(
        bind_address="127.0.0.1", bind_port=0, fps=HZ, universeDiscovery=False
    )
    for n in range(1, universes + 1):
        sender.activate_output(n)
        sender[n].destination = "127.0.0.1"
    sender.start()
    for levels in _frames():  # it repeats unchanged levels once a second only
        for n in range(1, universes + 1):
            sender[n].dmx_data = tuple(levels)


def _stupidartnet(universes: int, port: int) -> None:
    made = importlib.import_module("stupidArtnet").StupidArtnet
    nodes = [made("127.0.0.1", n, 512, HZ, port=port) for n in range(universes)]
    for node in nodes:
        node.start()
    for levels in _frames():
        for node in nodes:
            node.set(bytearray(levels))


def _pyartnet(universes: int, port: int) -> None:
    async def run() -> None:
        async with importlib.import_module("pyartnet").ArtNetNode.create(
            "127.0.0.1", port, max_fps=HZ
        ) as node:
            channels = [node.add_universe(n).add_channel(1, 512) for n in range(universes)]

            def send(levels: bytes) -> None:
                for channel in channels:
                    channel.set_values(levels)

            await _each_frame(send)

    asyncio.run(run())


def _aioartnet(universes: int, port: int) -> None:
    package: Any = importlib.import_module("aioartnet.client")
    package.ARTNET_PORT = 0  # where it listens: nothing here is for it

    async def run() -> None:
        client = package.ArtNetClient(passive=True)  # it polls nobody
        client.unicast_ip = client.broadcast_ip = client.listen_ip = "127.0.0.1"
        await client.connect()
        here = package.ArtNetNode("bench", "bench", 0, "127.0.0.1", port)
        ours = [client.set_port_config(n, is_input=True) for n in range(universes)]
        for each in ours:
            each.subscribers.append(here)

        def send(levels: bytes) -> None:
            for each in ours:
                each.set_dmx(levels)

        await _each_frame(send)

    asyncio.run(run())


_HERE: dict[str, tuple[str, Callable[[int, int], None]]] = {
    OURS: ("server", _ours),
    "sacn (PyPI)": ("sacn", _sacn),
    "aioartnet": ("aioartnet", _aioartnet),
    "pyartnet": ("pyartnet", _pyartnet),
    "stupidArtnet": ("stupidArtnet", _stupidartnet),
}


def floor(folder: Path) -> Sender:
    """The C loop, compiled into that folder."""
    compiler = shutil.which("cc") or shutil.which("gcc")
    if compiler is None:
        return Sender(FLOOR, missing="no C compiler")
    program = folder / "floor"
    program.with_suffix(".c").write_text(_FLOOR)
    subprocess.run([compiler, "-O2", "-o", program, program.with_suffix(".c")], check=True)
    return Sender(FLOOR, (str(program),))


def known(folder: Path) -> list[Sender]:
    """Ours, the floor, and every peer, also those that are not here."""
    found = []
    for name, (module, _) in _HERE.items():
        here = importlib.util.find_spec(module) is not None
        command = (sys.executable, "-m", "tests.bench.senders", name)
        found.append(
            Sender(name, command, "" if here else "not installed: the extra `bench` of pyproject.toml has it")
        )
    return [found[0], floor(folder), found[1], _npm(), *found[2:]]


def under_fire() -> Sender:
    """Ours beside a web side that burns its processor."""
    return Sender(_UNDER_FIRE, (sys.executable, "-m", "tests.bench.senders", _UNDER_FIRE))


def _npm() -> Sender:
    node, name = shutil.which("node"), "sacn (npm)"
    if node is None:
        return Sender(name, missing="no Node")
    if not any(Path(each, "sacn").is_dir() for each in os.environ.get("NODE_PATH", "").split(os.pathsep)):
        return Sender(name, missing="not in NODE_PATH")
    return Sender(name, (node, "-e", _NODE, "--"))


def main() -> None:
    """Send; or, told nothing, print who could be measured here."""
    if sys.argv[1:]:
        does = _busy if sys.argv[1] == _UNDER_FIRE else _HERE[sys.argv[1]][1]
        does(int(sys.argv[2]), int(sys.argv[3]))
        return
    with tempfile.TemporaryDirectory() as folder:
        table(("sender", ""), [(sender.name, sender.missing or "here") for sender in known(Path(folder))])


if __name__ == "__main__":
    main()
