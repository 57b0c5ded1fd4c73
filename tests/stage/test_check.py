"""In which order a rig check goes, whom it leaves what, and how long it takes yet."""

from server.stage.check import following, in_scope, left_s
from server.stage.found import Checking, Round, Verdict
from server.stage.state import OutOfUse, State
from tests.rigs import state_with, unit

__all__: list[str] = []

RIG = (
    unit("b10", channel=3, position="Bar", unit="10", address=1),
    unit("b2", channel=1, position="Bar", unit="2", address=9),
    unit("f1", channel=2, position="Floor", unit="1", address=1, universe=2, house=True),
    unit("work", position="Floor", unit="2", address=2, universe=2, work_light=True),
    unit("far", position="Floor", unit="3", address=None),
    unit("fog", "fogger", 41, position="Floor", unit="4"),
)


def scope(state: State, person: str, order: str, where: str = "") -> list[str]:
    return in_scope(state, person, Checking(None, order=order, where=where))


def seen(state: State, fixture: str, person: str, at: float) -> None:
    verdict = Verdict(True, person, person, at, 0.5, None, "", "")
    state.verdicts.setdefault(1, {})[fixture] = verdict


def test_the_rig_in_the_three_orders_and_only_what_can_be_lit() -> None:
    state = state_with(*RIG)
    assert scope(state, "mo", "position") == ["b2", "b10", "f1"]
    assert scope(state, "mo", "position", "Bar") == ["b2", "b10"]
    assert scope(state, "mo", "channel") == ["b2", "f1", "b10"]
    assert scope(state, "mo", "universe", "1") == ["b10", "b2"]
    assert scope(state, "ann", "universe") == ["b10", "b2", "f1", "work"]
    assert scope(state, "hal", "position") == ["f1"]
    state.out_of_use["b2"] = OutOfUse("mo", "lamp", {})
    assert scope(state, "mo", "position") == ["b10", "f1"]


def test_unproved_goes_round_and_leaves_what_others_have_in_hand() -> None:
    state = state_with(*RIG)
    state.rounds[1] = Round(1, 0, "Ann", 0.5)
    seen(state, "f1", "mo", 1)
    assert following(state, "mo", Checking("b10"), 5) == ("b2", ())
    state.holders["b2"] = "kit"
    assert following(state, "mo", Checking("b10"), 5) == (None, ("b2",))
    state.gone["kit"] = 0.0
    assert following(state, "mo", Checking("b10"), 29.9)[0] is None
    assert following(state, "mo", Checking("b10"), 30.0)[0] == "b2"
    assert following(state, "mo", Checking("b10", unproved=False), 5)[0] == "f1"
    assert following(state, "mo", Checking("f1", unproved=False), 5) == (None, ())
    assert following(state, "mo", Checking("f1"), 5, back=True)[0] == "b10"
    assert following(state, "mo", Checking("f1"), 5, stay=True)[0] == "f1"


def test_the_time_left_follows_the_pace_of_those_who_are_at_it() -> None:
    units = [unit(f"u{n}", address=n) for n in range(1, 11)]
    state, names = state_with(*units), [each.id for each in units]
    state.rounds[1] = Round(1, 0, "Ann", 0.5)
    assert left_s(state, names) is None
    for at, fixture in enumerate(names[:3]):
        seen(state, fixture, "mo", 10.0 * at)
    assert left_s(state, names) == 70.0  # seven more at ten seconds each, whoever goes on
    state.checking = {"mo": Checking("u3"), "kit": Checking("u4")}
    assert left_s(state, names) == 35.0
    state.gone["kit"] = 1.0
    assert left_s(state, names) == 70.0
    seen(state, "u4", "mo", 1000.0)  # after a break, which is not the pace
    assert left_s(state, names) == 60.0
    assert left_s(state, names[:4]) == 0.0
