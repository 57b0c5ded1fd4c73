"""What meets every request before any route, tried on all routes of the application."""

import re
import socket
from collections.abc import Iterator, Mapping
from contextlib import suppress
from http.client import HTTPConnection
from pathlib import Path

import httpx
import pytest
from fastapi.routing import iter_route_contexts
from websockets.exceptions import InvalidStatus
from websockets.http11 import Response as WebSocketResponse
from websockets.sync.client import connect
from websockets.typing import Origin

from server.app import build
from server.parts import Parts
from server.settings import Settings
from tests.api.answers import given, problem
from tests.servers import ENOUGH_S, PINS, Server, serving

__all__: list[str] = []

# What a phone that has not joined may ask for: the page with its files, whether it runs, and to be let in.
OPEN = {
    ("GET", "/"),
    ("GET", "/j/{code}"),
    ("GET", "/J/{code}"),
    ("GET", "/f/{code}"),  # the page again: what the code on a label opens
    ("GET", "/F/{code}"),
    ("GET", "/w/{digest}/{name:path}"),
    ("GET", "/api/health"),
    ("POST", "/api/join"),
}
LONGEST = {
    "/api/rig/import": 257,
    "/api/profiles": 129,
    "/api/library": 129,
    "/api/profiles/check": 5,
    "/api/profiles/try": 5,
    "/api/show/import": 65,
    "/api/photos": 2,
    "/api/handover/compare": 65,
}  # MiB, one more than it takes
SOCKET = "WEBSOCKET"
FOREIGN = ("http://example.org", "null", "https://10.0.0.5", "http://127.0.0.1")


@pytest.fixture(scope="module")
def routes(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[str, str]]:
    """Every route that the application has, as (verb, path)."""
    settings = Settings.model_validate(
        {"data": tmp_path_factory.mktemp("routes"), "sacn_to": ["127.0.0.1:9"], "interface": "127.0.0.1"}
    )
    parts = Parts(settings)
    found = []
    for route in iter_route_contexts(build(parts).routes):
        verbs = sorted(route.methods) if route.methods else [SOCKET]
        found += [(verb, str(route.path)) for verb in verbs if verb != "HEAD"]
    parts.close()
    return found


def asked(path: str) -> str:
    """A path with something in place of each of its names."""
    return re.sub(r"{[^}]*}", "1", path)


def refusal_of_socket(server: Server, token: str, origin: str | None, name: str) -> httpx.Response:
    """The answer to an upgrade that is refused, asked for by that name and from that site."""
    site = None if origin is None else Origin(origin)
    url = f"ws://{name}:{server.port}/api/live?token={token}"
    way = socket.create_connection(("127.0.0.1", server.port))
    with way, pytest.raises(InvalidStatus) as refused, connect(url, sock=way, proxy=None, origin=site):
        pass
    return as_answer(refused.value.response)


def as_answer(told: WebSocketResponse) -> httpx.Response:
    request = httpx.Request("GET", "http://rig/api/live")
    return httpx.Response(
        told.status_code, headers=list(told.headers.raw_items()), content=bytes(told.body), request=request
    )


def body_of(server: Server, verb: str, path: str, headers: Mapping[str, str], chunks: int) -> httpx.Response:
    """The answer to a request that is so many times 64 KiB long."""
    way = HTTPConnection("127.0.0.1", server.port, timeout=ENOUGH_S)
    way.putrequest(verb, path)
    for name, value in headers.items():
        way.putheader(name, value)
    way.endheaders()
    with suppress(OSError):  # it answers and hangs up before all of it was sent
        for _ in range(chunks):
            way.send(b"10000\r\n" + b" " * 65_536 + b"\r\n")
        way.send(b"0\r\n\r\n")
    answer = way.getresponse()
    given_back = httpx.Response(answer.status, headers=answer.getheaders(), content=answer.read())
    way.close()
    return given_back


def test_there_are_as_many_routes_as_somebody_has_looked_at(routes: list[tuple[str, str]]) -> None:
    assert len(routes) > 30
    assert set(routes) >= OPEN
    assert [path for verb, path in routes if verb == SOCKET] == ["/api/live"]


def test_nothing_is_told_or_done_without_having_joined(server: Server, routes: list[tuple[str, str]]) -> None:
    client = server.client(None)
    for verb, path in routes:
        if (verb, path) in OPEN or verb == SOCKET:
            continue
        for headers in (
            {},
            {"Authorization": "Bearer"},
            {"Authorization": "Bearer guess"},
            {"Cookie": "focuscall=guess", "Origin": server.url},
        ):
            answer = client.request(verb, asked(path), headers=headers, json={})
            assert "You have not joined" in problem(answer, 401), (verb, path)
        problem(client.request(verb, asked(path), params={"token": "guess"}, json={}), 401)


def test_no_route_takes_a_change_from_a_page_of_another_site(
    server: Server, routes: list[tuple[str, str]]
) -> None:
    client = server.client("lead")
    token = client.headers["Authorization"].removeprefix("Bearer ")
    for verb, path in routes:
        for origin in FOREIGN:
            if verb == SOCKET:
                answer = refusal_of_socket(server, token, origin, "127.0.0.1")
            elif verb == "GET":
                continue
            else:
                answer = client.request(verb, asked(path), headers={"Origin": origin}, json={})
            assert "another site" in problem(answer, 403), (verb, path, origin)


