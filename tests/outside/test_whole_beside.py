"""Beside a live console: what nodes show, by simulated nodes (tests/receivers.py) and a console on loopback.

The console's packets are built by the sacn package. Nodes time everything by the packets that come.
"""

import threading
from collections.abc import Iterator
from time import monotonic, sleep
from typing import Any

import pytest

from tests.api.answers import given
from tests.consoles import STAMPS, Desk
from tests.outside.beside import CHASE, LEVELS, PRIORITY_AT, SLOT, SLOTS_AT, START_AT, UNIT, Stage, staged
from tests.phones import Phone
from tests.receivers import ENOUGH_S

__all__: list[str] = []


@pytest.fixture(scope="module")
def stage(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stage]:
    with staged(tmp_path_factory.mktemp("beside") / "data") as begun:
        yield begun


def in_hand(stage: Stage, level: int) -> None:
    stage.lead.ask("set", fixture=UNIT, values={"Dimmer": {"raw": level}})


def test_a_start_alters_nothing_of_what_the_console_shows(stage: Stage) -> None:
    stage.lead.until(lambda: "join 1" in stage.lead.rig["alerts"], "that it waits")
    began = stage.frames(22)
    for node in ("each", "plain"):
        for shown in stage.plug.between(node, 0.0, monotonic())[1:]:
            assert stage.rest(shown, 0) == stage.rest(LEVELS, 0)
    assert not any(stage.ours(packet) for _, packet in tuple(stage.plug.heard))
    told = given(stage.server.client().get("/api/sources"))["universes"]
    assert [(one["universe"], [s["name"] for s in one["sources"]]) for one in told] == [(1, ["Front desk"])]
    assert began > 0


@pytest.mark.parametrize("join", ["slots", "above", "below", "alone"])
def test_slots_not_in_hand_stay_the_consoles_in_every_way_to_join(stage: Stage, join: str) -> None:
    stage.lead.ask("share", universe=1, join=join, follow=True)
    wanted = {"slots": 99, "above": 101, "below": 99, "alone": 100}[join]
    stage.until(lambda: stage.newest()[PRIORITY_AT] == wanted, f"priority {wanted}")
    stage.frames(8)
    began = monotonic()
    in_hand(stage, 222)
    shows = {"slots": ("each",), "above": ("each", "plain"), "below": (), "alone": ("each", "plain")}[join]
    for node in shows:
        stage.plug.until(node, lambda levels: levels[SLOT - 1] == 222, "what is in hand")
    stage.frames(16)
    stage.desk.levels = bytes(255 - level for level in LEVELS)
    for node in ("each", "plain"):
        stage.plug.until(node, lambda levels: stage.rest(levels) == stage.rest(stage.desk.levels), "a cue")
    stage.frames(8)
    stage.desk.levels = LEVELS
    stage.frames(8)
    stage.lead.ask("let_go", fixture=UNIT)
    for node in ("each", "plain"):
        stage.plug.until(node, lambda levels: stage.rest(levels, 0) == stage.rest(LEVELS, 0), "the slot back")
    stage.frames(22)
    ended = monotonic()
    allowed = {stage.rest(LEVELS), stage.rest(bytes(255 - level for level in LEVELS))}
    if join == "alone":  # level with the console, a node shows the higher of its frame and the one before
        allowed.add(stage.rest(bytes(max(level, 255 - level) for level in LEVELS)))
    for node in ("each", "plain"):
        seen = stage.plug.between(node, began, ended)
        assert {stage.rest(shown) for shown in seen} <= allowed
        in_hands = {shown[SLOT - 1] for shown in seen} - {LEVELS[SLOT - 1], 255 - LEVELS[SLOT - 1]}
        assert bool(in_hands) == (node in shows)


