"""In which order changes are undone, and by whom."""

from server.stage.order import in_the_way, not_theirs
from server.stage.state import Before, Change, Look, State, Undone
from tests.rigs import state_with

__all__: list[str] = []


def change(number: int, *about: str, undone: int = 0, before: Before | None = None) -> Change:
    mark = Undone("kit", undone) if undone else None
    return Change(number, 0.0, "mo", "Mo", about, ["x"], before or Before(), 0, mark)


def state_of(*changes: Change) -> State:
    state = state_with()
    state.changes = {each.number: each for each in changes}
    return state


def test_only_what_is_later_about_the_same_and_not_undone_is_in_the_way() -> None:
    first = change(2, "fixture spot", "fixture head")
    others = (change(1, "fixture spot"), change(3, "fixture wash"), change(4, "fixture head", undone=5))
    assert in_the_way(state_of(first, *others), first) is None
    last = change(6, "fixture head")
    assert in_the_way(state_of(first, *others, last), first) == "Mo changed 21 after that. Undo that first."


def test_what_is_never_undone_is_never_in_the_way() -> None:
    first, mark = change(1, "fixture spot"), Change(2, 0.0, "mo", "Mo", ("fixture spot",), ["x"], None)
    assert in_the_way(state_of(first, mark), first) is None


def test_done_again_is_what_was_undone_last() -> None:
    one, two = change(1, "master", undone=4), change(2, "master", undone=3)
    state = state_of(one, two)
    assert in_the_way(state, one) is None
    assert in_the_way(state, two) == "Kit undid a change of the master after that. Do that again first."


def test_values_of_a_mode_wait_for_the_change_of_that_mode() -> None:
    look = change(1, "look one", before=Before(looks={"one": Look("one", "One", {"head": {"Pan": 1}})}))
    assert in_the_way(state_of(look, change(2, "fixture head")), look) is None
    assert in_the_way(state_of(look, change(2, "fixture head", "patch head")), look) is not None


def test_who_may_undo_is_the_author_and_the_lead_and_the_other_way_who_undid_it() -> None:
    state, mine, undone = state_of(), change(1), change(1, undone=2)
    assert not_theirs(state, "mo", mine) is not_theirs(state, "ann", mine) is None
    assert not_theirs(state, "kit", undone) is not_theirs(state, "ann", undone) is None
    assert not_theirs(state, "kit", mine) == "Mo did that. Only Mo or the lead can undo it."
    assert not_theirs(state, "mo", undone) == "Kit undid that. Only Kit or the lead can do it again."
