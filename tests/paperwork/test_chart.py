"""A pasted slot chart as a draft: whatever its columns and signs; nothing that can hurt is left unguarded."""

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.paperwork.chart import CHART_MOST, draft_of
from server.paperwork.profile_checks import problems_of
from server.paperwork.profiles import profile_from_json
from server.paperwork.unguarded import unguarded

__all__: list[str] = []

HEAD = """Channel\tFunction\tDMX\tDescription
1\tPan (540°)\t0-255\t
2\tPan fine\t0-255\t
3\tTilt coarse
4\tTilt (fine)
5\tDimmer\t0–255\t0-100 %
6\tShutter\t000-007\tclosed
\t\t8 - 15\topen
\t\t16…131\tStrobe slow to fast, 1-20 Hz
\t\t132 to 255\topen
7\tColour wheel\t0-10\tWhite
\t\t11-20\tRed
\t\t21-255\tRotation
8\tReset\t0-99\tno function
\t\t100-255\tReset
"""


def controls(text: str) -> dict[str, dict[str, Any]]:
    """The controls of a draft that may be used, by key."""
    draft, _ = draft_of(text, "A unit")
    assert draft is not None
    profile_from_json(draft)
    made = draft["modes"][0]["controls"]
    return {f"{c['attribute']}/{c['cell']}" if c.get("cell") else c["attribute"]: c for c in made}


def said(text: str) -> list[str]:
    return [str(problem) for problem in draft_of(text)[1]]


def test_a_chart_as_manuals_print_it_gives_a_profile_that_may_be_used() -> None:
    made = controls(HEAD)
    slots = {key: control["offset"] for key, control in made.items()}
    assert slots == {
        "Pan": [1, 2], "Tilt": [3, 4], "Dimmer": [5], "Shutter1": [6], "Color1": [7], "Control1": [8],
    }  # fmt: skip
    assert said(HEAD) == []
    assert made["Pan"]["home"] == 0x8000
    assert made["Pan"]["functions"][0]["physical"] == [-270, 270]
    shutter = made["Shutter1"]
    assert [(f["attribute"], f["dmx"]) for f in shutter["functions"]] == [
        ("Shutter1", [0, 15]), ("Shutter1Strobe", [16, 131]), ("Shutter1", [132, 255]),
    ]  # fmt: skip
    assert shutter["functions"][1]["physical"] == [1, 20]
    assert (shutter["home"], shutter["highlight"]) == (11, 11)  # in the middle of what is open
    assert made["Color1"]["functions"][1]["attribute"] == "Color1WheelSpin"
    assert made["Dimmer"]["highlight"] == 255
    assert made["Control1"]["functions"][1]["action"]["kind"] == "reset"
    assert made["Control1"]["guarded"]["reason"] == "control"


TABLE = [("1", "Red", "0-255"), ("2", "Green", "0-255"), ("3", "Blue", "0-255"), ("4", "Dimmer", "0-255")]


@settings(deadline=None)
@given(
    st.permutations([0, 1, 2]),
    st.sampled_from(["\t", ";", ","]),
    st.booleans(),
    st.sampled_from(["0-255", "0…255", "000–255", "0 - 255", "0 to 255"]),
)
def test_columns_stand_in_any_order_apart_by_any_sign_with_headings_or_without(
    order: list[int], sign: str, headed: bool, span: str
) -> None:
    rows = [("Slot", "Function", "DMX value")] * headed + [(slot, name, span) for slot, name, _ in TABLE]
    text = "\r\n".join(sign.join(row[at] for at in order) for row in rows)
    made = controls(text)
    assert {key: c["offset"] for key, c in made.items()} == {
        "ColorAdd_R": [1], "ColorAdd_G": [2], "ColorAdd_B": [3], "Dimmer": [4],
    }  # fmt: skip


@pytest.mark.parametrize(
    ("text", "slots"),
    [
        ("1\tPan\n2\tPan fine", [1, 2]),
        ("1\tPan\n2\tTilt\n3\tPan fine\n4\tTilt fine", [1, 3]),
        ("1/2\tPan", [1, 2]),
        ("1-2\tPan", [1, 2]),
        ("1+2\tPan", [1, 2]),
        ("1\tPan MSB\n2\tPan LSB", [1, 2]),
        ("1\tPan 16 bit\n3\tTilt", [1, 2]),
        ("1\tSchwenk grob\n2\tSchwenk fein", [1, 2]),
        ("1\tPan\n2\tPan fine\n3\tPan ultra fine", [1, 2, 3]),
        ("Ch 1   Pan\nCh 2   Pan fine", [1, 2]),
    ],
)
def test_coarse_and_fine_are_one_control(text: str, slots: list[int]) -> None:
    assert controls(text)["Pan"]["offset"] == slots


