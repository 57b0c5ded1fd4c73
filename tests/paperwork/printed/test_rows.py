"""What papers say of a rig: in the trade's order, as it is now, and the same after the journey."""

from hypothesis import given
from hypothesis import strategies as st

from server.paperwork.printed.rows import Job, by_channel, by_hanging, limits_of, rows, snapshot
from server.rig.universe import OffLimits
from server.stage.state import Fault, OutOfUse
from tests.papers import job, unit
from tests.rigs import UNITS, state_with

__all__: list[str] = []


def test_units_come_in_the_order_of_their_numbers() -> None:
    hung = [unit(at, unit=number) for at, number in enumerate(("10", "3A", "3", "2", "3b", "", "L 2"))]
    assert [u.unit for u in by_hanging(hung)] == ["", "2", "3", "3A", "3b", "10", "L 2"]


def test_positions_come_as_the_rig_first_names_them() -> None:
    hung = [unit(1, position="LX 2"), unit(2, position="LX 1"), unit(3, position="LX 2")]
    assert [u.channel for u in by_hanging(hung)] == [1, 3, 2]


def test_channels_come_upwards_and_those_without_one_at_the_end() -> None:
    hung = [unit(None, unit="1"), unit(10), unit(9, unit="4"), unit(9, unit="2")]
    assert [(u.channel, u.unit) for u in by_channel(hung)] == [(9, "2"), (9, "4"), (10, "3"), (None, "1")]


@given(st.lists(st.text(max_size=30)))
def test_any_unit_numbers_can_be_put_in_order(numbers: list[str]) -> None:
    hung = [unit(at, unit=number) for at, number in enumerate(numbers)]
    assert sorted(by_hanging(hung)) == sorted(hung)


def test_a_row_tells_where_it_listens_what_is_wrong_and_by_whose_word() -> None:
    state = state_with(*UNITS)
    state.faults["head"] = Fault("Pan stutters", "mo")
    state.out_of_use["head"] = OutOfUse("ann", "lamp", {})
    state.faults["fog"] = Fault("empty", "somebody who left")
    found = {row.id: row for row in rows(state, lambda _: True)}
    head = found["head"]
    assert (head.channel, head.position, head.unit, head.type) == (21, "Bridge 1", "3", "Head")
    assert (head.universe, head.address, head.slots, head.last) == (1, 11, 10, 20)
    assert (head.fault, head.fault_by, head.out, head.out_by) == ("Pan stutters", "Mo", "lamp", "Ann")
    assert (found["fog"].fault, found["fog"].fault_by) == ("empty", "")


def test_only_what_is_wanted_is_in_it() -> None:
    assert [row.id for row in rows(state_with(*UNITS), lambda f: f.house)] == ["aisle"]


def test_a_snapshot_stays_as_it_was() -> None:
    state = state_with(*UNITS)
    state.hand["head"] = {"Pan": 1}
    kept = snapshot(state)
    state.hand["head"]["Pan"] = 2
    state.faults["head"] = Fault("late", "mo")
    del state.fixtures["wash"]
    assert kept.hand["head"]["Pan"] == 1
    assert "wash" in kept.fixtures
    assert not kept.faults
    assert not kept.pins
    assert rows(kept, lambda f: f.id == "wash", beams=True)


def test_a_job_comes_through_its_journey_unchanged() -> None:
    limits = limits_of([OffLimits(3, 400, 512, "aisle light")])
    sent = job(
        "hookup", unit(None, universe=None, address=None), unit(1, purpose="\ud800☂"), off_limits=limits
    )
    assert Job.from_json(sent.to_json()) == sent
    assert sent.units[0].last is None
