"""A running server of its own, and what it sends: everything on loopback, everything ended afterwards."""

import http.client
import os
import signal
import socket
import ssl
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from itertools import count
from pathlib import Path
from typing import Any

import httpx

from server.output.lock import FileLock
from server.output.shared_map import SharedMap
from server.places import package_folder
from tests.phones import Phone
from tests.ports import free_port
from tests.stamped import Clock, receiver

__all__ = ["ENOUGH_S", "PINS", "QUICK_PINS", "START_S", "Ear", "Server", "serving", "serving_everywhere"]

START_S = 60.0  # a start imports much, which a busy machine does slowly
ENOUGH_S = 60.0  # for anything that should take a moment, on a busy machine
PINS = {"lead": "1111", "crew": "2222", "house": "3333"}
# What a server runs first where the cost of a PIN is not the point: a join costs 66 ms, and tests join often.
QUICK_PINS = (
    "from argon2 import PasswordHasher\nfrom server.api import pins\n"
    "pins._HASHER = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)"
)
_numbers = count(1)  # nobody in a show is called as somebody else
_ENCRYPTION = ssl.create_default_context()  # one for all clients: made anew it costs each 20 ms

# Octets of an E1.31 data packet (E1.31-2018, Table 4-1).
SACN_DATA = bytes.fromhex("00000002")
VECTOR_AT, SEQUENCE_AT, OPTIONS_AT, UNIVERSE_AT, SLOTS_AT = 40, 111, 112, 113, 126
TERMINATED = 0x40  # 6.2.6, bit 6 of Options


class Ear:
    """A UDP receiver on loopback: (monotonic time of arrival, packet), as they come in."""

    def __init__(self) -> None:
        self._socket, self._clock = receiver(), Clock()
        self._socket.settimeout(0.1)
        self.port: int = self._socket.getsockname()[1]
        self.heard: list[tuple[float, bytes]] = []
        self._closing = False
        self._thread = threading.Thread(target=self._listen, name="ear", daemon=True)
        self._thread.start()

    def _listen(self) -> None:
        while not self._closing:
            with suppress(TimeoutError):
                at, packet, _ = self._clock.read(self._socket)
                self.heard.append((at, packet))

    def close(self) -> None:
        """Stop listening."""
        self._closing = True
        self._thread.join()
        self._socket.close()

    def sacn(self, universe: int, since: float = 0.0) -> list[tuple[float, bytes]]:
        """The sACN data packets of a universe that came after `since`."""
        wanted = universe.to_bytes(2, "big")
        return [
            (at, packet)
            for at, packet in tuple(self.heard)
            if at > since
            and packet[VECTOR_AT : VECTOR_AT + 4] == SACN_DATA
            and packet[UNIVERSE_AT : UNIVERSE_AT + 2] == wanted
        ]

    def pictures(self, universe: int, since: float = 0.0) -> list[bytes]:
        """The 512 levels of each of them."""
        return [packet[SLOTS_AT:] for _, packet in self.sacn(universe, since)]

    def until(self, true: Callable[[], object], why: str = "") -> None:
        """Wait until `true`; fails after a minute."""
        deadline = time.monotonic() + ENOUGH_S
        while not true():
            assert time.monotonic() < deadline, f"never came: {why}; {len(self.heard)} packets heard"
            time.sleep(0.005)

    def until_slot(self, universe: int, slot: int, level: int) -> None:
        """Wait until the newest packet of a universe has this level in that slot."""

        def there() -> bool:
            pictures = self.pictures(universe)
            return bool(pictures) and pictures[-1][slot - 1] == level

        self.until(there, f"universe {universe} slot {slot} at {level}")