def test_percent_covers_the_whole_of_a_slot_without_gaps() -> None:
    made = controls("Slot;Name;%;What\n1;Colours;0-9;white\n;;10-49;red\n;;50-100;blue")
    ranges = made["Color1"]["functions"][0]["ranges"]
    assert [r["name"] for r in ranges] == ["white", "red", "blue"]
    assert ranges[0]["dmx"][0] == 0
    assert ranges[-1]["dmx"][1] == 255
    assert all(a["dmx"][1] + 1 == b["dmx"][0] for a, b in pairwise(ranges))


def test_ranges_of_a_wide_control_count_by_its_coarse_slot() -> None:
    made = controls("1/2\tGobo wheel\t0-9\topen\n\t\t10-255\tstars")
    assert [r["dmx"] for r in made["Gobo1"]["functions"][0]["ranges"]] == [[0, 2559], [2560, 65535]]
    made = controls("1/2\tGobo wheel\t0-2000\topen\n\t\t2001-65535\tstars")
    assert [r["dmx"] for r in made["Gobo1"]["functions"][0]["ranges"]] == [[0, 2000], [2001, 65535]]


def test_what_repeats_is_a_cell_each() -> None:
    made = controls(
        "".join(f"{n}\t{c} {(n + 2) // 3}\n" for n, c in enumerate(("Red", "Green", "Blue") * 3, 1))
    )
    assert list(made)[:4] == ["ColorAdd_R/1", "ColorAdd_G/1", "ColorAdd_B/1", "ColorAdd_R/2"]
    assert len(made) == 9


def test_gaps_doubles_and_what_cannot_be_read_are_said_by_line() -> None:
    text = (
        "1\tShutter\t0-10\tclosed\n\t\t20-255\topen\n2\tZoom\nsix\tIris\n4\tFrost\n4\tFocus\n5\tDimmer\t0-300"
    )
    told = said(text)
    assert "line 2: Nothing says what 11 to 19 does." in told
    assert 'line 4: "six" is no slot: they go from 1 to 512, and a control has up to 4.' in told
    assert "slot 3: Nothing says what it does; it stays at 0." in told
    assert "line 6: Slot 4 is Frost already." in told
    assert "line 7: 300 is more than a slot can carry; left out." in told
    draft, _ = draft_of(text)
    assert draft is not None
    assert draft["modes"][0]["footprint"] == 5


@pytest.mark.parametrize(
    ("name", "reason"),
    [
        ("Fog", "fog"), ("Smoke output", "fog"), ("Nebel", "fog"), ("Haze density", "haze"),
        ("Dunst", "haze"), ("Fan speed", "fan"), ("Lüfter", "fan"), ("Lamp control", "lamp"),
        ("Lampe", "lamp"), ("Ignition", "lamp"), ("Relay 1", "power"), ("Heater", "power"),
        ("Netzausgang", "power"), ("Special functions", "control"), ("Auto programs", "other"),
        ("Wobulation", "other"), ("Sound", "other"),
    ],
)  # fmt: skip
def test_what_can_hurt_and_what_nobody_knows_is_guarded(name: str, reason: str) -> None:
    draft, _ = draft_of(f"1\tDimmer\n2\t{name}\t0-9\toff\n\t\t10-255\tmore")
    assert draft is not None
    guards = [c["guarded"]["reason"] for c in draft["modes"][0]["controls"] if "guarded" in c]
    assert reason in guards
    profile = profile_from_json(draft)
    assert unguarded(profile) == problems_of(profile) == []
    # A machine that makes fog is guarded as a whole; the fan of a light is not the light.
    assert (profile.guard is not None) == (reason in ("fog", "haze"))


@pytest.mark.parametrize("text", ["1\tFlame height", "1 Laser", "2;CO2 jet", "1\tDimmer\n2\tPyro fire"])
def test_what_is_never_driven_gives_no_draft(text: str) -> None:
    draft, found = draft_of(text)
    assert draft is None
    assert "never drives" in found[0].why


def test_a_strobe_rests_where_it_does_not_flash_and_a_lamp_is_never_set_off_at_rest() -> None:
    made = controls(
        "1\tStrobe\n2\tLamp\t0-9\tidle\n\t\t10-19\tLamp on\n\t\t20-29\tLamp off\n\t\t30-255\tidle"
    )
    assert made["Shutter1Strobe"]["functions"][0] == {
        "attribute": "NoFeature", "name": "No strobe", "dmx": [0, 0],
    }  # fmt: skip
    lamp = made["Control1"]
    assert [f.get("action", {}).get("kind") for f in lamp["functions"]] == [None, "lamp_on", "lamp_off", None]
    assert lamp["guarded"]["reason"] == "lamp"
    assert lamp["home"] == 0


@pytest.mark.parametrize(
    "text", ["", "\n\n", "Dear all,\nthe get-in is at nine.", "Slot\tFunction", "x" * 10]
)
def test_text_that_is_no_chart_says_so(text: str) -> None:
    draft, found = draft_of(text)
    assert draft is None
    assert found[-1].why == "No line of it says which slot does what."


def test_a_chart_as_long_as_a_book_is_refused() -> None:
    assert "longer than 200,000" in draft_of("1\tPan\n" * (CHART_MOST // 5))[1][0].why
