"""What a rig file would change, where the file is silent and where a drawing knows a unit by its own name."""

from dataclasses import replace

from server.paperwork.changes import changes, problems_in
from server.paperwork.csv import Row
from server.rig.place import Placed, Start
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
