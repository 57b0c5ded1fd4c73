"""Two packs compared: only what differs, whatever units are called by."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from server.paperwork.handover import Pack
from server.paperwork.handover_compare import Compared, Difference, compare
from server.stage.state import Fault, Look, State
from tests.handovers import packed, worked
from tests.rigs import unit

__all__: list[str] = []


def against(then: Pack, state: State) -> Compared:
    return compare(then, packed(state))


def test_each_kind_of_difference_is_told_with_what_was_and_is() -> None:
    then, state = packed(), worked()
    b, c = state.fixtures["b"], state.fixtures["c"]
    state.fixtures["a"] = replace(state.fixtures["a"], address=101)
    state.fixtures["b"] = replace(b, position="Boom", unit="9")
    state.fixtures["c"] = replace(c, profile="mover", mode="4-slot")
    state.fixtures["d"] = unit("d", "plain", mode="2-slot", channel=4, position="Floor", address=31)
    state.faults["c"] = Fault("Flickers", "mo")
    state.looks["one"] = Look("one", "Preset", {"a": {"Dimmer": 1}, "b": state.looks["one"].values["b"]})
    found = against(then, state)
    assert found.readdressed == (Difference("1 (LX 1, 1)", "1/1", "1/101"),)
    assert found.moved == (Difference("2 (Boom, 9)", "2 (LX 1, 2)", "2 (Boom, 9)"),)
    assert found.retyped == (Difference("3 (Boom, 1)", "Plain, 2-slot", "Mover, 4-slot"),)
    assert [each.now for each in found.added] == ["Plain, 2-slot"]
    assert found.new == (Difference("3 (Boom, 1)", "", "Flickers"),)
    assert found.still == (Difference("2 (Boom, 9)", "Yoke bent", "Yoke bent"),)
    assert found.looks == (("Preset", ("1 (LX 1, 1)",)),)
    back = compare(packed(state), then)
    assert [each.was for each in back.gone] == ["Plain, 2-slot"]
    assert back.over == (Difference("3 (Boom, 1)", "Flickers"),)


def test_another_show_knows_its_units_by_place_then_by_channel() -> None:
    then, state = packed(), worked()
    other = [replace(f, id=f"new-{f.id}") for f in state.fixtures.values()]
    other[2] = replace(other[2], position="Tower", unit="5")
    state.fixtures = {f.id: f for f in other}
    state.looks, state.cases = {}, {}
    found = against(then, state)
    assert not found.added
    assert not found.gone
    assert [each.unit for each in found.moved] == ["3 (Tower, 5)"]
    assert [each.unit for each in found.over] == ["2 (LX 1, 2)"]


NAMES = st.sampled_from(["", "1", "2", "LX 1"])
UNITS = st.lists(
    st.builds(
        unit,
        st.sampled_from("abcdefgh"),
        channel=st.none() | st.integers(1, 3),
        position=NAMES,
        unit=NAMES,
        address=st.integers(1, 400),
    ),
    max_size=8,
)


def state_of(units: list[object]) -> State:
    state = worked()
    state.fixtures = {f.id: f for f in units}  # type: ignore[attr-defined,misc]
    return state


@given(UNITS, UNITS)
def test_a_pack_differs_from_itself_in_nothing_and_no_unit_counts_twice(
    one: list[object], other: list[object]
) -> None:
    first, second = packed(state_of(one)), packed(state_of(other))
    same = compare(first, first)
    assert same == Compared(still=same.still)
    assert [each.was for each in same.still] == [fault.words for fault in first.faults]
    found = compare(first, second)
    assert len(first.units) - len(found.gone) == len(second.units) - len(found.added)
    assert len(found.still) + len(found.new) == len(second.faults)
    assert len(found.still) + len(found.over) <= len(first.faults)
