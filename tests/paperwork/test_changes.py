"""What a rig file would change, where the file is silent and where a drawing knows a unit by its own name."""

from dataclasses import replace

from server.paperwork.changes import changes, findings_in, problems_in
from server.paperwork.csv import Row
from server.rig.place import Placed, Start
from server.rig.universe import Reserved
from tests.rigs import PROFILES, unit

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
