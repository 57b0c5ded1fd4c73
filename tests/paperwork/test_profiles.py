"""Profile files become profiles, cells expanded; profiles become JSON and come back the same."""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.paperwork.problems import FileError
from server.paperwork.profiles import profile_from_json, profile_to_json

__all__: list[str] = []


def control(attribute: str, *offset: int, **also: Any) -> dict[str, Any]:
    last = (1 << 8 * (len(offset) or 2)) - 1
    whole = {"attribute": attribute, "dmx": [0, last]}
    return {"attribute": attribute, "offset": list(offset), "default": 0, "functions": [whole]} | also


def file(*modes: dict[str, Any], **also: Any) -> dict[str, Any]:
    names = {"schema": 1, "key": "a", "name": "A light", "short_name": "A", "kind": "light"}
    return names | also | {"modes": list(modes)}


def mode(footprint: int, *controls: dict[str, Any], **also: Any) -> dict[str, Any]:
    return {"name": "one", "footprint": footprint, "controls": list(controls)} | also


def two_cells(**also: Any) -> dict[str, Any]:
    cells = [{"name": "Cell 1", "offset": 2}, {"name": "Cell 2", "offset": 5}]
    parts = [control(f"ColorAdd_{c}", place) for place, c in enumerate("RGB", 1)]
    return mode(7, control("Dimmer", 1), cells=cells, cell_controls=parts, **also)


def test_cells_are_expanded_and_named_after_a_slash() -> None:
    (made,) = profile_from_json(file(two_cells())).modes
    assert [(c.key, c.cell, c.offsets) for c in made.controls] == [
        ("Dimmer", None, (1,)),
        ("ColorAdd_R/Cell 1", "Cell 1", (2,)),
        ("ColorAdd_G/Cell 1", "Cell 1", (3,)),
        ("ColorAdd_B/Cell 1", "Cell 1", (4,)),
        ("ColorAdd_R/Cell 2", "Cell 2", (5,)),
        ("ColorAdd_G/Cell 2", "Cell 2", (6,)),
        ("ColorAdd_B/Cell 2", "Cell 2", (7,)),
    ]


def test_a_follower_that_only_cells_have_means_all_of_them() -> None:
    cells = [{"name": "1", "offset": 1}, {"name": "2", "offset": 2}]
    scaled = [{"master": "Dimmer", "followers": ["ColorAdd_W"]}]
    made = mode(2, control("Dimmer"), multiply=scaled, cells=cells, cell_controls=[control("ColorAdd_W", 1)])
    assert profile_from_json(file(made)).modes[0].multiply == {"Dimmer": ("ColorAdd_W/1", "ColorAdd_W/2")}


def test_a_mode_that_mixes_colour_without_an_intensity_gets_a_virtual_one() -> None:
    (made,) = profile_from_json(file(mode(2, control("ColorAdd_R", 1), control("ColorAdd_G", 2)))).modes
    dimmer = made.control("Dimmer")
    assert dimmer is not None
    assert (dimmer.offsets, dimmer.maximum, dimmer.mastered) == ((), 65535, True)
    assert made.multiply == {"Dimmer": ("ColorAdd_R", "ColorAdd_G")}


def test_in_a_cell_a_mode_master_is_the_control_of_that_cell() -> None:
    either = [
        {"attribute": "Gobo1Pos", "dmx": [0, 255], "mode_master": {"control": "Gobo1", "dmx": [0, 99]}},
        {
            "attribute": "Gobo1PosRotate",
            "dmx": [0, 255],
            "mode_master": {"control": "Gobo1", "dmx": [100, 255]},
        },
    ]
    parts = [control("Gobo1", 1), control("Gobo1Pos", 2, functions=either)]
    (made,) = profile_from_json(file(mode(2, cells=[{"name": "1", "offset": 1}], cell_controls=parts))).modes
    masters = [f.mode_master.control for c in made.controls for f in c.functions if f.mode_master]
    assert masters == ["Gobo1/1", "Gobo1/1"]


