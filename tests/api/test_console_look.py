"""A look made of what a console shows: recalled, it drives the same octets."""

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from server.api.console_look import kept_of, shown_values
from server.hearing.merge import Shown
from server.rig.patch import Fixture
from server.stage import events
from server.stage.state import Look
from tests.api.answers import given as answered
from tests.api.answers import problem
from tests.consoles import console, drive
from tests.engine.any_rig import UNIVERSES, any_profiles, any_rig
from tests.engine.rigs import Rig
from tests.servers import Server
from tests.shows import LEAD

__all__: list[str] = []


def _shown(levels: bytes, driven: bool = True) -> Shown:
    drivers = np.full(512, 0 if driven else -1, np.int16)
    return Shown(np.frombuffer(levels, np.uint8), drivers, drivers, (), 0.0)


@given(any_rig(), st.integers(0, 2**32 - 1), st.sets(st.sampled_from(UNIVERSES), min_size=1))
@settings(max_examples=80)
def test_recalled_it_drives_the_octets_it_was_made_of(
    units: list[Fixture], seed: int, heard_on: set[int]
) -> None:
    known = [events.ProfileAdded("", profile) for profile in any_profiles().values()]
    rig = Rig(
        [events.PersonJoined(LEAD.id, LEAD), *known, *(events.FixturePut("", u) for u in units)], empty=True
    )
    levels = np.random.default_rng(seed).integers(0, 256, (4, 512), np.uint8)
    state, laid = rig.stage.state, rig.engine.rig
    heard = {universe: _shown(levels[universe].tobytes()) for universe in heard_on}
    kept = kept_of(state, laid, heard)
    # A cap would keep it below, and what is a work light no look but the baseline touches.
    free = [replace(unit, cap=1.0, work_light=False) for unit in units]
    assert not any(state.guarded(unit) for unit in units if unit.id in kept)
    rig.happen(*(events.FixturePut("", unit) for unit in free))
    rig.happen(events.LookSaved("", Look("l", "L", kept)), events.LookRecalled(LEAD.id, "l", 0.0))
    rig.step(2)
    rig.step(2)
    laid = rig.engine.rig
    for fixture, values in kept.items():
        for key in values:
            for slot in np.flatnonzero(laid.owned == laid.row[fixture, key]).tolist():
                universe = laid.universes[slot // 512]
                assert universe in heard_on
                assert rig.sent.slot(universe, slot % 512 + 1) == levels[universe, slot % 512], (fixture, key)


def test_what_nobody_drives_there_is_not_taken_for_nought() -> None:
    rig = Rig()
    assert shown_values(rig.engine.rig, {1: _shown(bytes(512), driven=False)}) == {}
    assert shown_values(rig.engine.rig, {2: _shown(bytes(512))}).keys() == {"mover"}


def test_what_a_console_shows_is_kept_of_the_universes_wanted_followed_or_not(server: Server) -> None:
    crew = server.client("crew")
    with console(server.sacn_in) as desk:
        drive(desk, 1, tuple(range(200)) + (200,) * 312)
        lead = server.phone("lead")
        lead.until(lambda: any(about.startswith("heard") for about in lead.rig["alerts"]), "that it is heard")
        (shown,) = answered(crew.get("/api/looks/console"))
        assert (shown["universe"], shown["names"]) == (1, ["Front desk"])
        assert "demo-1" in shown["fixtures"]
        asked = {"name": "Theirs", "from": "console", "universes": [1]}
        look = answered(crew.post("/api/looks", json=asked), 201)
        assert look["fixtures"] == len(shown["fixtures"])
        at = next(one["address"] for one in answered(crew.get("/api/fixtures")) if one["id"] == "demo-1") - 1
        answered(crew.post(f"/api/looks/{look['id']}/recall", json={"fade_s": 0}))
        server.sacn.until_slot(1, at + 1, at)
        changes = answered(crew.get("/api/changes"))
        assert any(
            change["what"] == 'Kept what the console showed as the look "Theirs".' for change in changes
        )
        why = problem(crew.post("/api/looks", json={**asked, "universes": [1, 2]}), 409)
        assert why == "No console is heard on universe 2."
        problem(server.client("house").post("/api/looks", json=asked), 403)
    answered(server.client().post("/api/looks/baseline/recall", json={"fade_s": 0}))
