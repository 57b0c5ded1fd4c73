"""Each thing that can be wrong with a profile is found, and said in words."""

from typing import Any

import pytest

from server.paperwork.problems import FileError
from server.paperwork.profiles import profile_from_json
from tests.paperwork.test_profiles import control, file, mode, two_cells

__all__: list[str] = []


def faults(*modes: dict[str, Any], **also: Any) -> list[str]:
    with pytest.raises(FileError) as refused:
        profile_from_json(file(*modes, **also))
    return [f"{p.where}: {p.why}" for p in refused.value.problems]


def fn(first: int, last: int, attribute: str = "Control1", **also: Any) -> dict[str, Any]:
    return {"attribute": attribute, "name": f"{first}-{last}", "dmx": [first, last]} | also


def parts(*functions: dict[str, Any], **also: Any) -> dict[str, Any]:
    return mode(1, control("Control1", 1, functions=list(functions), **also))


def reset(**also: Any) -> dict[str, Any]:
    return {"action": {"kind": "reset", "hold_s": 3, "release": 0, "words": "It moves."} | also}


@pytest.mark.parametrize(
    ("made", "why"),
    [
        (mode(2, control("Pan", 1, 2), control("Tilt", 2)), "slot 2 belongs to Pan and Tilt"),
        (mode(3, control("Pan", 1, 2)), "the footprint is 3, but the highest slot is 2"),
        (mode(4, control("Pan", 1, 4)), "nothing says what slots 2, 3 do"),
        (mode(2, control("Pan", 1), control("Pan", 2)), "has Pan twice"),
        (mode(1, control("Pan", 1), control("Iris")), "Iris has no slots and scales nothing"),
        (mode(1, control("Pan", 1, master="Grand")), "only an intensity"),
        (mode(1, control("Pan", 1, default=256)), "its default 256 lies in no function"),
        (mode(1, control("Pan", 1, home=256)), "its home 256 lies in no function"),
        (mode(1, control("Pan", 1, highlight=256)), "its highlight 256 lies in no function"),
        (
            mode(1, control("Pan", 1, guarded={"reason": "other", "safe": 256})),
            "safe value 256 lies in no function",
        ),
        (parts(fn(0, 99), fn(90, 255)), "0-99 and 90-255 overlap"),
        (parts(fn(0, 99), fn(110, 255)), "nothing says what 100 to 109 does"),
        (parts(fn(10, 255), default=10), "nothing says what 0 to 9 does"),
        (parts(fn(0, 99)), "nothing says what 100 to 255 does"),
        (parts(fn(0, 256)), "0 to 256 is not within 0 to 255"),
        (parts(fn(0, 255, ranges=[{"name": "a", "dmx": [9, 256]}])), "a reaches outside it"),
        (parts(fn(0, 255, ranges=[{"name": "a", "dmx": [9, 8]}])), "a reaches outside it"),
        (
            parts(fn(0, 255, ranges=[{"name": "a", "dmx": [0, 9]}, {"name": "b", "dmx": [9, 12]}])),
            "a and b overlap",
        ),
        (
            parts(fn(0, 255, ranges=[{"name": "a", "dmx": [0, 9], "slot": 1}])),
            "slot 1 of a wheel that has no such slot",
        ),
        (parts(fn(0, 255, wheel="W")), "there is no wheel W"),
        (parts(fn(0, 255, emitter="Red")), "there is no emitter Red"),
        (parts(fn(0, 255, mode_master={"control": "Gobo1", "dmx": [0, 9]})), "depends on Gobo1"),
        (
            parts(fn(0, 255, mode_master={"control": "Control1", "dmx": [0, 256]})),
            "depends on values that Control1 cannot have",
        ),
        (parts(fn(0, 9), fn(10, 255, **reset()), home=10), "its home 10 would set off 10-255"),
        (parts(fn(0, 9), fn(10, 255, **reset()), default=10), "its default 10 would set off 10-255"),
        (parts(fn(0, 9), fn(10, 255, **reset(release=256))), "cannot be released to 256"),
        (parts(fn(0, 9), fn(10, 255, **reset(release=11))), "releasing to 11 would hold it on"),
        (parts(fn(0, 9), fn(10, 255, "Shutter1Strobe"), home=10), "its home 10 would strobe"),
    ],
)
def test_a_fault_is_found_and_named(made: dict[str, Any], why: str) -> None:
    assert any(why in fault for fault in faults(made)), faults(made)


def test_all_faults_are_listed_with_mode_and_control() -> None:
    made = mode(2, control("Pan", 1, default=300), control("Tilt", 3, home=300))
    assert faults(made) == [
        "mode one: the footprint is 2, but the highest slot is 3",
        "mode one: nothing says what slots 2 do; write NoFeature for an unused one",
        "mode one, Pan: its default 300 lies in no function",
        "mode one, Pan: its home 300 lies in no function",
        "mode one, Tilt: its home 300 lies in no function",
    ]


def test_what_this_tool_never_drives_is_refused_by_name_and_by_attribute() -> None:
    assert "never drives flame" in faults(mode(1, control("Dimmer", 1)), name="Flame bar")[0]
    assert "never drives lasers" in faults(mode(1, control("Laser1", 1)))[0]


def test_two_modes_of_one_name_are_refused() -> None:
    assert faults(mode(1, control("Pan", 1)), mode(1, control("Pan", 1))) == ["mode one: is there twice"]


@pytest.mark.parametrize("xyY", [[0.3, 0, 1], [0.6, 0.5, 1], [-0.1, 0.3, 1], [0.3, 0.3, -1]])
def test_a_colour_that_no_light_has_is_refused(xyY: list[float]) -> None:  # noqa: N803 - CIE's spelling
    emitter = faults(mode(1, control("Pan", 1)), emitters={"E": {"xyY": xyY}})
    wheel = faults(mode(1, control("Pan", 1)), wheels={"W": [{"name": "S", "xyY": xyY}]})
    assert "no light has the colour" in emitter[0]
    assert wheel[0].startswith("wheel W, S")


def test_functions_may_share_values_where_mode_masters_tell_them_apart() -> None:
    either = [
        fn(0, 255, mode_master={"control": "Gobo1", "dmx": [0, 9]}),
        fn(0, 255, mode_master={"control": "Gobo1", "dmx": [10, 255]}),
    ]
    made = mode(2, control("Gobo1", 1), control("Control1", 2, functions=either))
    assert profile_from_json(file(made)).modes
    either[1]["mode_master"]["dmx"] = [9, 255]
    assert "overlap" in faults(made)[0]


@pytest.mark.parametrize(
    ("multiply", "why"),
    [
        ([{"master": "Dimmer", "followers": ["ColorAdd_R"]}], "Dimmer cannot scale others"),
        ([{"master": "Nothing", "followers": ["ColorAdd_R"]}], "Nothing cannot scale others"),
    ],
)
def test_only_a_control_without_slots_scales_others(multiply: list[Any], why: str) -> None:
    assert any(why in fault for fault in faults(two_cells(multiply=multiply)))


def test_a_follower_must_be_there_and_be_scaled_once() -> None:
    scaled = [{"master": "Dimmer", "followers": ["ColorAdd_W", "Iris", "Iris", "Zoom"]}]
    made = mode(1, control("Dimmer"), control("Iris", 1), multiply=scaled)
    assert faults(made) == [
        "mode one: Dimmer cannot scale ColorAdd_W",
        "mode one: Dimmer cannot scale Zoom",
        "mode one: Iris is scaled twice",
    ]
