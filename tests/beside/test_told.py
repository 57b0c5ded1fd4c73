"""What people are told while universes are listened to, wait, or leave otherwise than decided."""

from server.beside.joining import Standing
from server.beside.moving import Move
from server.beside.rank import Rank
from server.beside.terms import leaving
from server.beside.told import alerts, outranks, unheld
from server.engine.routing import Ear
from server.hearing.sources import Sources
from server.stage.commands import HandsOn
from server.stage.shared import Join, Shared
from tests.hearing.packets import OURS, dmx, sacn
from tests.rigs import done, stage_with

__all__: list[str] = []


def heard(priority: int = 100, artnet: bool = False) -> Sources:
    made = Sources(OURS.bytes)
    made.want((1, 2))
    for universe in (1, 2):
        if artnet:
            made.take_artnet(dmx(), universe, "10.0.0.8", 0.0)
        else:
            made.take_sacn(sacn(universe=universe, priority=priority), "10.0.0.9", 0.0)
    return made


def joined(join: Join, rank: Rank) -> Standing:
    return Standing("joined", rank=rank, leaving=leaving(1, Shared(join, follow=True), rank, 100, None))


def test_everybody_sees_that_it_listens_and_for_how_long() -> None:
    told = alerts({1: Standing("listening", until=5.0), 3: Standing("listening")}, {}, 3.2, str)
    assert told == {"listening": "Listening on universe 1 before anything is sent, 2 s left."}


def test_the_lead_is_asked_and_the_crew_is_told_who_decides() -> None:
    for made, how in (
        (heard(), "Desk drives universe 1, 2 (sACN, priority 100, since 12:00)"),
        (heard(artnet=True), "10.0.0.8 drives universe 1, 2 (Art-Net, which has no priority, since 12:00)"),
    ):
        waiting = {u: Standing("waiting", first=made.all(u)[0]) for u in (1, 2)}
        told = alerts(waiting, {}, 1.2, lambda _: "12:00")
        asked = f"{how}. Nothing of ours is sent there until you say how to join."
        assert told["join 1"] == asked
        assert told["waits"].startswith("Universe 1, 2 waits: somebody else drives it, and the lead has to ")


def test_who_made_a_universe_wait_and_has_gone_is_not_said_to_drive_it() -> None:
    waiting = {1: Standing("waiting", first=heard().all(1)[0])}
    assert alerts(waiting, {}, 3.2, str)["join 1"] == (
        "Desk drove universe 1 (sACN, priority 100) and is not heard any more. Nothing of ours is sent there "
        "until you say how to join."
    )


def test_the_lead_is_told_what_a_universe_on_its_way_waits_for() -> None:
    listening = Move(frozenset({Ear("sacn", 101, ""), Ear("artnet", 5, "")}), until=5.0)
    assert alerts({}, {1: listening}, 3.2, str) == {
        "move 1": "Universe 1 is to leave as Art-Net 5, sACN 101: that is listened to first, 2 s left. "
        "Until then all of it goes on as before."
    }
    waiting = Move(frozenset({Ear("sacn", 1, "")}), 5.0, heard().all(1)[0])
    (told,) = alerts({}, {7: waiting}, 9.0, lambda _: "12:00").items()
    assert told == (
        "join 1",
        "Desk drives sACN 1 (sACN, priority 100, since 12:00), as which universe 7 is to leave. All of it "
        "goes on as before until you say how to join.",
    )
    waiting.agreed = True
    assert alerts({}, {7: waiting}, 9.0, str)["join 1"].startswith("Universe 7 leaves as sACN 1 beside Desk")


def test_what_cannot_be_as_decided_is_told_while_the_console_is_there() -> None:
    there, gone = Rank(200, 200, here=True), Rank(200, 200)
    assert alerts({1: joined("above", there)}, {}, 0.0, str)["join 1"].endswith(
        "only silence is filled there."
    )
    assert alerts({1: joined("above", gone)}, {}, 0.0, str) == {}


def test_what_is_ours_shows_only_above_everybody() -> None:
    there = Rank(100, 100, here=True)
    by_sacn = heard().live(1, 0.1)
    above = {
        join: outranks(joined(join, there), by_sacn, 100)
        for join in ("alone", "above", "slots", "below", "off")
    }
    assert above == {"alone": False, "above": True, "slots": True, "below": False, "off": False}
    assert outranks(joined("alone", there), by_sacn, 150)
    assert not outranks(joined("above", there), heard(artnet=True).live(1, 0.1), 100)
    assert outranks(joined("below", there), [], 100)
    assert not outranks(Standing("waiting"), by_sacn, 200)


def test_hands_on_that_cannot_hold_against_the_console_is_told() -> None:
    stage = stage_with()
    assert unheld(stage.state, {1, 2, 3}) is None
    done(stage, HandsOn("kit", "head", on=True))
    (universe,) = stage.state.fixtures["head"].universes
    assert unheld(stage.state, {universe + 1}) is None
    channel = stage.state.fixtures["head"].channel
    assert unheld(stage.state, {universe, universe + 1}) == (
        f"Hands on, aloft and out of use cannot hold {channel} against the console: it drives universe "
        f"{universe}."
    )
