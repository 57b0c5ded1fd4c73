"""What a hand-over says, as rows of the state."""

from dataclasses import replace

from server.paperwork.printed.handed import Handed, handed, newest_photos
from server.stage.commands import ChangePatch, RemovePerson
from server.stage.found import Case, FaultStep
from server.stage.state import Fault, State
from tests.handovers import packed, worked
from tests.rigs import done, stage_with, unit

__all__: list[str] = []


def told_of(state: State, pictures: dict[str, str] | None = None) -> Handed:
    return handed(state, "mo", [("Mo", "lead"), ("Mo", "lead")], packed(state), None, pictures or {})


def test_units_come_as_they_hang_and_people_once() -> None:
    told = told_of(worked())
    assert told["there"] == [("Mo", "lead")]
    assert [row[:3] for row, _ in told["focused"]] == [
        ["LX 1", "1", "1"],
        ["LX 1", "2", "2"],
        ["Boom", "3", "1"],
    ]
    assert told["focused"][0][1] == [("spot", "2 m SL"), ("words", "=off the border")]
    assert [row[:3] for row in told["out"]] == [["Boom", "3", "1"]]


def test_not_proved_is_what_a_check_comes_to_and_nobody_has_judged() -> None:
    state = worked()
    assert told_of(state)["unproved"] == []  # the third is out of use
    state.out_of_use.clear()
    assert told_of(state)["unproved"] == [["Boom", "3", "1"]]
    state.rounds.clear()
    assert (told_of(state)["round"], told_of(state)["unproved"]) == (None, [])


def test_every_fault_is_there_with_its_story_and_those_of_other_shows_last() -> None:
    state = worked()
    away = FaultStep("opened", "x", "Ann", 0.0, "Dark")
    state.cases[3] = Case(3, "gone", None, "Tower", "4", "Plain", "", "", "", "Dark", (away,))
    state.faults["c"] = Fault("Flickers", "mo")
    told = told_of(state)["faults"]
    assert [row[3:] for row, _ in told] == [
        ["Noisy", "verified"],
        ["Yoke bent", "open"],
        ["Dark", "open"],
        ["Flickers", "open"],
    ]
    assert [step[2] for step in told[0][1]] == ["opened", "fixed", "verified"]


def test_the_newest_photo_of_a_unit_counts_and_what_is_not_printed_is_counted() -> None:
    state = worked()
    assert newest_photos(state) == {"a": "p2"}
    assert (told_of(state)["photos"], told_of(state)["left"]) == ([], 1)
    told = told_of(state, {"a": "AAAA"})
    assert [picture for _, picture in told["photos"]] == ["AAAA"]
    assert told["left"] == 0


def test_without_an_earlier_pack_the_oldest_change_says_what_it_was() -> None:
    stage = stage_with(unit("a", address=1, channel=1), unit("b", address=5, channel=2))
    for address in (7, 9):
        put = replace(stage.state.fixtures["a"], address=address)
        done(stage, ChangePatch("ann", (put,), ()), 10.0 + address)
    told = handed(stage.state, "ann", [], packed(stage.state), None, {})
    ((which, was, now, by),) = told["changed"]
    assert (which, was.split("\n")[0], now.split("\n")[0], by.split()[0]) == ("1", "1/1", "1/9", "Ann")
    done(stage, RemovePerson("ann", "mo"), 30.0)
    assert told["unseen"] == 0
