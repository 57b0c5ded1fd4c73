"""What is handed over, as it is kept to be compared."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.paperwork.handover import PACK_MOST, NotAPackError, checksum, label, read_pack, write_pack
from tests.handovers import packed, worked

__all__: list[str] = []


def test_a_pack_says_what_hangs_where_what_is_broken_and_what_looks_ask_for() -> None:
    state = worked()
    pack = packed(state)
    units = {unit.id: unit for unit in pack.units}
    assert [units[i].starts for i in "abc"] == [["1/1"], ["1/11"], ["1/21"]]
    assert (units["a"].type, units["a"].mode, label(units["a"])) == ("Mover", "4-slot", "1 (LX 1, 1)")
    assert [(f.fixture, f.words, f.status) for f in pack.faults] == [("b", "Yoke bent", "open")]
    looks = {look.name: look.units for look in pack.looks}
    assert looks["Preset"].keys() == {"a", "b"}
    assert looks["Preset"]["a"] == checksum({"Pan": 65535, "Dimmer": 128})


def test_a_checksum_is_that_of_the_values_and_not_of_their_order() -> None:
    # SHA-256 of {"a":1,"b":2}, its first twelve digits: printf '{"a":1,"b":2}' | sha256sum
    assert checksum({"b": 2, "a": 1}) == checksum({"a": 1, "b": 2}) == "43258cff783f"
    assert checksum({"a": 1, "b": 3}) != checksum({"a": 1, "b": 2})


def test_a_pack_is_read_back_as_it_was_written() -> None:
    assert read_pack(write_pack(packed())) == packed()


@given(st.binary(max_size=200) | st.text(max_size=60).map(str.encode))
def test_whatever_else_is_no_pack(data: bytes) -> None:
    with pytest.raises(NotAPackError, match=r"not a hand-over pack"):
        read_pack(data)


@pytest.mark.parametrize(
    "change",
    [
        {"version": 2},
        {"focuscall": "show"},
        {"units": [1]},
        {"at": float("nan")},
        {"extra": 1},
        {"show": "x" * 400},
        {"faults": [{"fixture": "nobody", "words": "", "status": "open"}]},
        {"units": 2 * json.loads(write_pack(packed()))["units"]},
        {"looks": [{"name": "a", "units": {"a": "<b>"}}]},
    ],
)
def test_a_pack_with_a_part_that_cannot_be_is_none(change: dict[str, object]) -> None:
    text = json.dumps(json.loads(write_pack(packed())) | change)
    with pytest.raises(NotAPackError):
        read_pack(text.encode())


def test_neither_depth_nor_length_hurts() -> None:
    with pytest.raises(NotAPackError):
        read_pack(b"[" * 1_000_000)
    with pytest.raises(NotAPackError, match="more than"):
        read_pack(b" " * (PACK_MOST + 1))