@pytest.mark.parametrize("join", ["off", "slots", "above", "below", "alone"])
def test_each_frame_is_the_consoles_newest_or_the_one_before_in_every_way_to_join(
    stage: Stage, join: str
) -> None:
    phone = stage.server.phone("crew", f"Turns {join}")
    stage.desk.stamped, stage.desk.turn = True, lambda: _let_it_have_its_turns(phone)
    try:
        stage.lead.ask("share", universe=1, join=join, follow=True)
        if join == "off":
            stage.until(stage.has_ended, "the end of the stream")
        else:
            wanted = {"slots": 99, "above": 101, "below": 99, "alone": 100}[join]
            stage.until(lambda: stage.newest()[PRIORITY_AT] == wanted, f"priority {wanted}")
        stage.frames(8)
        mark = len(stage.plug.heard)
        in_hand(stage, 255)  # which no frame of the console's carries
        stage.frames(8)
        if join != "off":
            stage.until(lambda: stage.sent_since(mark) >= 30, "30 frames of ours")
        stage.lead.ask("let_go", fixture=UNIT)
        back = len(stage.plug.heard)
        if join != "off":
            stage.until(lambda: len(set(stage.newest()[SLOTS_AT:])) == 1, "the slot back")
        stage.frames(8)
        packets = [packet for _, packet in stage.plug.heard[mark:]]
    finally:
        stage.desk.stamped, stage.desk.turn = False, lambda: None
        stage.frames(8)
    ages = _ages(stage, packets)
    assert set(ages) <= {0, 1}  # the order in which one socket got them decides, no clock
    taken = [packet[SLOTS_AT] == 255 for packet in packets[: back - mark] if stage.ours(packet)]
    assert (bool(ages), any(taken)) == (join != "off", join != "off")


def _let_it_have_its_turns(phone: Phone) -> None:
    """Wait until the server has had the turns that it needs to hand on what lies there for it.

    They are timers of one event loop, of 5 ms (the socket) and at most 11.4 ms (the engine), and an answer to
    a ping says that all were served that were due. So a console waits for a server that gets no processor,
    and no load of the machine makes a frame old: only a server that keeps one for longer does.
    """
    for _ in range(4):
        sleep(0.005)
        assert phone.socket.ping().wait(ENOUGH_S)


def _ages(stage: Stage, packets: list[bytes]) -> list[int]:
    """Of each frame of ours, whole and untorn, how many of the console's came after the one it carries."""
    newest, ages = None, list[int]()
    for packet in packets:
        if len(packet) < 638 or packet[START_AT] or packet[113:115] != b"\0\1":
            continue
        if not stage.ours(packet):
            newest = packet[SLOTS_AT]
        elif newest is not None:
            (stamp,) = set(packet[SLOTS_AT + SLOT :])  # one frame's number in every slot
            ages.append((newest - stamp) % STAMPS)
    return ages


def test_by_art_net_nothing_of_ours_comes_while_a_console_is_heard_below_it(stage: Stage) -> None:
    stage.lead.ask("share", universe=1, join="slots")
    stage.until(lambda: stage.newest()[PRIORITY_AT] == 99, "packets below it")
    mark = len(stage.art.heard)
    in_hand(stage, 255)
    stage.plug.until("each", lambda levels: levels[SLOT - 1] == 255, "what is in hand")
    stage.frames(22)
    levels = {stage.rest(packet[18:], 0) for _, packet in stage.art.heard[mark:] if packet[14] == 1}
    assert levels == {stage.rest(LEVELS, 0)}


def test_what_is_in_hand_stays_there_while_the_lead_changes_how_to_join(stage: Stage) -> None:
    stage.lead.ask("share", universe=1, join="above")
    in_hand(stage, 255)
    stage.plug.until("each", lambda levels: levels[SLOT - 1] == 255, "what is in hand")
    began = monotonic()
    for join, priority in (("slots", 99), ("above", 101)) * 2:
        stage.lead.ask("share", universe=1, join=join)
        stage.until(lambda wanted=priority: stage.newest()[PRIORITY_AT] == wanted, f"{join}")  # type: ignore[misc]
        stage.frames(8)
    seen = stage.plug.between("each", began, monotonic())
    assert {shown[SLOT - 1] for shown in seen} == {255}
    assert {stage.rest(shown) for shown in seen} == {stage.rest(LEVELS)}


def test_a_universe_of_our_own_that_only_fills_silence_follows_without_being_seen(stage: Stage) -> None:
    stage.lead.ask("share", universe=1, join="below", follow=False)
    stage.until(lambda: stage.newest()[PRIORITY_AT] == 99, "a priority below it")
    stage.until(lambda: stage.rest(stage.newest()[SLOTS_AT:]) != stage.rest(LEVELS), "levels of our own")
    stage.plug.until("each", lambda levels: levels[SLOT - 1] == LEVELS[SLOT - 1], "the console's level")
    began = monotonic()
    stage.lead.ask("share", universe=1, join="slots", follow=True)
    for node in ("each", "dark"):
        stage.plug.until(node, lambda levels: levels[SLOT - 1] == 255, "what is in hand")
        seen = stage.plug.between(node, began, monotonic())
        assert {stage.rest(shown) for shown in seen} == {stage.rest(LEVELS)}


