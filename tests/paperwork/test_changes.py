"""What a rig file would change, where the file is silent and where a drawing knows a unit by its own name."""

from dataclasses import replace
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from server.paperwork.changes import changes, findings_in, problems_in
from server.paperwork.csv import Row, Unread
from server.rig.place import Placed, Start
from server.rig.universe import Reserved
from server.stage import commands
from server.stage.decide import Rules
from server.stage.holds import Refused
from server.stage.stage import Stage
from server.stage.state import Fault, Look, SlotLevel, State
from tests.rigs import PROFILES, RIG, state_with, unit

__all__: list[str] = []

ROW = Row(7, "3", "Bridge 1", "Door", "dimmer", "one", 1, 20, where="line 2")
DRAWN = Placed(1, 2, 3, uuid="u-1")


def test_what_the_file_is_silent_about_stays() -> None:
    known = unit("a", position="Bridge 1", unit="3", house=True, placed=DRAWN, starts=(Start(2, 1, 9),))
    row = replace(ROW, silent=frozenset({"placed", "starts", "house"}))
    (after,) = changes([row], [known], str).changed
    assert (after.placed, after.starts, after.house) == (DRAWN, (Start(2, 1, 9),), True)
    assert (after.channel, after.address) == (7, 20)
    (bare,) = changes([ROW], [known], str).changed
    assert (bare.placed, bare.starts, bare.house) == (None, (), False)


def test_a_unit_is_known_by_the_drawings_name_for_it_before_its_place() -> None:
    there = unit("a", position="Bridge 1", unit="3")
    moved = unit("b", position="Boom", unit="9", placed=DRAWN)
    found = changes([replace(ROW, placed=DRAWN)], [there, moved], str)
    assert [f.id for f in found.changed] == ["b"]
    assert [f.id for f in found.removed] == ["a"]


def test_a_row_that_cannot_be_patched_is_named_by_its_place_in_the_file() -> None:
    found = changes([ROW, replace(ROW, unit="4", where="line 3")], [], iter("xy").__next__)
    (problem,) = problems_in(found, [], PROFILES, [])
    assert problem.where == "line 3"
    assert "listens at 1.20" in problem.why


def test_a_file_that_is_only_part_of_the_rig_takes_nothing_out_when_told_so() -> None:
    others = [unit("a", position="Boom", unit="1"), unit("b", position="Boom", unit="2")]
    assert [f.id for f in changes([ROW], others, str).removed] == ["a", "b"]
    kept = changes([ROW], others, lambda: "new", keep=True)
    assert ([f.id for f in kept.added], kept.removed) == (["new"], ())


def test_further_columns_are_merged_and_an_empty_cell_takes_one_out() -> None:
    known = unit(
        "a", position="Bridge 1", unit="3", more={"Colour": "L201", "Circuit": "C 12", "Watts": "650"}
    )
    row = replace(ROW, more={"Colour": "L202"}, headings=frozenset({"Colour", "Circuit"}))
    (after,) = changes([row], [known], str).changed
    assert after.more == {"Watts": "650", "Colour": "L202"}
    (whole,) = changes([replace(row, whole=True)], [known], str).changed
    assert whole.more == {"Colour": "L202"}


def test_a_cap_stays_unless_the_file_has_one() -> None:
    known = unit("a", position="Bridge 1", unit="3", cap=0.5)
    assert changes([ROW], [known], str).changed[0].cap == 0.5
    assert changes([replace(ROW, cap=0.8)], [known], str).changed[0].cap == 0.8
    assert changes([ROW], [], lambda: "new").added[0].cap == 1.0


def test_no_row_takes_the_fixture_that_another_names_better() -> None:
    there = unit("a", position="Bridge 1", unit="3", channel=7)
    first = replace(ROW, position="Boom", unit="1", address=50)  # of the same channel, in another place
    found = changes([first, ROW], [there], lambda: "new")
    assert [f.id for f in found.changed] == ["a"]
    assert found.changed[0].position == "Bridge 1"
    assert [(f.id, f.position) for f in found.added] == [("new", "Boom")]


def test_a_unit_that_moved_is_known_by_its_channel_when_that_names_only_one() -> None:
    there = unit("a", position="Boom", unit="9", channel=7)
    assert [f.id for f in changes([ROW], [there], str).changed] == ["a"]
    twice = [there, unit("b", position="Boom", unit="10", channel=7)]
    assert [f.id for f in changes([ROW], twice, lambda: "new").added] == ["new"]


def test_what_has_no_place_is_known_by_its_address_or_by_all_it_says() -> None:
    bare = unit("a", address=20, mode="one"), unit("b", address=None, mode="one", purpose="Spare")
    rows = [
        replace(ROW, channel=None, unit="", position="", purpose="Spare", universe=None, address=None),
        replace(ROW, channel=None, unit="", position="", purpose="Door"),
    ]
    found = changes(rows, bare, str)
    assert (found.added, found.removed) == ((), ())
    assert [(f.id, f.purpose) for f in found.changed] == [("a", "Door")]


def test_what_may_be_meant_is_a_warning_and_what_forbids_a_row_is_not() -> None:
    rows = [
        ROW,
        replace(ROW, unit="4", address=21, where="line 3"),
        replace(ROW, channel=8, address=22, where="line 4"),
    ]
    found = changes(rows, [], iter("xyz").__next__)
    problems, warnings = findings_in(found, [], PROFILES, [], [Reserved(1, 20, 20, "visitors")])
    assert [(p.where, "such as 3A" in p.why) for p in problems] == [("line 4", True)]
    assert [w.where for w in warnings] == ["line 2", "line 3"]
    problems, warnings = findings_in(found, [], PROFILES, [], even_so=True)
    assert problems == []
    assert [w.where for w in warnings] == ["line 3", "line 4"]


