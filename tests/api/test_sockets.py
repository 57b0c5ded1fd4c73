"""What a phone, or whoever else finds the port, can do to the others: nothing that lasts."""

import asyncio
import json
import socket
import sys
import threading
import time
from contextlib import ExitStack, suppress
from pathlib import Path

import httpx
import pytest
import websockets
from websockets.sync.client import connect

from server.api.sockets import SEND_ROOM
from tests.api.answers import given, problem
from tests.api.raw import frame, large_rig, messages, open_live
from tests.phones import Message
from tests.servers import ENOUGH_S, Server, serving

__all__: list[str] = []

LINUX = sys.platform == "linux"
MB = 1024 * 1024


def _token(server: Server, role: str = "crew", name: str = "") -> str:
    return server.client(role, name).headers["Authorization"].removeprefix("Bearer ")


def _octets(server: Server) -> int:
    """Memory of the web side; 0 on a system that does not say."""
    if not LINUX:
        return 0
    lines = Path(f"/proc/{server.pid}/status").read_text().splitlines()
    return next(int(line.split()[1]) * 1024 for line in lines if line.startswith("VmRSS"))


def _unsent(server: Server) -> list[int]:
    """Octets that the system keeps for each socket of the page's port, where it says so."""
    if not LINUX:
        return []
    rows = [line.split() for line in Path("/proc/net/tcp").read_text().splitlines()[1:]]
    return [int(row[4].split(":")[0], 16) for row in rows if int(row[1].split(":")[1], 16) == server.port]


def _plain(server: Server, source: str = "127.0.0.1") -> socket.socket:
    return socket.create_connection(("127.0.0.1", server.port), ENOUGH_S, (source, 0))


class Drag:
    """A phone that moves one fixture and keeps what it hears of the others, as their values came."""

    def __init__(self, fixture: str, steps: int) -> None:
        self.fixture, self.steps = fixture, steps
        self.seen: dict[str, list[float]] = {}
        self.answers: list[Message] = []

    def told_all(self, drags: list["Drag"]) -> bool:
        """Whether each, this one too, has come to its end, as far as this one is told."""
        return all(self.seen.get(d.fixture, [0.0])[-1] == 1.0 for d in drags)

    async def run(self, url: str, drags: list["Drag"]) -> None:
        """Step by step to the end of the range, always waiting for the answer."""
        async with websockets.connect(url, compression=None, max_size=None, proxy=None) as phone:
            step = 0
            while len(self.answers) <= self.steps or not self.told_all(drags):
                if len(self.answers) == step <= self.steps:
                    raw = 65535 * step // self.steps
                    ask = {"do": "set", "n": step, "fixture": self.fixture, "values": {"Pan": {"raw": raw}}}
                    await phone.send(json.dumps(ask))
                    step += 1
                message = json.loads(await phone.recv())
                if message["is"] in ("ok", "refused"):
                    self.answers.append(message)
                for fixture, news in message.get("fixtures", {}).items():
                    if "Pan" in news.get("values", {}):
                        self.seen.setdefault(fixture, []).append(news["values"]["Pan"])


def _drag_together(server: Server, count: int, steps: int) -> None:
    """So many drag at once: every answer is there, and each sees all others move forward to the end."""
    lead = server.phone("lead")
    free = [f for f, known in lead.rig["fixtures"].items() if "Pan" in known["values"]][-count:]
    drags = [Drag(fixture, steps) for fixture in free]
    tokens = [_token(server, "lead", f"Hand {n}") for n in range(count)]

    async def all_at_once() -> None:
        async with asyncio.timeout(60), asyncio.TaskGroup() as tasks:
            for drag, token in zip(drags, tokens, strict=True):
                url = f"ws://127.0.0.1:{server.port}/api/live?token={token}"
                tasks.create_task(drag.run(url, drags))

    asyncio.run(all_at_once())
    for drag in drags:
        assert [answer["n"] for answer in drag.answers] == list(range(steps + 1))
        assert all(answer["is"] == "ok" for answer in drag.answers)
        for other in drags:
            way = drag.seen[other.fixture]
            assert way[1:] == sorted(way[1:])
            assert way[-1] == 1.0