def test_a_console_that_goes_without_a_word_leaves_no_slot_dark_and_none_in_hand_blinks(stage: Stage) -> None:
    stage.desk.chase, power = None, threading.Event()
    stage.frames(4)
    began = monotonic()
    stage.desk.turn = lambda: power.wait(ENOUGH_S)
    try:
        stage.plug.until("plain", lambda levels: levels[SLOT - 1] == 255, "that the console is gone")
        mark = len(stage.plug.heard)
        # Three repeats and as many keep-alives (E1.31-2018, 6.6.2), 2.4 s and more: nodes have forgotten
        # by then what they were told of slots before it was known here that it is gone.
        stage.until(lambda: stage.sent_since(mark) >= 7, "keep-alives of ours")
        stage.desk.levels = bytes(255 - level for level in LEVELS)
    finally:
        stage.desk.turn = lambda: None
        power.set()
    for node in ("each", "dark", "plain"):
        stage.plug.until(
            node, lambda levels: stage.rest(levels) == stage.rest(stage.desk.levels), "it is back"
        )
    stage.frames(8)
    for node in ("each", "dark"):
        seen = stage.plug.between(node, began, monotonic())
        assert {shown[SLOT - 1] for shown in seen} == {255}
        assert {stage.rest(shown) for shown in seen} == {stage.rest(LEVELS), stage.rest(stage.desk.levels)}
    stage.desk.levels, stage.desk.chase = LEVELS, CHASE
    stage.frames(8)


def test_a_console_that_changes_its_priority_is_followed_and_nothing_else_waits(stage: Stage) -> None:
    began = monotonic()
    stage.desk.priority = 150
    stage.until(lambda: stage.newest()[PRIORITY_AT] == 149, "packets below it again")
    stage.until(lambda: stage.newest(0xDD)[SLOTS_AT + SLOT - 1] == 151, "the slot in hand above it again")
    stage.frames(22)
    stage.desk.priority = 100
    stage.until(lambda: stage.newest()[PRIORITY_AT] == 99, "packets below it again")
    stage.frames(44)

    def of_universe_2(packet: bytes) -> bool:
        return len(packet) == 638 and packet[113:115] == b"\0\2" and packet[START_AT] == 0

    # E1.31-2018, 6.6.2: unchanged levels come again after 0.8 to 1 s; a receiver gives up after 2.5 s.
    assert stage.plug.longest_gap(of_universe_2, began, monotonic()) < 2.5


def test_without_the_web_side_slots_stay_and_after_it_is_back_too(stage: Stage) -> None:
    stage.plug.until("each", lambda levels: levels[SLOT - 1] == 255, "what is in hand")
    began = monotonic()
    stage.server.hang_up()
    stage.server.kill()
    stage.frames(120)  # 2.7 s: longer than any receiver waits
    stage.server.start()
    stage.lead = stage.server.phone("lead")
    stage.frames(44)
    seen = stage.plug.between("each", began, monotonic())
    assert {shown[SLOT - 1] for shown in seen} == {255}
    assert {stage.rest(shown) for shown in seen} == {stage.rest(LEVELS)}
    assert {stage.rest(shown, 0) for shown in stage.plug.between("plain", began, monotonic())} == {
        stage.rest(LEVELS, 0)
    }


def test_what_was_borrowed_is_told_and_given_back_octet_for_octet(stage: Stage) -> None:
    client = stage.server.client()

    def told() -> dict[str, Any]:
        answer = given(client.get("/api/beside", params={"universe": 1}))["universes"]
        return next(one for one in answer if one["universe"] == 1)

    stage.lead.ask("let_go", fixture=UNIT)
    stage.until(lambda: told()["borrowed"] == [], "nothing borrowed")
    stage.server.phone("crew", "Mo").ask("set", fixture=UNIT, values={"Dimmer": {"raw": 210}})
    stage.until(lambda: told()["borrowed"], "the slot as borrowed")
    (loan,) = told()["borrowed"]
    assert (loan["slot"], loan["by"], loan["before"]) == (SLOT, "Mo", LEVELS[SLOT - 1])
    asked = client.post("/api/beside/1/leave", json={"held": False})
    assert (asked.status_code, asked.json()["ask"]) == (409, "held")
    assert "Mo" in asked.json()["detail"]
    stage.desk.chase = None
    report = given(client.post("/api/beside/1/leave", json={"held": True}, timeout=ENOUGH_S))
    assert (report["to"], report["compared"], report["differing"]) == (["Front desk"], 512, [])
    assert [(one["slot"], one["is_back"]) for one in report["slots"]] == [(SLOT, True)]
    stage.plug.until("each", lambda levels: levels == LEVELS, "the console's levels, all of them")
    assert told()["join"] == "off"
    record = given(client.get("/api/record", params={"q": "Gave universe 1 back"}))
    assert [row["what"] for row in record] == [
        "Gave universe 1 back to Front desk: all 1 slots borrowed are as it sends them, octet for octet."
    ]
    stage.desk.chase = CHASE


