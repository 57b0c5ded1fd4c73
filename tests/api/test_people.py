"""Joining, being known again, and leaving."""

import base64
import json
import re
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import httpx
import pytest

from tests.api.answers import given, problem
from tests.servers import ENOUGH_S, PINS, Server, serving

__all__: list[str] = []


@pytest.mark.parametrize("role", ["lead", "crew", "house"])
def test_the_pin_decides_the_role(server: Server, role: str) -> None:
    client = server.client(None)
    joined = given(client.post("/api/join", json={"name": f"  Ada   {role} ", "pin": PINS[role]}))
    assert joined["person"]["name"] == f"Ada {role}"
    assert joined["person"]["role"] == role
    shown = given(client.get("/api/session", headers={"Authorization": f"Bearer {joined['token']}"}))
    assert shown == {"person": joined["person"]}


def test_the_cookie_is_as_good_as_the_token_for_the_page_and_hidden_from_scripts(server: Server) -> None:
    client = server.client(None)
    answer = client.post("/api/join", json={"name": "Cookie", "pin": PINS["crew"]})
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    person = answer.json()["person"]
    assert given(client.get("/api/session"))["person"] == person
    path, called = f"/api/people/{person['id']}", {"name": "Cookie 2"}
    assert "Authorization: Bearer" in problem(client.patch(path, json=called), 403)
    assert (
        given(client.patch(path, json=called, headers={"Origin": server.url}))["person"]["name"] == "Cookie 2"
    )


def test_a_token_is_192_bits_and_no_address_of_a_call_takes_it(server: Server) -> None:
    client = server.client()
    token = client.headers.pop("Authorization").removeprefix("Bearer ")
    assert len(base64.urlsafe_b64decode(token)) * 8 == 192
    problem(client.get("/api/session", params={"token": token}), 401)


def test_a_wrong_pin_is_refused(server: Server) -> None:
    client = server.client(None)
    for pin in ("", "0000", "1111x", "11111", "١١١١"):
        assert "PIN" in problem(client.post("/api/join", json={"name": "Mo", "pin": pin}), 403)


def test_whoever_tries_all_pins_has_to_wait_and_nobody_else(tmp_path: Path) -> None:
    with serving(tmp_path / "data") as server:
        client, elsewhere = server.client(None), _from(server, "127.0.0.2")
        began = time.monotonic()
        for pin in range(10):
            problem(client.post("/api/join", json={"name": "Mo", "pin": f"{pin:04}"}), 403)
        right = {"name": "Mo", "pin": PINS["lead"]}
        answer = client.post("/api/join", json=right, headers={"X-Forwarded-For": "10.9.9.9"})
        wait = int(answer.headers["retry-after"])  # RFC 9110, 10.2.3: seconds
        assert 60 - (time.monotonic() - began) <= wait <= 60
        assert f"Wait {wait} seconds" in problem(answer, 429)
        with elsewhere:
            given(elsewhere.post("/api/join", json=right))


def _from(server: Server, address: str) -> httpx.Client:
    """A client that asks from another address of this machine."""
    if sys.platform != "linux":
        pytest.skip("only Linux has more than one address on loopback")
    way = httpx.HTTPTransport(local_address=address)
    return httpx.Client(base_url=server.url, transport=way, timeout=ENOUGH_S)


def test_fifty_guesses_at_once_are_ten(tmp_path: Path) -> None:
    with serving(tmp_path / "data") as server:

        def guess(pin: int) -> int:
            wanted = {"name": "Mo", "pin": f"{pin:04}"}
            return httpx.post(f"{server.url}/api/join", json=wanted, trust_env=False, timeout=60).status_code

        with ThreadPoolExecutor(50) as at_once:
            answers = list(at_once.map(guess, range(50)))
        assert answers.count(403) <= 10
        assert answers.count(429) >= 40


def test_light_goes_on_while_pins_are_tried(tmp_path: Path) -> None:
    # A server of its own: that of the other tests compares PINs in no time.
    with serving(tmp_path / "data") as server, ThreadPoolExecutor(4) as at_once:
        phone, client = server.phone(), server.client(None)

        def touched(crowd: str) -> int:
            """How often somebody is answered while eight join."""
            joining = [
                at_once.submit(client.post, "/api/join", json={"name": f"{crowd} {n}", "pin": PINS["crew"]})
                for n in range(8)
            ]
            answered = 0
            while not all(one.done() for one in joining):
                assert phone.ask("set", fixture="demo-1", values={"Dimmer": answered % 2})["is"] == "ok"
                answered += 1
            assert all(one.result().status_code == 200 for one in joining)
            return answered

        # Several between one PIN and the next; a test that is held up asks less, but not each time.
        assert any(touched(crowd) > 8 for crowd in ("Early", "Late", "Last"))


def test_a_second_mo_is_refused_with_a_name_that_is_free(server: Server) -> None:
    client, wanted = server.client(None), {"name": "Twin", "pin": PINS["crew"]}
    given(client.post("/api/join", json=wanted))
    answer = client.post("/api/join", json={**wanted, "name": "TWIN"})
    assert "Call yourself TWIN 2" in problem(answer, 409)
    assert answer.json()["name"] == "TWIN 2"
    given(client.post("/api/join", json={**wanted, "name": "TWIN 2"}))


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
    assert leaver.closed() == 4401


