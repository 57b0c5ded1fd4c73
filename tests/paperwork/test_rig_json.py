"""The rig as a JSON file of ours: out and in again the same, and all that is wrong with one said."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.paperwork.changes import changes
from server.paperwork.rig_json import is_json, read_rig_json, write_rig_json
from server.rig.patch import Fixture
from server.rig.place import Placed, Start
from tests.rigs import PROFILES, RIG, unit

__all__: list[str] = []

TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=12).map(str.strip)
FULL = unit(
    "full",
    "head",
    position="Brücke",
    unit="3A",
    channel=0,
    notes='=1+1\n"x"',
    cap=0.25,
    inverted=("Pan",),
    starts=(Start(2, 3, 4),),
    placed=Placed(1.5, -2.25, 3.125, uuid="u-1"),
    more={"Colour": "L201"},
)


def back(*fixtures: Fixture) -> list[Fixture]:
    sheet = read_rig_json(write_rig_json(fixtures).encode(), PROFILES)
    assert not sheet.problems
    ids = iter([f.id for f in fixtures])
    return list(changes(sheet.rows, (), ids.__next__).added)


def test_every_field_goes_out_and_comes_in() -> None:
    assert back(FULL, *RIG.values()) == [FULL, *RIG.values()]
    assert back() == []


@given(st.lists(st.builds(unit, st.just("a"), notes=TEXTS, purpose=TEXTS, cap=st.floats(0, 1)), max_size=4))
def test_whatever_is_written_reads_back_to_the_octet(some: list[Fixture]) -> None:
    assert write_rig_json(back(*some)) == write_rig_json(some)


def test_a_line_holds_a_fixture_without_the_id_it_has_here() -> None:
    lines = write_rig_json([FULL, RIG["spot"]]).splitlines()
    assert len(lines) == 8
    told = json.loads(lines[4].rstrip(","))
    assert "id" not in told
    assert told["position"] == "Brücke"


def test_what_a_fixture_does_not_name_stays_as_it_is() -> None:
    one = b'{"profile":"head","mode":"fine","position":"B","unit":"1"}'
    data = b'{"focuscall":"rig","version":1,"fixtures":[' + one + b"]}"
    sheet = read_rig_json(data, PROFILES)
    known = unit("a", "head", 11, position="B", unit="1", cap=0.5, notes="stiff", more={"Colour": "L201"})
    found = changes(sheet.rows, [known], str)
    assert (found.added, found.changed, found.removed) == ((), (), ())
    emptied = data.replace(b'"unit":"1"', b'"unit":"1","more":{},"notes":""')
    (after,) = changes(read_rig_json(emptied, PROFILES).rows, [known], str).changed
    assert (after.more, after.notes, after.cap) == ({}, "", 0.5)


@pytest.mark.parametrize(
    ("data", "where"),
    [
        (b"{", ""),
        (b"{}", "focuscall"),
        (b'{"focuscall":"rig","version":2,"fixtures":[]}', "version"),
        (b'{"focuscall":"rig","version":1,"fixtures":[{"profile":"head"}]}', "fixtures.0.mode"),
        (
            b'{"focuscall":"rig","version":1,"fixtures":[{"profile":"head","mode":"m","cap":2}]}',
            "fixtures.0.cap",
        ),
        (
            b'{"focuscall":"rig","version":1,"fixtures":[{"profile":"head","mode":"m","id":"x"}]}',
            "fixtures.0.id",
        ),
        (b'{"focuscall":"rig","version":1,"fixtures":[{"profile":"flame bar","mode":"m"}]}', "fixture 1"),
    ],
)
def test_what_is_wrong_is_said_by_its_place(data: bytes, where: str) -> None:
    sheet = read_rig_json(data, PROFILES)
    assert sheet.rows == []
    assert where in [problem.where for problem in sheet.problems]


@given(st.binary(max_size=200).map(lambda b: b"{" + b) | st.binary(max_size=200))
def test_any_bytes_give_rows_or_problems(data: bytes) -> None:
    sheet = read_rig_json(data, PROFILES)
    assert sheet.rows or sheet.problems


def test_a_file_of_ours_is_told_from_a_table() -> None:
    assert is_json(write_rig_json([]).encode())
    assert is_json(b"\xef\xbb\xbf\r\n {}")
    assert not is_json(b"Type,Mode\n")
    assert not is_json(b"")


def test_a_file_beyond_all_reason_is_not_read() -> None:
    assert "larger than" in read_rig_json(b"{" + b" " * 2**24, PROFILES).problems[0].why
