"""What one sACN packet costs: the output process beside a C sendto loop and the sacn package's sender.

    python -m tests.bench.packet_cost [SECONDS]

Every sender sends full universes at 44 Hz to a loopback port whose queue is full: the kernel does its work up
to there and drops, so no receiver is measured. CPU is user and system time of the sending process, in the
middle of its run, for each packet it sent. At few universes most of it is waking up 44 times a second.
"""

import shutil
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from server.output.link import Output
from server.output.plan import Plan, Sacn, UniversePlan

__all__ = ["main"]

_CID = "ef07c8dd-0064-4401-a3a2-459ef8e6143e"
_UNIVERSES = (16, 64, 256)
_HZ = 44

_FLOOR = r"""
#include <arpa/inet.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <time.h>
int main(int argc, char **argv) {
    int universes = atoi(argv[1]);
    int out = socket(AF_INET, SOCK_DGRAM, 0);
    struct sockaddr_in to = {.sin_family = AF_INET, .sin_port = htons(atoi(argv[2]))};
    inet_pton(AF_INET, "127.0.0.1", &to.sin_addr);
    static unsigned char packets[1024][638];
    struct timespec due;
    clock_gettime(CLOCK_MONOTONIC, &due);
    for (;;) {
        for (int i = 0; i < universes; i++) {
            packets[i][111]++;
            sendto(out, packets[i], 638, 0, (struct sockaddr *)&to, sizeof to);
        }
        due.tv_nsec += 22727273;
        if (due.tv_nsec >= 1000000000) { due.tv_nsec -= 1000000000; due.tv_sec++; }
        clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &due, 0);
    }
}
"""

# The package repeats unchanged levels once a second, so each frame has other ones.
_PACKAGE = """
import sys, time, sacn
import sacn.sending.sender_socket_udp as there
universes, there.DEFAULT_PORT = int(sys.argv[1]), int(sys.argv[2])
sender = sacn.sACNsender(bind_port=0, fps=44, universeDiscovery=False)
for n in range(1, universes + 1):
    sender.activate_output(n)
    sender[n].destination = "127.0.0.1"
sender.start()
level = 0
while True:
    level = (level + 1) % 256
    for n in range(1, universes + 1):
        sender[n].dmx_data = (level,) * 512
    time.sleep(1 / 44)
"""


def main() -> None:
    """Print microseconds of CPU per packet, and how many times the floor that is."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 5.0
    print(f"{'sender':>16}" + "".join(f"{n:>10} universes" for n in _UNIVERSES))
    floors: list[float | None] = []
    with tempfile.TemporaryDirectory() as folder:
        compiler = shutil.which("cc") or shutil.which("gcc")
        if compiler:
            program = Path(folder, "floor")
            program.with_suffix(".c").write_text(_FLOOR)
            subprocess.run([compiler, "-O2", "-o", program, program.with_suffix(".c")], check=True)
            floors = [_started([str(program)], n, seconds) for n in _UNIVERSES]
            _row("C sendto loop", floors, floors)
        else:
            print("no C compiler here: no floor to compare with")
            floors = [None] * len(_UNIVERSES)
        package = [sys.executable, "-c", _PACKAGE]
        _row("sacn package", [_started(package, n, seconds) for n in _UNIVERSES], floors)
        _row("output process", [_ours(n, seconds) for n in _UNIVERSES], floors)


def _row(name: str, costs: list[float | None], floors: list[float | None]) -> None:
    cells = []
    for cost, floor in zip(costs, floors, strict=True):
        times = f"{cost / floor:.2f}x" if cost and floor else ""
        cells.append(f"{cost or 0:.2f} us {times:>6}")
    print(f"{name:>16}" + "".join(f"{cell:>20}" for cell in cells), flush=True)


@contextmanager
def _full_port() -> Iterator[int]:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as full:
        full.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 0)
        full.bind(("127.0.0.1", 0))
        yield full.getsockname()[1]


def _started(command: list[str], universes: int, seconds: float) -> float:
    """The cost of a program that is told how many universes to send, and to which port."""
    with _full_port() as port:
        child = subprocess.Popen([*command, str(universes), str(port)])
        time.sleep(1.0)
        cost = _cpu_s(child.pid)
        time.sleep(seconds)
        cost = _cpu_s(child.pid) - cost
        child.kill()
        child.wait()
    return cost / (universes * _HZ * seconds) * 1e6


def _ours(universes: int, seconds: float) -> float:
    with tempfile.TemporaryDirectory() as folder, _full_port() as port:
        output = Output.start(Path(folder))
        to = (Sacn("127.0.0.1", port),)
        planned = tuple(UniversePlan(n, to, steady=True) for n in range(1, universes + 1))
        output.set_plan(Plan(_CID, "bench", None, planned))
        for n in range(1, universes + 1):
            output.write(n, bytes([n % 256]) * 512)
        output.wake()
        time.sleep(1.0)
        cost, frames = _cpu_s(output.pid), _frames(output)
        time.sleep(seconds)
        cost, frames = _cpu_s(output.pid) - cost, _frames(output) - frames
        output.end()
    return cost / frames * 1e6


def _frames(output: Output) -> int:
    return sum(count.frames for count in output.counts().values())


def _cpu_s(pid: int) -> float:
    # schedstat counts nanoseconds on the processor, stat only ticks of 10 ms; all threads of the process.
    tasks = Path(f"/proc/{pid}/task").iterdir()
    return sum(int((task / "schedstat").read_text().split()[0]) for task in tasks) / 1e9


if __name__ == "__main__":
    main()