def test_the_lead_removes_a_phone_and_it_is_out_at_once(server: Server) -> None:
    lead, client = server.phone("lead"), server.client("crew", "Removed")
    both = [server.phone_with(client.headers["Authorization"].removeprefix("Bearer ")) for _ in range(2)]
    me = both[0].rig["you"]["id"]
    assert both[0].ask("light_up", fixture="demo-4", as_it_hangs=True)["is"] == "ok"
    token = {"Authorization": f"Bearer {lead.token}"}
    assert server.client().delete(f"/api/people/{me}", headers=token).status_code == 204
    for phone in both:
        assert phone.closed() == 4403
        assert "The lead has removed this phone" in phone.heard[-1]["why"]
    problem(client.get("/api/session"), 401)
    lead.until(lambda: me not in lead.rig["people"])
    lead.until(lambda: lead.rig["fixtures"]["demo-4"]["holder"] is None)
    problem(server.client().delete(f"/api/people/{me}"), 422)


def test_nobody_is_removed_with_hands_on_a_fixture_and_only_by_the_lead(server: Server) -> None:
    lead, crew = server.client("lead"), server.client("crew")
    phone = server.phone_with(crew.headers["Authorization"].removeprefix("Bearer "))
    me = phone.rig["you"]["id"]
    assert phone.ask("hands_on", fixture="demo-21", on=True)["is"] == "ok"
    assert "has hands on a fixture" in problem(lead.delete(f"/api/people/{me}"), 422)
    assert phone.ask("hands_on", fixture="demo-21", on=False)["is"] == "ok"
    assert "Only the lead" in problem(server.client("crew").delete(f"/api/people/{me}"), 403)
    assert phone.ask("let_go", fixture="*")["is"] == "ok"


def test_a_new_name_reaches_every_phone(server: Server) -> None:
    lead, crew, other = server.client("lead"), server.client("crew"), server.phone()
    me = given(crew.get("/api/session"))["person"]["id"]
    given(crew.patch(f"/api/people/{me}", json={"name": "Zoe by herself"}))
    other.until(lambda: other.rig["people"][me]["name"] == "Zoe by herself")
    given(lead.patch(f"/api/people/{me}", json={"name": "Zoe by the lead"}))
    other.until(lambda: other.rig["people"][me]["name"] == "Zoe by the lead")
    theirs = other.rig["you"]["id"]
    assert "Only the lead" in problem(crew.patch(f"/api/people/{theirs}", json={"name": "Ha"}), 403)
    assert "is free" in problem(crew.patch(f"/api/people/{me}", json={"name": other.rig["you"]["name"]}), 422)


def test_the_lead_lets_go_of_all_that_somebody_holds(server: Server) -> None:
    lead, mo = server.phone("lead"), server.phone()
    me = mo.rig["you"]["id"]
    for fixture in ("demo-2", "demo-3"):
        assert mo.ask("take", fixture=fixture)["is"] == "ok"
    assert server.phone().ask("let_go", fixture="*", of=me)["why"] == "Only the lead can do that."
    assert lead.ask("let_go", fixture="*", of=me)["is"] == "ok"
    mo.until(lambda: not [f for f in mo.rig["fixtures"].values() if f["holder"] == me])


def test_a_new_pin_is_in_force_at_once_and_after_a_restart_and_phones_stay(tmp_path: Path) -> None:
    with serving(tmp_path / "data") as server:
        server.command = [word for word in server.command if not word.startswith("--crew-pin")]
        server.interrupt()
        server.start()
        drawn = re.findall(r"lead 1111, crew (\d{4}), house 3333", server.log())[-1]
        lead, mo = server.client("lead"), server.client(None)
        token = given(mo.post("/api/join", json={"name": "Mo", "pin": drawn}))["token"]
        phone = server.phone_with(token)
        assert given(lead.put("/api/pins/crew", json={"pin": "60251"})) == {"role": "crew", "given": False}
        assert phone.ask("master", value=1)["is"] == "ok"
        problem(mo.post("/api/join", json={"name": "Kit", "pin": drawn}), 403)
        assert given(mo.post("/api/join", json={"name": "Kit", "pin": "60251"}))["person"]["role"] == "crew"
        server.hang_up()
        server.interrupt()
        server.start()
        assert "crew as the lead has set it on the page" in server.log()
        wanted = {"name": "Zoe", "pin": "60251"}
        assert given(server.client(None).post("/api/join", json=wanted))["person"]["role"] == "crew"
        assert server.phone_with(token).rig["you"]["name"] == "Mo"
        # Nowhere but in the log of the start, where it was drawn.
        server.hang_up()
        server.interrupt()
        kept = [path.read_bytes() for path in (tmp_path / "data").rglob("*") if path.is_file()]
        assert kept
        assert not [data for data in kept if b"60251" in data or token.encode() in data]


def test_a_pin_given_at_the_start_wins_then(tmp_path: Path) -> None:
    with serving(tmp_path / "data") as server:
        lead = server.client("lead")
        assert given(lead.put("/api/pins/crew", json={"pin": "60251"})) == {"role": "crew", "given": True}
        server.hang_up()
        server.interrupt()
        server.start()
        client = server.client(None)
        problem(client.post("/api/join", json={"name": "Mo", "pin": "60251"}), 403)
        given(client.post("/api/join", json={"name": "Mo", "pin": PINS["crew"]}))


def test_a_pin_is_four_to_eight_digits_of_one_role_and_the_leads_to_give(server: Server) -> None:
    lead = server.client("lead")
    for pin in ("", "123", "123456789", "12a4", "١٢٣٤", " 6025"):
        assert "four to eight digits" in problem(lead.put("/api/pins/crew", json={"pin": pin}), 422)
    assert "Another role has that PIN" in problem(lead.put("/api/pins/crew", json={"pin": "1111"}), 422)
    assert "no role" in problem(lead.put("/api/pins/king", json={"pin": "60251"}), 422)
    assert "Only the lead" in problem(server.client("crew").put("/api/pins/crew", json={"pin": "60251"}), 403)
    given(lead.put("/api/pins/crew", json={"pin": PINS["crew"]}))


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
