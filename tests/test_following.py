"""Following a console on the real path: somebody else's sender, a server, and what it was seen to send."""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from time import monotonic
from typing import Any

import pytest
from sacn import sACNsender

from tests.consoles import console, drive
from tests.phones import Phone
from tests.servers import OPTIONS_AT, SLOTS_AT, TERMINATED, Server, serving

__all__: list[str] = []

START_AT = 125  # E1.31-2018, Table 4-1: the START code lies before the slots
CHASE = tuple((7 * slot + 31) % 256 for slot in range(512))


def _levels(server: Server, since: float = 0.0) -> list[bytes]:
    return [p[SLOTS_AT:] for _, p in server.sacn.sacn(1, since) if p[START_AT] == 0]


def _until(server: Server, lead: Phone, picture: bytes) -> None:
    def there() -> bool:
        lead.listen(0.05)
        return _levels(server)[-1:] == [picture]

    server.sacn.until(there, "that picture")


@pytest.fixture
def followed(tmp_path: Path) -> Iterator[tuple[Server, sACNsender, Phone, dict[str, Any]]]:
    """A server whose universe 1 follows a console, its lead, and a unit there."""
    with serving(tmp_path / "data") as server, console(server.sacn_in) as desk:
        drive(desk, 1, CHASE)
        lead = server.phone("lead")
        assert lead.ask("share", universe=1, join="slots", follow=True)["is"] == "ok"
        unit = next(one for one in server.client().get("/api/fixtures").json() if one["id"] == "demo-1")
        _until(server, lead, bytes(CHASE))
        yield server, desk, lead, unit


def test_what_the_console_sends_leaves_as_it_came_and_a_hand_takes_one_control(
    followed: tuple[Server, sACNsender, Phone, dict[str, Any]],
) -> None:
    server, desk, lead, unit = followed
    at = unit["address"] - 1
    lead.until(
        lambda: (
            lead.rig["fixtures"]["demo-1"]["values"]["Dimmer"] == pytest.approx(CHASE[at] / 255, abs=1e-4)
        ),
        "what leaves, told of the unit",
    )
    told = server.client().get("/api/universes/1").json()
    assert (told["slots"], set(told["set_by"])) == (list(CHASE), {"console Front desk"})
    assert lead.ask("set", fixture="demo-1", values={"Dimmer": {"raw": 77}})["is"] == "ok"
    ours = bytes(CHASE[:at]) + b"\x4d" + bytes(CHASE[at + 1 :])
    _until(server, lead, ours)
    told = server.client().get("/api/universes/1").json()
    assert [by for by in told["set_by"] if by != "console Front desk"] == [lead.rig["you"]["name"]]

    # Both sides go on through a crash: no frame of home, of zeros, or without what is in hand.
    since = server.sacn.heard[-1][0]
    server.hang_up()
    server.kill()
    server.start()
    lead = server.phone("lead")
    drive(desk, 1, (*CHASE[:511], 200))
    _until(server, lead, ours[:511] + b"\xc8")
    for picture in _levels(server, since):
        assert picture[:511] == ours[:511]
        assert min(CHASE[511], 200) <= picture[511] <= max(CHASE[511], 200)


def test_the_lead_is_told_when_a_console_goes_what_is_held_and_when_it_is_back(
    followed: tuple[Server, sACNsender, Phone, dict[str, Any]],
) -> None:
    server, desk, lead, _ = followed
    since = server.sacn.heard[-1][0]
    desk.deactivate_output(1)
    lead.until(lambda: "follow 1" in lead.rig["alerts"], "that it has gone")
    why = lead.rig["alerts"]["follow 1"]["why"]
    assert why.startswith("Front desk has not been heard on universe 1 since ")
    assert why.endswith(": its last levels are held.")
    told = monotonic()
    server.sacn.until(lambda: _levels(server, told), "what is held, once the lead knows")
    assert set(_levels(server, since)) == {bytes(CHASE)}
    assert "console Front desk, held" in server.client().get("/api/universes/1").json()["set_by"]
    drive(desk, 1, CHASE[::-1])
    lead.until(lambda: " is back on universe 1 " in lead.rig["alerts"]["follow 1"]["why"], "that it is back")
    _until(server, lead, bytes(CHASE[::-1]))


def test_a_console_that_goes_while_it_is_given_a_universe_back_leaves_it_going_on(
    followed: tuple[Server, sACNsender, Phone, dict[str, Any]],
) -> None:
    server, desk, lead, unit = followed
    assert lead.ask("set", fixture="demo-1", values={"Dimmer": {"raw": 77}})["is"] == "ok"
    _until(server, lead, bytes(CHASE[: unit["address"] - 1]) + b"\x4d" + bytes(CHASE[unit["address"] :]))
    client = server.client()
    with ThreadPoolExecutor() as beside:
        answer = beside.submit(client.post, "/api/beside/1/leave", json={"held": True})
        lead.until(lambda: lead.rig["fixtures"]["demo-1"]["holder"] is None, "that it is let go of")
        desk.deactivate_output(1)  # while it still fades
    assert answer.result().status_code == 422
    assert answer.result().json()["detail"] == (
        "Front desk has gone before universe 1 was given back: it goes on, with nothing of it in hand."
    )
    told = client.get("/api/beside").json()["universes"]
    assert next(one["join"] for one in told if one["universe"] == 1) == "slots"
    assert server.sacn.sacn(1)[-1][1][OPTIONS_AT] & TERMINATED == 0
    assert _levels(server)[-1] == bytes(CHASE)