def test_four_thousand_rows_find_four_thousand_fixtures() -> None:
    there = [unit(f"f{n}", position=f"P{n % 40}", unit=str(n), channel=n % 7) for n in range(4000)]
    rows = [
        Row(f.channel, f.unit, f.position, "", f.profile, f.mode, f.universe, f.address)
        for f in reversed(there)
    ]
    found = changes(rows, there, str)
    assert (found.added, found.changed, found.removed) == ((), (), ())


def test_what_cannot_be_read_keeps_the_unit_it_names_and_where_it_names_none_every_one() -> None:
    there = [
        unit(name, position="Boom", unit=number, channel=n)
        for n, (name, number) in enumerate([("a", "1"), ("b", "2")])
    ]
    bad = Row(None, "1", "Boom", "", "", "", None, None, where="line 3")
    found = changes([], there, str, unread=[Unread(bad, sure=True)])
    assert ([f.id for f in found.stays], [f.id for f in found.removed]) == (["a"], ["b"])
    by_channel = replace(bad, unit="", position="", channel=1)
    found = changes([], there, str, unread=[Unread(by_channel, sure=True)])
    assert ([f.id for f in found.stays], [f.id for f in found.removed]) == (["b"], ["a"])
    nobody = replace(bad, unit="9")
    assert len(changes([], there, str, unread=[Unread(nobody, sure=True)]).removed) == 2
    found = changes([], there, str, unread=[Unread(nobody, sure=False)])
    assert (found.removed, found.unsure) == ((), True)


def test_left_out_a_known_unit_stays_where_it_is_and_so_do_those_that_wanted_its_place() -> None:
    there = [
        unit(name, position="Boom", unit=name, address=at) for name, at in (("a", 1), ("b", 2), ("c", 3))
    ]
    rows = [
        replace(ROW, position="Boom", unit="a", channel=None, address=2, where="line 2"),
        replace(ROW, position="Boom", unit="b", channel=None, address=3, where="line 3"),
        replace(ROW, position="Boom", unit="c", channel=None, address=3, mode="none such", where="line 4"),
    ]
    found = changes(rows, there, str)
    assert {p.where for p in findings_in(found, there, PROFILES, [])[0]} == {"line 4"}
    problems, _ = findings_in(found, there, PROFILES, [], leave_out=True)
    assert [p.where for p in problems] == ["line 2", "line 3", "line 4"]


WORDS = st.sampled_from(["", "Key", "Door"])
FIELD = st.one_of(
    st.tuples(st.just("purpose"), WORDS),
    st.tuples(st.just("address"), st.integers(1, 300)),
    st.tuples(st.just("notes"), WORDS),
    st.tuples(st.just("channel"), st.integers(1, 9)),
)


@given(
    kept=st.lists(st.sampled_from([f.id for f in RIG.values()]), unique=True),
    others=st.lists(FIELD, min_size=len(RIG), max_size=len(RIG)),
    new=st.lists(st.integers(400, 405), unique=True),
    keep=st.booleans(),
)
def test_a_file_taken_in_and_undone_leaves_everything_as_it_was(
    kept: list[str], others: list[tuple[str, Any]], new: list[int], keep: bool
) -> None:
    state = state_with()
    state.looks, state.baseline = (
        {"one": Look("one", "One", {"head": {"Pan": 8}, "spot": {"Dimmer": 7}})},
        "one",
    )
    state.holders, state.hand = {"head": "ann"}, {"head": {"Pan": 5}}
    state.recalled, state.order = {"wash": {"Dimmer": 1}}, ("spot", "head")
    state.faults, state.slots = {"spot": Fault("dark", "ann")}, {1: {402: SlotLevel(9, "ann")}}
    stage = Stage(Rules(), state)
    rows = [_row(replace(RIG[f], **dict([other]))) for f, other in zip(kept, others, strict=False)]
    rows += [replace(ROW, unit=str(at), channel=at, address=at, where=f"new {at}") for at in new]
    found = changes(rows, RIG.values(), iter(map(str, range(99))).__next__, keep)
    removed = tuple(f.id for f in found.removed)
    before = _standing(state)
    put = (*found.added, *found.changed)
    asked = stage.ask(commands.ChangePatch("ann", put, removed), 1000.0)
    if isinstance(asked, Refused):
        assert _standing(state) == before
        return
    number = state.changed
    if put or removed:
        assert len(state.changes) == 1
        assert not isinstance(stage.ask(commands.Undo("ann", number), 1001.0), Refused)
    assert _standing(state) == before


def _row(fixture: Any) -> Row:
    names = [name for name in Row.__slots__ if hasattr(fixture, name)]
    return Row(**{name: getattr(fixture, name) for name in names}, whole=True, where=fixture.id)


def _standing(state: State) -> dict[str, Any]:
    names = ("fixtures", "profiles", "looks", "baseline", "holders", "hand", "recalled", "faults", "order")
    slots = {u: dict(levels) for u, levels in state.slots.items() if levels}
    layers = {name: getattr(state, name) for name in names}
    return {"slots": slots} | {n: dict(v) if isinstance(v, dict) else v for n, v in layers.items()}