def test_the_guard_of_a_unit_lies_on_each_of_its_controls() -> None:
    fogger = file(mode(2, control("Fog1", 1), control("Fan1", 2)), guarded={"reason": "fog"})
    (made,) = profile_from_json(fogger).modes
    assert [c.guard.reason for c in made.controls if c.guard] == ["fog", "fog"]


def test_unused_slots_are_numbered_when_there_are_several() -> None:
    (one,) = profile_from_json(file(mode(1, control("NoFeature", 1)))).modes
    (two,) = profile_from_json(file(mode(2, control("NoFeature", 1), control("NoFeature", 2)))).modes
    assert [c.key for c in (*one.controls, *two.controls)] == ["NoFeature", "NoFeature1", "NoFeature2"]


def test_only_an_intensity_follows_the_master_unless_the_file_says_not_even_that() -> None:
    controls = [control("Dimmer", 1, master="None"), control("Iris", 2)]
    assert [c.mastered for c in profile_from_json(file(mode(2, *controls))).modes[0].controls] == [
        False,
        False,
    ]
    assert profile_from_json(file(mode(1, control("Dimmer", 1)))).modes[0].controls[0].mastered


def test_what_is_written_reads_back_the_same() -> None:
    action = {"kind": "reset", "hold_s": 3, "release": 0, "words": "It moves.", "busy_s": 20}
    functions = [
        {"attribute": "NoFeature", "name": "Idle", "dmx": [0, 9]},
        {"attribute": "FixtureGlobalReset", "dmx": [10, 255], "action": action},
    ]
    wheel = {"attribute": "Color1", "dmx": [0, 255], "wheel": "W", "physical": [0.5, 2], "unit": "Angle"}
    wheel |= {"ranges": [{"name": "Open", "dmx": [0, 9], "slot": 1, "physical": [1, 1]}]}
    body = file(
        two_cells(),
        mode(1, control("Control1", 1, functions=functions, guarded={"reason": "control"}), name="two"),
        mode(3, control("Tilt", 3, 1, invert=True), control("Dimmer", 2, master="None"), name="three"),
        mode(1, control("Color1", 1, functions=[wheel], snap=True, highlight=4), name="four"),
        wheels={"W": [{"name": "Open", "xyY": [0.3, 0.3, 90]}, {"name": "Red"}]},
        emitters={"UV": {"dominant_nm": 395}, "Red": {"xyY": [0.7, 0.29, 20]}},
        notes="Something.",
        guarded={"reason": "other", "safe": 3},
    )
    profile = profile_from_json(body)
    assert profile_from_json(json.dumps(profile_to_json(profile))) == profile


def test_defaults_are_left_out_of_what_is_written() -> None:
    out = profile_to_json(profile_from_json(file(mode(1, control("Dimmer", 1)))))
    assert out["modes"] == [
        {
            "name": "one",
            "footprint": 1,
            "controls": [
                {
                    "key": "Dimmer",
                    "attribute": "Dimmer",
                    "offset": [1],
                    "default": 0,
                    "home": 0,
                    "highlight": None,
                    "functions": [{"attribute": "Dimmer", "name": "Dimmer", "dmx": [0, 255]}],
                }
            ],
        }
    ]


def test_where_light_flashes_is_written_and_follows_from_the_attribute() -> None:
    # GDTF (DIN SPEC 15800), Annex A: ShutterNStrobe..., IrisPulse..., StrobeFrequency; not how long it is.
    names = ("Shutter1", "Shutter1StrobePulse", "StrobeFrequency", "IrisPulseOpen", "StrobeDuration", "Iris")
    rest = {"attribute": "NoFeature", "dmx": [0, 9]}  # where each is at home: nothing flashes by itself
    controls = [
        control(name, at, functions=[rest, {"attribute": name, "dmx": [10, 255]}])
        for at, name in enumerate(names, 1)
    ]
    profile = profile_from_json(file(mode(6, *controls)))
    out = profile_to_json(profile)
    functions = {c["key"]: c["functions"][1] for c in out["modes"][0]["controls"]}
    assert [name for name, it in functions.items() if it.get("strobes")] == list(names[1:4])
    assert profile_from_json(out) == profile
    functions["Shutter1"]["strobes"], functions["StrobeFrequency"]["strobes"] = True, False
    assert profile_from_json(out) == profile  # a file cannot say otherwise