def test_a_look_is_lifted_and_what_stays_is_told_before_and_after(stage: Stage) -> None:
    client = stage.server.client()

    def told(what: str, part: str) -> list[Any]:
        universes = given(client.get("/api/beside", params={"universe": 1}))["universes"]
        return [one[part] for universe in universes if universe["universe"] == 1 for one in universe[what]]

    stage.lead.ask("share", universe=1, join="slots")
    stage.until(lambda: stage.newest(0xDD)[START_AT] == 0xDD, "priorities of slots")
    made = given(client.post("/api/looks", json={"name": "Over it", "fixtures": None}), 201)
    given(client.post(f"/api/looks/{made['id']}/recall", json={"fade_s": 0.0}))
    stage.desk.levels, stage.desk.chase = bytes(255 - level for level in LEVELS), None
    stage.until(lambda: SLOT in told("borrowed", "slot"), "the look's slots as borrowed")
    assert told("stays", "why") == []
    report = given(client.post("/api/beside/1/leave", json={"held": False}, timeout=ENOUGH_S))
    assert (report["compared"], report["differing"], report["why"]) == (512, [], [])
    assert SLOT in [one["slot"] for one in report["slots"]]
    stage.plug.until("each", lambda levels: levels == stage.desk.levels, "the console's levels, all of them")

    stage.lead.ask("share", universe=1, join="slots")
    stage.until(lambda: stage.newest(0xDD)[START_AT] == 0xDD, "priorities of slots")
    in_hand(stage, 0)
    assert stage.lead.ask("out_of_use", fixture=UNIT, reason="Broken lens")["is"] == "ok"
    stage.plug.until("each", lambda levels: levels[SLOT - 1] == 0, "no light")
    stage.until(lambda: SLOT in told("borrowed", "slot"), "the slot as borrowed")
    channel = stage.lead.rig["fixtures"][UNIT]["channel"]
    assert told("stays", "why") == [
        f"Out of use: {channel}. Held until nothing of ours is sent; then the console drives them again."
    ]
    report = given(client.post("/api/beside/1/leave", json={"held": True}, timeout=ENOUGH_S))
    assert (report["differing"], [one["why"] for one in report["why"]]) == ([SLOT], ["It is out of use."])
    stage.plug.until("each", lambda levels: levels == stage.desk.levels, "the console's levels, all of them")
    stage.lead.ask("out_of_use", fixture=UNIT, reason=None)
    stage.desk.levels, stage.desk.chase = LEVELS, CHASE


@pytest.mark.parametrize(("join", "node", "other"), [("above", "plain", "below"), ("slots", "each", "alone")])
def test_after_both_processes_died_the_console_is_in_charge(
    stage: Stage, join: str, node: str, other: str
) -> None:
    with Desk(2, (stage.side.port, stage.sacn_in)) as desk:  # the other way to join, on universe 2
        desk.levels = LEVELS
        stage.lead.ask("share", universe=2, join=other)
        stage.lead.ask("slot", universe=2, slot=512, raw=255)
        priority, slot = {"below": (99, LEVELS[511]), "alone": (100, 255)}[other]
        for each in stage.side.nodes:
            stage.side.until(each, lambda levels: levels[510:] == bytes([LEVELS[510], slot]), "their slots")
        stage.until(lambda: stage.newest(universe=2)[PRIORITY_AT] == priority, "ours on universe 2")
        stage.lead.ask("share", universe=1, join=join)
        in_hand(stage, 255)
        stage.plug.until(node, lambda levels: levels[SLOT - 1] == 255, "what is in hand")
        began = monotonic()
        stage.server.hang_up()
        stage.server.kill()
        stage.server.kill_output()
        gone = stage.plug.until(node, lambda seen: seen[SLOT - 1] == LEVELS[SLOT - 1], "the console's level")
        assert gone <= stage.alone_at(stage.plug, 1)
        for each in stage.side.nodes:
            gone = stage.side.until(each, lambda levels: levels == LEVELS, "all of the console's")
            assert gone <= stage.alone_at(stage.side, 2)
            if other == "below":
                assert set(stage.side.between(each, began, monotonic())) == {LEVELS}
    stage.server.start()
    stage.lead = stage.server.phone("lead")
