"""The changes a state remembers, and undoing one."""

from server.stage import events
from server.stage.apply import apply
from server.stage.put_back import MOST_CHANGES, MOST_VALUES
from server.stage.state import Before, SlotLevel, State, Undone, Who
from tests.rigs import state_with

__all__: list[str] = []

MO = Who("Mo", "crew")


def noted(state: State, number: int, before: Before | None) -> None:
    apply(state, events.Changed("mo", number, 1.0, MO, ("master",), ["x"], before))


def test_the_newest_changes_are_remembered() -> None:
    state = state_with()
    for number in range(1, MOST_CHANGES + 11):
        noted(state, number, Before(master=0.5))
    assert list(state.changes) == list(range(11, MOST_CHANGES + 11))
    assert state.changed == MOST_CHANGES + 10


def test_what_is_heavy_makes_the_oldest_forgotten_and_never_the_newest() -> None:
    state, half = state_with(), Before(order=("x",) * (MOST_VALUES // 2))
    for number in (1, 2, 3):
        noted(state, number, half)
    assert list(state.changes) == [2, 3]
    noted(state, 4, Before(order=("x",) * (MOST_VALUES + 1)))
    assert list(state.changes) == [4]


def test_a_change_that_went_on_says_in_the_end_what_it_came_to() -> None:
    state = state_with()
    noted(state, 1, None)
    apply(state, events.ChangeEnded("mo", 1, ["y"]))
    assert state.changes[1].what == ["y"]
    apply(state, events.ChangeEnded("mo", 7, ["y"]))
    assert list(state.changes) == [1]


def test_undone_it_remembers_what_doing_it_again_takes_and_who_undid_it() -> None:
    state = state_with()
    state.master = 0.3
    noted(state, 1, Before(master=1.0))
    apply(state, events.PutBack("ann", 1, 2, 5.0, Who("Ann", "lead"), ["x"], Before(master=1.0), 1.0))
    assert (state.master, state.changed) == (1.0, 2)
    assert (state.changes[1].before, state.changes[1].undone) == (Before(master=0.3), Undone("ann", 2))
    apply(state, events.PutBack("ann", 1, 3, 5.0, Who("Ann", "lead"), ["x"], Before(master=0.3), 1.0))
    assert (state.master, state.changes[1].undone) == (0.3, None)


def test_flashing_is_over_where_another_hand_has_it() -> None:
    state = state_with()
    state.holders, state.flashing = {"head": "kit", "spot": "kit"}, {"head": "kit", "spot": "kit"}
    back = Before(holders={"head": "mo", "spot": "kit"}, slots={3: {1: SlotLevel(4, "mo")}})
    apply(state, events.PutBack("kit", 1, 1, 0.0, MO, ["x"], back, 1.0))
    assert (state.holders["head"], state.flashing) == ("mo", {"spot": "kit"})
    assert state.slots == {3: {1: SlotLevel(4, "mo")}}
