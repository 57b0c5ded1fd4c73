"""What can flash by itself, and what holds it steady."""

import math
from typing import Any

import numpy as np

from server.rig.compiled import compile_rig
from server.rig.levels import flashes_of, settle
from server.rig.profile import Mode, ModeMaster, Range
from server.rig.strobe import flash_rate
from tests.rig.test_levels import asked, mixer
from tests.rigs import PROFILES, control, function, mode, profile, rig_of, unit

__all__: list[str] = []

STROBE = PROFILES["head"].modes[0].controls[3].functions[1]  # 1 to 20 Hz over 128 to 255


def left(key: str, how: dict[str, Any], **wanted: dict[str, float]) -> int:
    rig = rig_of(unit("a", "head", 1), unit("b", "head", 20))
    raw = settle(rig, asked(rig, **wanted), mixer(rig, **how))
    name, _, control_key = key.partition(" ")
    return int(raw[rig.row[name, control_key]])


def test_a_rate_is_the_profiles_figure_or_unknown() -> None:
    assert flash_rate(STROBE, 128) == 1
    assert flash_rate(STROBE, 255) == 20
    assert flash_rate(function("Shutter1Strobe"), 5) == math.inf
    assert flash_rate(function("Dimmer"), 5) == 0


def test_what_nobody_asked_to_flash_is_held_open() -> None:
    assert left("a Shutter1", {}, a={"Shutter1": 130}) == 100
    assert left("a Shutter1", {"flashing": ("a",)}, a={"Shutter1": 130}) == 130
    assert left("a Shutter1", {"flashing": ("b",)}, a={"Shutter1": 130}) == 100
    assert left("a Shutter1", {}, a={"Shutter1": 50}) == 50


def test_what_flashes_too_fast_is_held_open_whoever_asked() -> None:
    assert left("a Shutter1", {"flashing": ("a",)}, a={"Shutter1": 200}) == 100
    lifted: dict[str, Any] = {"flashing": ("a",), "lifted": "a"}
    assert left("a Shutter1", lifted, a={"Shutter1": 150}) == 150  # 4.3 a second
    assert left("a Shutter1", lifted, a={"Shutter1": 160}) == 100  # 5.8


def test_the_whole_rig_flashes_three_times_a_second_together() -> None:
    both: dict[str, Any] = {"flashing": ("a", "b")}
    assert left("b Shutter1", both, a={"Shutter1": 134}, b={"Shutter1": 128}) == 128  # 2 and 1
    assert left("b Shutter1", both, a={"Shutter1": 134}, b={"Shutter1": 130}) == 100  # 2 and 2
    assert left("a Shutter1", both, a={"Shutter1": 134}, b={"Shutter1": 130}) == 134
    rig = rig_of(unit("a", "head", 1), unit("b", "head", 20))
    raw = asked(rig, a={"Shutter1": 134}, b={"Shutter1": 128}).astype(np.int64)
    assert flashes_of(rig, raw, -1) == 3
    assert flashes_of(rig, raw, 0) == 1


def of(*modes: Mode, **raws: float) -> dict[str, int]:
    """What leaves of a single fixture in such a mode that nobody asked to flash."""
    rig = compile_rig([unit("a", "p", 1, mode=modes[0].name)], {"p": profile("p", *modes)})
    raw = settle(rig, asked(rig, a=raws), mixer(rig))
    return {key: int(raw[row]) for (_, key), row in rig.row.items()}


def test_flashing_that_depends_on_another_control_is_ended_there() -> None:
    frequency = function("StrobeFrequency", mode_master=ModeMaster("Shutter1", 100, 199))
    both = control("Shutter1", 1, home=255), control("StrobeFrequency", 2, functions=(frequency,))
    assert of(mode("m", *both), Shutter1=150, StrobeFrequency=90) == {"Shutter1": 255, "StrobeFrequency": 90}
    assert of(mode("m", *both), Shutter1=250, StrobeFrequency=90)["Shutter1"] == 250


def test_steady_is_open_where_home_would_flash_and_anything_else_where_nothing_is_called_open() -> None:
    opened = function("Shutter1", 0, 99, ranges=(Range("Closed", 0, 49), Range("Open", 50, 99)))
    flashes = function("Shutter1Strobe", 100, 255)
    assert of(mode("m", control("Shutter1", 1, home=200, functions=(opened, flashes)))) == {"Shutter1": 50}
    plain = function("NoFeature", 0, 99)
    assert of(mode("m", control("Shutter1", 1, home=200, functions=(flashes, plain)))) == {"Shutter1": 99}
    only = control("Shutter1", 1, home=9, functions=(function("Shutter1Strobe"),))
    assert of(mode("m", only)) == {"Shutter1": 9}  # nothing it could be held at: such a unit always flashes