def test_phones_that_never_read_cost_little_hurt_nobody_and_are_let_go(tmp_path: Path) -> None:
    with serving(tmp_path / "data", first="from server.api import hub; hub.STUCK_S = 4.0") as server:
        lead = server.client()
        given(lead.post("/api/rig/import", files={"file": ("rig.csv", large_rig())}))
        ada = server.phone("lead")
        looks = [given(lead.post("/api/looks", json={"name": name}), 201)["id"] for name in ("One", "Two")]

        def change_all(times: int) -> None:
            for n in range(times):
                given(lead.post(f"/api/looks/{looks[n % 2]}/recall", json={"fade_s": 0}))
                assert ada.ask("master", value=n / times)["is"] == "ok"

        change_all(30)
        before = _octets(server)
        tokens = [_token(server) for _ in range(4)]
        with ExitStack() as stuck:
            for token in tokens:
                stuck.enter_context(open_live(server.port, token, takes=4096))
            ada.until(lambda: sum(p["here"] for p in ada.rig["people"].values()) >= 5)
            change_all(60)  # six megabytes for each of them
            assert _octets(server) - before < 12 * MB
            # The system doubles what it is asked for, for its own bookkeeping (socket(7), SO_SNDBUF).
            assert max(_unsent(server), default=0) <= 2 * SEND_ROOM
            _drag_together(server, count=8, steps=60)
            here = {p for p, known in ada.rig["people"].items() if known["here"]}
            ada.until(
                lambda: (
                    not any(
                        known["here"]
                        for p, known in ada.rig["people"].items()
                        if p in here - {ada.rig["you"]["id"]}
                    )
                ),
                "all of them away",
            )
            deadline = time.monotonic() + ENOUGH_S
            while any(_unsent(server)):
                assert time.monotonic() < deadline
                ada.listen(0.1)


def test_a_phone_that_floods_is_slowed_alone_and_not_dropped(tmp_path: Path) -> None:
    # Eight phones in one thread answer these pings beside a flood: on a busy machine that takes its time.
    with serving(tmp_path / "data", first="from server.api import sockets; sockets.PING_S = 1.5") as server:
        server.client()  # the first PIN takes its memory, and the last
        before = _octets(server)
        asks = [{"do": "set", "n": n, "fixture": "demo-2", "values": {"Dimmer": 0.5}} for n in range(60_000)]
        octets = b"".join(frame(json.dumps(ask)) for ask in asks)
        answered: list[int] = []
        with open_live(server.port, _token(server)) as flood:

            def pour() -> None:
                with suppress(OSError):
                    flood.sendall(octets)

            def drink() -> None:
                with suppress(OSError):
                    answered.extend(m["n"] for m in messages(flood) if m["is"] == "ok")

            threads = [threading.Thread(target=work) for work in (pour, drink)]
            began = time.monotonic()
            for thread in threads:
                thread.start()
            _drag_together(server, count=8, steps=60)
            other = server.phone()
            other.until(lambda: time.monotonic() - began > 4.6)  # three pings that it leaves unanswered
            assert other.ask("let_go", fixture="*")["is"] == "ok"
            assert _octets(server) - before < 12 * MB
            assert threads[1].is_alive()
            flood.shutdown(socket.SHUT_RDWR)
            for thread in threads:
                thread.join()
            took = time.monotonic() - began
        assert answered == list(range(len(answered)))
        # 240 at once, then 120 a second: server/api/live.py.
        assert 200 < len(answered) <= 240 + 120 * took + 60


def test_a_phone_that_walked_off_without_a_word_is_away(tmp_path: Path) -> None:
    with serving(tmp_path / "data", first="from server.api import sockets; sockets.PING_S = 0.4") as server:
        token = _token(server, "lead")

        def is_here() -> bool:
            # Asked anew each time: a phone that this test keeps is away itself when the test is held up.
            with connect(f"{server.live}?token={token}", proxy=None) as ada:
                people = json.loads(ada.recv(ENOUGH_S))["people"]
            return any(known["name"] == "Mo" and known["here"] for known in people.values())

        assert not is_here()
        with open_live(server.port, _token(server, name="Mo")) as mo:
            # The system takes everything, as an access point may do for a phone; no ping is answered.
            hello = next(messages(mo))
            assert hello["people"][hello["you"]["id"]]["here"]
            server.sacn.until(lambda: not is_here(), "that Mo is away")