def test_no_route_answers_to_a_name_that_is_not_ours(server: Server, routes: list[tuple[str, str]]) -> None:
    client = server.client("lead")
    token = client.headers["Authorization"].removeprefix("Bearer ")
    for verb, path in routes:
        if verb == SOCKET:
            problem(refusal_of_socket(server, token, None, "example.org"), 421)
            continue
        for host in ("example.org", f"example.org:{server.port}", ""):
            answer = client.request(verb, asked(path), headers={"Host": host}, json={})
            assert "This laptop is not called" in problem(answer, 421), (verb, path)


def test_a_name_given_in_the_settings_is_ours(tmp_path: Path) -> None:
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "settings.toml").write_text('names = ["Rig.example.org"]\n')
    with serving(tmp_path / "data") as server:
        client = server.client(None)
        for host in ("rig.example.org:8010", "stage.local", "localhost", f"127.0.0.1:{server.port}"):
            assert client.get("/", headers={"Host": host}).status_code == 200
        problem(client.get("/", headers={"Host": "example.org"}), 421)


def test_a_page_of_ours_joins_and_a_script_without_a_site_too(server: Server) -> None:
    client = server.client(None)
    for n, headers in enumerate(({"Origin": server.url}, {})):
        given(client.post("/api/join", json={"name": f"Site {n}", "pin": PINS["crew"]}, headers=headers))


def test_the_live_channel_opens_by_token_for_a_script_and_by_cookie_for_our_page_only(server: Server) -> None:
    token = server.client().headers["Authorization"].removeprefix("Bearer ")
    cookie = {"Cookie": f"focuscall={token}"}
    with connect(f"{server.live}?token={token}", proxy=None) as live:
        assert '"is":"hello"' in str(live.recv())
    with connect(server.live, proxy=None, additional_headers=cookie, origin=Origin(server.url)) as live:
        assert '"is":"hello"' in str(live.recv())
    with connect(server.live, proxy=None, additional_headers=cookie) as live:
        assert "You have not joined" in str(live.recv())


def answers(server: Server, routes: list[tuple[str, str]]) -> Iterator[tuple[str, httpx.Response]]:
    """One of every kind: each route as it refuses, the page, its files, what is not there."""
    client, lead = server.client(None), server.client("lead")
    for verb, path in routes:
        if verb != SOCKET:
            yield path, client.request(verb, asked(path), json={})
    yield "socket", refusal_of_socket(server, "", "http://example.org", "127.0.0.1")
    index = client.get("/")
    yield "again", client.get("/", headers={"If-None-Match": index.headers["etag"]})
    for name in re.findall(r'"(/w/[^"]+)"', index.text):
        yield name, client.get(name)
        yield "folder", client.get(name.rpartition("/")[0] + "/")
    for path in ("/nothing", "/api/nothing", "/w/", "/api/"):
        yield path, client.get(path)
    for path in ("/openapi.json", "/api/fixtures", "/api/rig/export.csv", "/api/session"):
        yield path, lead.get(path)
    yield "too long", lead.post("/api/looks", content=b"x" * 2_000_000)
    yield "head", client.head("/")


def test_every_answer_carries_what_keeps_a_browser_careful(
    server: Server, routes: list[tuple[str, str]]
) -> None:
    # OWASP Secure Headers Project (from memory); MDN for what each does.
    for what, answer in answers(server, routes):
        has = answer.headers
        for name in ("default-src 'self'", "frame-ancestors 'none'", "object-src 'none'", "base-uri 'none'"):
            assert name in has["content-security-policy"], what
        assert "unsafe" not in has["content-security-policy"], what
        assert has["x-content-type-options"] == "nosniff", what
        assert has["referrer-policy"] == "no-referrer", what
        # Only where a browser trusts the name without https: HTML, 7.1.3.
        assert has["cross-origin-opener-policy"] == "same-origin", what
        assert has["cross-origin-resource-policy"] == "same-origin", what
        assert "camera=()" in has["permissions-policy"], what
        assert "server" not in has, what
        page = answer.status_code in (200, 304) and str(answer.url.path).startswith(
            ("/w/", "/j/", "/J/", "/f/", "/F/")
        )
        if not page and answer.url.path != "/":
            assert has["cache-control"] == "no-store", what


def test_a_browser_that_would_only_complain_of_a_header_does_not_get_it(server: Server) -> None:
    answer = server.client(None).get("/", headers={"Host": "10.0.0.5:8010"})
    assert answer.headers["cross-origin-resource-policy"] == "same-origin"
    assert "cross-origin-opener-policy" not in answer.headers


def test_no_folder_of_the_page_is_listed(server: Server) -> None:
    client = server.client(None)
    folder = re.findall(r'"(/w/[0-9a-f]+/)', client.get("/").text)[0]
    for path in ("/w/", folder, f"{folder}net/", f"{folder}net", f"{folder}../", f"{folder}index.html"):
        problem(client.get(path), 404)


def test_no_body_is_taken_at_any_length(server: Server, routes: list[tuple[str, str]]) -> None:
    # A body that does not say how long it is (RFC 9112, 7.1: chunks; 16 of ours are a MiB).
    token = server.client("lead").headers["Authorization"]
    told = {"Authorization": token, "Content-Type": "application/json", "Transfer-Encoding": "chunked"}
    for verb, path in routes:
        if verb not in ("POST", "PUT", "PATCH") or path == "/api/leave":  # which reads none
            continue
        chunks = 16 * LONGEST.get(path, 2)
        with suppress(OSError):  # it hangs up where it becomes too long, and a reset may overtake the answer
            assert "may have up to" in problem(body_of(server, verb, asked(path), told, chunks), 413), path
    assert server.client().get("/api/session").status_code == 200