def test_every_fault_of_form_is_named_with_its_place() -> None:
    wrong = file(mode(1, control("Dimmer", 1, colour="red")), kind="laser")
    del wrong["name"]
    with pytest.raises(FileError) as refused:
        profile_from_json(wrong)
    assert {(p.where, p.why) for p in refused.value.problems} >= {
        ("name", "is missing"),
        ("modes 1 controls 1 colour", "is not a word of the profile format"),
    }
    assert any(p.where == "kind" for p in refused.value.problems)


@pytest.mark.parametrize("number", ["NaN", "Infinity", "1e999", "-1e999", '"5"', "true", "null"])
def test_a_physical_value_must_be_a_finite_number(number: str) -> None:
    text = json.dumps(file(mode(1, control("Dimmer", 1)))).replace(
        '"dmx": [0, 255]', f'"dmx": [0, 255], "physical": [0, {number}]'
    )
    with pytest.raises(FileError):
        profile_from_json(text)


def test_more_controls_than_any_unit_has_are_refused_before_they_are_made() -> None:
    cells = [{"name": str(n), "offset": 1} for n in range(512)]
    with pytest.raises(FileError, match="more than 2048"):
        profile_from_json(file(mode(1, cells=cells, cell_controls=[control("Dimmer", 1)] * 512)))


def test_more_functions_than_any_unit_has_are_refused_before_they_are_made() -> None:
    cells = [{"name": str(n), "offset": n} for n in range(1, 501)]
    pieces = [{"name": str(n), "dmx": [n, n]} for n in range(101)]
    full = control("Iris", 1, functions=[{"attribute": "Iris", "dmx": [0, 255], "ranges": pieces}])
    with pytest.raises(FileError, match="more than 50000"):
        profile_from_json(file(mode(500, cells=cells, cell_controls=[full])))


@pytest.mark.parametrize("piece", [b"1,", b"{},", b'"a":1,', b"[],"])
def test_a_file_that_is_wrong_a_million_times_is_refused_before_it_is_read(piece: bytes) -> None:
    for data in (b'{"modes":[' + piece * 1_000_000 + b"1]}", b"{" + piece * 1_000_000 + b'"a":1}'):
        with pytest.raises(FileError, match="is this a profile") as wrong:
            profile_from_json(data)
        assert len(wrong.value.problems) == 1


def test_no_more_than_a_hundred_faults_are_told() -> None:
    with pytest.raises(FileError) as wrong:
        profile_from_json(b'{"modes":[' + b"1," * 50_000 + b"1]}")
    assert len(wrong.value.problems) == 100


@given(st.binary(max_size=300) | st.text(max_size=300).map(str.encode))
def test_any_bytes_give_a_profile_or_a_file_error(data: bytes) -> None:
    with pytest.raises(FileError):
        profile_from_json(data)


NUMBERS = st.integers(-1, 300) | st.sampled_from([65535, 2**32])


@given(st.lists(st.tuples(NUMBERS, NUMBERS, NUMBERS, NUMBERS), max_size=4), NUMBERS)
def test_any_numbers_give_a_profile_that_comes_back_or_a_file_error(
    rows: list[tuple[int, int, int, int]], footprint: int
) -> None:
    controls = [
        control(f"Control{n}", slot, default=raw, functions=[{"attribute": "Control1", "dmx": [first, last]}])
        for n, (slot, raw, first, last) in enumerate(rows, 1)
    ]
    try:
        profile = profile_from_json(file(mode(footprint, *controls)))
    except FileError:
        return
    assert profile_from_json(profile_to_json(profile)) == profile