@pytest.mark.skipif(not LINUX, reason="needs more than one address on loopback")
def test_connections_are_counted_by_address_and_in_all(tmp_path: Path) -> None:
    few = "from server.api import sockets; sockets.MOST_OF_ONE, sockets.MOST, sockets.SPARE = 20, 30, 5"
    with serving(tmp_path / "data", first=few) as server:
        mo = server.phone("crew", "Mo")
        server.client(None).close()
        with ExitStack() as crowd:
            for _ in range(19):
                crowd.enter_context(_plain(server, "127.0.0.2"))
            for _ in range(3):  # one more is still let in, the next are told
                one = crowd.enter_context(_plain(server, "127.0.0.2"))
                one.sendall(b"GET /api/health HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
                head = one.recv(4096)
                if not head.startswith(b"HTTP/1.1 200"):
                    break
            assert head.startswith(b"HTTP/1.1 503 ")
            assert b"Content-Type: application/problem+json" in head
            assert json.loads(head.partition(b"\r\n\r\n")[2])["detail"].startswith("Too many connections")
            # Whoever comes from elsewhere is let in until the house is full.
            assert given(httpx.get(f"{server.url}/api/health", trust_env=False))["status"] == "ok"
            for _ in range(40):
                crowd.enter_context(_plain(server, "127.0.0.3"))
            with suppress(httpx.TransportError):  # past all counting nobody is told why
                assert httpx.get(f"{server.url}/api/health", trust_env=False).status_code == 503
            assert mo.ask("set", fixture="demo-2", values={"Dimmer": 0.5})["is"] == "ok"
        mo.until(lambda: _well(server), "room again")


def _well(server: Server) -> bool:
    with suppress(httpx.TransportError):
        return httpx.get(f"{server.url}/api/health", trust_env=False).status_code == 200
    return False


def test_who_connects_and_says_nothing_or_hardly_anything_is_closed(tmp_path: Path) -> None:
    with serving(tmp_path / "data", first="from server.api import sockets; sockets.LOOK_S = 0.3") as server:
        mo = server.phone()
        begun = (
            b"",
            b"GET /api/heal",
            b"POST /api/join HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 40\r\n\r\n{",
            b"POST /api/join HTTP/1.1\r\nHost: 127.0.0.1\r\nTransfer-Encoding: chunked\r\n\r\n1\r\n{",
        )
        for octets in begun:
            with _plain(server) as slow, suppress(ConnectionResetError):
                slow.sendall(octets)
                while slow.recv(4096):
                    pass
        assert mo.ask("set", fixture="demo-2", values={"Dimmer": 0.5})["is"] == "ok"
        assert "Traceback" not in server.log()


def test_who_takes_its_time_but_goes_on_is_served(tmp_path: Path) -> None:
    first = "from server.api import sockets; sockets.LOOK_S, sockets.LEAST_OCTETS = 0.2, 10"
    with serving(tmp_path / "data", first=first) as server:
        body = b'{"name": "Ada", "pin": "1111"' + b" " * 100 + b"}"
        kind = f"Content-Type: application/json\r\nContent-Length: {len(body)}"
        head = f"POST /api/join HTTP/1.1\r\nHost: 127.0.0.1\r\n{kind}"

        def said() -> tuple[bytes, float]:
            """What it is answered, and its longest pause."""
            answer, pauses = b"", [0.0]
            with _plain(server) as slow, suppress(ConnectionError):
                slow.sendall(f"{head}\r\n\r\n".encode())
                for at in range(0, len(body), 10):
                    since = time.monotonic()
                    slow.sendall(body[at : at + 10])
                    time.sleep(0.1)
                    pauses.append(time.monotonic() - since)
                answer = slow.recv(4096)
            return answer, max(pauses)

        for _ in range(20):  # held up by the machine, it did not go on
            answer, pause = said()
            if answer.startswith(b"HTTP/1.1 200 ") or pause < 0.15:
                break
        assert answer.startswith(b"HTTP/1.1 200 ")


def test_fields_are_bounded_before_anybody_asks_who_sends_them(server: Server) -> None:
    stranger = server.client(None)
    for much in (b'{"name": "' + b"x" * MB + b'"}', iter([b'{"name": "', *([b"x" * 10_000] * 40), b'"}'])):
        answer = stranger.post("/api/join", content=much, headers={"Content-Type": "application/json"})
        assert problem(answer, 413) == "A request may have up to 256 kB."


def test_a_message_beyond_all_reason_closes_that_socket_alone(server: Server) -> None:
    mo, wild = server.phone(), server.phone()
    with suppress(websockets.ConnectionClosed):
        wild.socket.send("x" * (3 * MB))
    with pytest.raises(websockets.ConnectionClosed):
        wild.until(lambda: False)
    assert mo.ask("set", fixture="demo-2", values={"Dimmer": 0.5})["is"] == "ok"
    assert mo.ask("let_go", fixture="*")["is"] == "ok"