class Server:
    """`python -m server --demo` on free ports, with an ear where its sACN and one where its Art-Net goes.

    command: how it is started. pid: the web side's number. sacn_in: the port that consoles are heard on;
    artnet_in: the port that Art-Net arrives on, nodes' answers among it.
    """

    def __init__(self, data: Path, *more: str) -> None:
        """data: an empty folder of its own. more: further arguments."""
        self.data, self.sacn, self.artnet = data, Ear(), Ear()
        self.port = free_port(socket.SOCK_STREAM)
        self.url, self.live = f"http://127.0.0.1:{self.port}", f"ws://127.0.0.1:{self.port}/api/live"
        self.sacn_in, self.artnet_in = free_port(), free_port()
        inputs = (f"--sacn-in-port={self.sacn_in}", f"--artnet-in-port={self.artnet_in}")
        outputs = (f"--sacn-to=127.0.0.1:{self.sacn.port}", f"--artnet-to=127.0.0.1:{self.artnet.port}")
        pins = [f"--{role}-pin={pin}" for role, pin in PINS.items()]
        where = (f"--data={data}", f"--port={self.port}", "--host=127.0.0.1", "--interface=127.0.0.1")
        # Only what is about listening waits for it: whoever gives it again has the last word.
        given = (*where, *inputs, *outputs, *pins, "--listen=0", *more)
        self.command = [sys.executable, "-m", "server", "--demo", *given]
        self._process: subprocess.Popen[bytes] | None = None
        self._clients: list[httpx.Client] = []
        self._phones: list[Phone] = []

    def start(self) -> None:
        """Start, or start again on the same data and ports; returns once it answers."""
        group = getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0)
        with (self.data.parent / "server.log").open("ab") as log:
            self._process = subprocess.Popen(
                self.command,
                cwd=package_folder().parent,
                stdout=log,
                stderr=log,
                creationflags=group,
            )
        deadline = time.monotonic() + START_S
        while not self._answers():
            assert self._process.poll() is None, self.log()
            assert time.monotonic() < deadline, self.log()
            time.sleep(0.01)

    def _answers(self) -> bool:
        asking = http.client.HTTPConnection("127.0.0.1", self.port, timeout=ENOUGH_S)
        try:
            asking.request("GET", "/api/health")
            return asking.getresponse().status == http.HTTPStatus.OK
        except (OSError, http.client.HTTPException):
            return False
        finally:
            asking.close()

    @property
    def pid(self) -> int:
        """The web side's number."""
        assert self._process is not None
        return self._process.pid

    def log(self) -> str:
        """What it has printed so far."""
        return (self.data.parent / "server.log").read_text(errors="replace")

    def kill(self) -> None:
        """kill -9 of the web side; the output process goes on."""
        assert self._process is not None
        self._process.kill()
        self._process.wait()

    def kill_output(self) -> None:
        """kill -9 of the output process, if it lives."""
        _kill_output(self.data / "demo")

    def output_lives(self) -> bool:
        """Whether there is an output process."""
        return _locked(self.data / "demo" / "output.lock")

    def signal(self, number: int) -> int:
        """Send a signal to the web side and return its exit code."""
        assert self._process is not None
        self._process.send_signal(number)
        return self.wait()

    def wait(self) -> int:
        """Wait until the web side has ended; returns its exit code."""
        assert self._process is not None
        return self._process.wait(ENOUGH_S)

    def interrupt(self) -> int:
        """Ctrl-C; returns the exit code."""
        return self.signal(getattr(signal, "CTRL_BREAK_EVENT", signal.SIGINT))

    def client(self, role: str | None = "lead", name: str = "") -> httpx.Client:
        """An HTTP client; joined, unless role is None. It sends its token as `Authorization: Bearer`."""
        client = httpx.Client(base_url=self.url, trust_env=False, timeout=ENOUGH_S, verify=_ENCRYPTION)
        self._clients.append(client)
        if role is not None:
            joined = self._join(client, role, name or f"A {role} {next(_numbers)}")
            client.cookies.clear()
            client.headers["Authorization"] = f"Bearer {joined['token']}"
        return client

    def _join(self, client: httpx.Client, role: str, name: str) -> Any:
        """Join; whoever was called so in an earlier test is called otherwise from then on."""
        wanted = {"name": name, "pin": PINS[role]}
        answer = client.post("/api/join", json=wanted)
        if answer.status_code == 409:
            lead = Phone(
                f"{self.live}?token={self._join(client, 'lead', f'A lead {next(_numbers)}')['token']}"
            )
            old = next(p for p, known in lead.rig["people"].items() if known["name"] == name)
            called = {"name": f"{name[:15]} of old {next(_numbers)}"}
            token = {"Authorization": f"Bearer {lead.token}"}
            client.patch(f"/api/people/{old}", json=called, headers=token).raise_for_status()
            client.post("/api/leave", headers=token).raise_for_status()
            lead.close()
            answer = client.post("/api/join", json=wanted)
        answer.raise_for_status()
        return answer.json()

    def phone(self, role: str = "crew", name: str = "") -> Phone:
        """A page with its live channel open and hello read."""
        token = self.client(role, name).headers["Authorization"].removeprefix("Bearer ")
        return self.phone_with(token)

    def phone_with(self, token: str) -> Phone:
        """The same for somebody who has joined already."""
        phone = Phone(f"{self.live}?token={token}")
        self._phones.append(phone)
        return phone

    def hang_up(self) -> None:
        """Close all clients and phones."""
        for phone in self._phones:
            phone.close()
        for client in self._clients:
            client.close()
        self._clients.clear()
        self._phones.clear()

    def end(self) -> None:
        """Kill both processes, whatever became of them, and close everything."""
        self.hang_up()
        if self._process is not None and self._process.poll() is None:
            self._process.kill()
            self._process.wait()
        self.kill_output()
        self.sacn.close()
        self.artnet.close()


@contextmanager
def serving(
    data: Path,
    *more: str,
    first: str = "",
    name: str = "",
    before: Callable[[Server], object] = lambda _: None,
) -> Iterator[Server]:
    """A server that runs, and is gone afterwards with its output process.

    first: Python that it runs before it starts, to try with seconds what otherwise takes minutes.
    name: what its page is opened by, where that is no address. before: called just before it starts.
    """
    data.mkdir(parents=True, exist_ok=True)
    if name:
        (data / "settings.toml").write_text(f'names = ["{name}"]\n')
    server = Server(data, *more)
    if first:
        code = f"{first}\nimport sys\nfrom server.start import run\nsys.exit(run(sys.argv[1:]))"
        server.command[1:3] = ["-c", code]
    try:
        before(server)
        server.start()
        yield server
    finally:
        server.end()


@contextmanager
def serving_everywhere(data: Path, *more: str) -> Iterator[Server]:
    """The same as a person starts it: no address given anywhere, served on every network there is."""
    data.mkdir()
    server = Server(data, *more)
    given = ("--sacn-to", "--artnet-to", "--host", "--interface", "--artnet-in-port")
    server.command = [word for word in server.command if not word.startswith(given) or word in more]
    try:
        server.start()
        yield server
    finally:
        server.end()


def _kill_output(folder: Path) -> None:
    """The output process outlives its web side on purpose; not its test."""
    if not (folder / "output.map").exists():
        return
    shared = SharedMap(folder / "output.map")
    pid = shared.number("pid")
    shared.close()
    deadline = time.monotonic() + ENOUGH_S
    while _locked(folder / "output.lock"):  # only who lives holds it, so this number is nobody else's
        assert time.monotonic() < deadline
        with suppress(OSError):
            os.kill(pid, signal.SIGTERM if os.name == "nt" else signal.SIGKILL)
        time.sleep(0.01)


def _locked(path: Path) -> bool:
    try:
        FileLock(path).release()
    except OSError:
        return True
    return False
