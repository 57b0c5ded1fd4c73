"""Joining, being known again, and leaving."""

import json
from pathlib import Path

import httpx
import pytest

from tests.api.answers import given, problem
from tests.servers import PINS, Server, serving

__all__: list[str] = []

CALLS = [
    ("GET", "/api/session"),
    ("POST", "/api/leave"),
    ("GET", "/api/fixtures"),
    ("POST", "/api/fixtures"),
    ("PATCH", "/api/fixtures/demo-1"),
    ("DELETE", "/api/fixtures/demo-1"),
    ("POST", "/api/rig/import"),
    ("GET", "/api/rig/export.csv"),
    ("GET", "/api/profiles"),
    ("GET", "/api/profiles/dimmer"),
    ("POST", "/api/profiles"),
    ("GET", "/api/looks"),
    ("POST", "/api/looks"),
    ("PATCH", "/api/looks/baseline"),
    ("DELETE", "/api/looks/warm-wash"),
    ("POST", "/api/looks/warm-wash/recall"),
    ("PUT", "/api/looks/baseline"),
    ("PUT", "/api/order"),
    ("PATCH", "/api/settings"),
    ("GET", "/api/universes/1"),
    ("GET", "/api/nodes"),
]


@pytest.mark.parametrize("role", ["lead", "crew", "house"])
def test_the_pin_decides_the_role(server: Server, role: str) -> None:
    client = server.client(None)
    joined = given(client.post("/api/join", json={"name": "  Ada   B ", "pin": PINS[role]}))
    assert joined["person"]["name"] == "Ada B"
    assert joined["person"]["role"] == role
    shown = given(client.get("/api/session", headers={"Authorization": f"Bearer {joined['token']}"}))
    assert shown == {"person": joined["person"]}


def test_the_cookie_is_as_good_as_the_token_and_hidden_from_scripts(server: Server) -> None:
    client = server.client(None)
    answer = client.post("/api/join", json={"name": "Mo", "pin": PINS["crew"]})
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=lax" in cookie
    assert given(client.get("/api/session"))["person"] == answer.json()["person"]


def test_the_openapi_page_lists_every_call_tried_here(server: Server) -> None:
    paths = given(server.client(None).get("/openapi.json"))["paths"]
    listed = {
        (verb.upper(), path) for path, verbs in paths.items() for verb in verbs if path.startswith("/api/")
    }
    assert len(listed) == len(CALLS) + 2  # health and joining ask for no token


@pytest.mark.parametrize(("verb", "path"), CALLS)
def test_nothing_is_told_or_done_without_having_joined(server: Server, verb: str, path: str) -> None:
    client = server.client(None)
    for headers in (
        {},
        {"Authorization": "Bearer"},
        {"Authorization": "Bearer guess"},
        {"Cookie": "focuscall=x"},
    ):
        answer = client.request(verb, path, headers=headers, json={})
        assert (
            problem(answer, 401) == "You have not joined. Join with your name and the PIN the laptop shows."
        )


def test_a_wrong_pin_is_refused(server: Server) -> None:
    client = server.client(None)
    for pin in ("", "0000", "1111x", "11111", "١١١١"):
        assert "PIN" in problem(client.post("/api/join", json={"name": "Mo", "pin": pin}), 403)


def test_whoever_tries_all_pins_has_to_wait(tmp_path: Path) -> None:
    with serving(tmp_path / "data") as server:
        client = server.client(None)
        for pin in range(10):
            problem(client.post("/api/join", json={"name": "Mo", "pin": f"{pin:04}"}), 403)
        right = {"name": "Mo", "pin": PINS["lead"]}
        assert "Wait a minute" in problem(client.post("/api/join", json=right), 429)


@pytest.mark.parametrize("name", ["", "   ", "\n\t", "x" * 31])
def test_a_name_has_1_to_30_characters(server: Server, name: str) -> None:
    answer = server.client(None).post("/api/join", json={"name": name, "pin": PINS["crew"]})
    assert "1 to 30 characters" in problem(answer, 422)


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b"[]",
        b"null",
        b'{"name": 5, "pin": "1111"}',
        b'{"pin": "1111"}',
        b'{"name": "Mo", "pin": 1111}',
        b'{"name": "' + b"x" * 10_000 + b'"}',
        b'{"name": "\\ud800", "pin": "2222"}',
        b'{"name": "\xff", "pin": "2222"}',
        b"[" * 100_000,
    ],
)
def test_what_is_no_joining_is_a_problem_in_words(server: Server, body: bytes) -> None:
    headers = {"Content-Type": "application/json"}
    answer = server.client(None).post("/api/join", content=body, headers=headers)
    problem(answer, 400 if answer.status_code == 400 else 422)


def test_names_of_any_script_come_back_as_they_were(server: Server) -> None:
    for name in ("Ærøy", "田中", "O'Neill <b>", "👷‍♀️ Zoë"):
        joined = given(server.client(None).post("/api/join", json={"name": name, "pin": PINS["crew"]}))
        assert joined["person"]["name"] == name


def test_leaving_lets_go_of_everything_and_forgets(server: Server) -> None:
    phone, client = server.phone("lead"), server.client("crew", "Leaver")
    token = client.headers["Authorization"].removeprefix("Bearer ")
    leaver = server.phone_with(token)
    assert leaver.ask("take", fixture="demo-21")["is"] == "ok"
    phone.until(lambda: phone.rig["fixtures"]["demo-21"]["holder"] == leaver.rig["you"]["id"])
    assert client.post("/api/leave").status_code == 204
    phone.until(lambda: phone.rig["fixtures"]["demo-21"]["holder"] is None)
    phone.until(lambda: leaver.rig["you"]["id"] not in phone.rig["people"])
    problem(client.get("/api/session"), 401)
    assert leaver.ask("take", fixture="demo-21")["why"] == "You have not joined. Join with your name first."


def test_no_token_is_ever_shown_to_others(server: Server) -> None:
    client = server.client("crew", "Secret")
    token = client.headers["Authorization"].removeprefix("Bearer ")
    phone = server.phone("lead")
    assert token not in json.dumps(phone.rig)
    assert "token" not in json.dumps(phone.rig["people"])


def test_errors_of_the_server_itself_have_the_same_shape(server: Server) -> None:
    client = server.client()
    problem(client.get("/api/nothing-here"), 404)
    problem(client.put("/api/fixtures"), 405)
    assert client.put("/api/fixtures").headers["allow"]


def test_health_asks_for_no_token(server: Server) -> None:
    health = given(httpx.get(f"{server.url}/api/health", trust_env=False))
    assert health["status"] == "ok"
    assert [u["universe"] for u in health["universes"]] == [1, 2, 3]
