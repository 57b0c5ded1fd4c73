"""The tables of a pack, read by the standard library and compared with the state."""

import csv
import io

from server.paperwork.handover_csv import write_focus, write_looks, write_positions
from tests.handovers import worked

__all__: list[str] = []


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_focus_has_every_note_and_every_value_it_was_done_with() -> None:
    state = worked()
    found = rows(write_focus(state))
    done = [row for row in found if row["Channel"] == "1"]
    assert {row["Control"]: int(row["Raw"]) for row in done} == state.focus["a"].values
    assert (done[0]["Mark"], done[0]["By"], done[0]["Spot"]) == ("done", "Kit", "2 m SL")
    assert done[0]["Notes"] == "'=off the border"  # a spreadsheet would run it
    assert [row["Mark"] for row in found if row["Channel"] in "23"] == ["todo", "todo"]


def test_looks_have_every_value_as_a_share_raw_and_in_its_own_unit() -> None:
    state = worked()
    found = rows(write_looks(state))
    read = {(row["Look"].lstrip("'"), int(row["Channel"]), row["Control"]): row for row in found}
    kept = {
        (look.name, state.fixtures[f].channel, key): raw
        for look in state.looks.values()
        for f, raws in look.values.items()
        for key, raw in raws.items()
    }
    assert {place: int(row["Raw"]) for place, row in read.items()} == kept
    pan, dimmer = read["Preset", 1, "Pan"], read["Preset", 1, "Dimmer"]
    assert (float(pan["Fraction"]), float(pan["Physical"]), pan["Physical unit"]) == (1.0, 270.0, "Angle")
    assert (float(dimmer["Fraction"]), dimmer["Physical"]) == (round(128 / 255, 6), "")
    assert {row["Look"] for row in found} == {"Preset", "'@Night"}


def test_positions_are_what_moves_and_a_negative_angle_stays_a_number() -> None:
    state = worked()
    state.looks["one"].values["a"]["Pan"] = 0
    (row,) = rows(write_positions(state))
    assert (row["Control"], float(row["Physical"])) == ("Pan", -270.0)
