"""What papers say of a rig: in the trade's order, as it is now, and the same after the journey."""

from dataclasses import replace
from datetime import datetime

from server.paperwork.printed.rows import NOTES, SAID, Job, by_channel, ranges_of, rows, snapshot
from server.rig.universe import OffLimits
from server.stage.focus import Focus, FocusNote
from server.stage.state import Fault, OutOfUse
from tests.papers import job, unit
from tests.rigs import UNITS, state_with
from tests.rigs import unit as lamp

__all__: list[str] = []


def test_units_come_as_they_hang() -> None:
    numbers = (("LX 2", "10"), ("LX 1", "2"), ("LX 2", "3A"), ("LX 2", "3"), ("LX 2", "4"))
    hung = [
        lamp(f"u{at}", address=None, position=bar, unit=number) for at, (bar, number) in enumerate(numbers)
    ]
    found = rows(state_with(*hung), lambda _: True)
    in_order = ["LX 2 3", "LX 2 3A", "LX 2 4", "LX 2 10", "LX 1 2"]
    assert [f"{row.position} {row.unit}" for row in found] == in_order


def test_channels_come_upwards_and_those_without_one_at_the_end() -> None:
    hung = [unit(None, unit="1"), unit(10), unit(9, unit="2"), unit(9, unit="4")]
    assert [(u.channel, u.unit) for u in by_channel(hung)] == [(9, "2"), (9, "4"), (10, "3"), (None, "1")]


def test_a_row_tells_where_it_listens_what_is_wrong_and_by_whose_word() -> None:
    state = state_with(*UNITS)
    state.faults["head"] = Fault("Pan stutters", "mo")
    state.out_of_use["head"] = OutOfUse("ann", "lamp", {})
    state.faults["fog"] = Fault("empty", "somebody who left")
    found = {row.id: row for row in rows(state, lambda _: True)}
    head = found["head"]
    assert (head.channel, head.position, head.unit, head.type) == (21, "Bridge 1", "3", "Head")
    assert (head.spans, head.universes, head.addresses) == (((1, 11, 20),), "1", "11")
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


def test_what_is_done_is_told_as_it_was_focused_with_its_note_and_who_did_it() -> None:
    state = state_with(*UNITS)
    at = datetime(2026, 3, 1, 14, 5).timestamp()
    note = FocusNote(spot="centre", top="off the border")
    values = {"Pan": 65535, "Tilt": 32768}
    state.focus["head"] = Focus(None, "done", "Mo", at, note, values)
    state.focus["spot"] = Focus(None, "back", "Mo", at)
    found = {row.id: row for row in rows(state, lambda _: True, beams=True)}
    told = dict(zip(NOTES, found["head"].focus, strict=True))
    assert (told["spot"], told["top"], told["edge"], told["done"]) == (
        "centre",
        "off the border",
        "",
        "Mo, 14:05",
    )
    assert found["head"].beam[0] == "100 %, 50 %"
    state.holders["head"] = "mo"  # in a hand, it is what that hand asks for
    (again,) = rows(state, lambda f: f.id == "head", beams=True)
    assert again.beam[0] == "50 %, 50 %"
    assert set(found["spot"].focus) == {""}


def test_a_job_comes_through_its_journey_unchanged() -> None:
    limits = ranges_of([OffLimits(3, 400, 512, "aisle light")])
    sent = job(
        "hookup", unit(None, universe=None, address=None), unit(1, purpose="\ud800☂"), off_limits=limits
    )
    assert Job.from_json(sent.to_json()) == sent
    assert sent.units[0].spans == ()


def test_a_unit_with_two_start_addresses_tells_both() -> None:
    both = unit(1, spans=((2, 1, 10), (3, 101, 110)))
    assert (both.universes, both.addresses) == ("2\n3", "1\n101")


def test_what_its_own_sheet_said_of_a_unit_stands_in_its_column_or_in_the_notes() -> None:
    state = state_with(*UNITS)
    more = {"Circuit": "L 14", "Gel": "amber", "Watts": "750", "Farbe": "second", "Empty": " "}
    state.fixtures["head"] = replace(state.fixtures["head"], more=more, notes="Dented")
    (head,) = rows(state, lambda f: f.id == "head")
    assert dict(zip(SAID, head.said, strict=True)) == {
        "circuit": "L 14",
        "dimmer": "",
        "colour": "amber",
        "template": "",
    }
    assert head.notes == "Dented\nWatts: 750\nFarbe: second"
