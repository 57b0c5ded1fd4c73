"""Values that others printed or worked out: percent, raw and physical."""

import pytest

from server.paperwork.library import read_folder
from server.places import profiles_folder
from server.rig.profile import Function, Range
from server.rig.values import fraction_from_raw, physical_from_raw, raw_from_fraction, raw_from_physical

__all__: list[str] = []


@pytest.mark.parametrize(
    ("percent", "raw"),
    [(0, 0), (1, 3), (5, 13), (10, 26), (25, 64), (33.3, 85), (50, 128), (66.7, 170), (75, 191), (99.9, 255)],
)
def test_percent_to_8_bit(percent: float, raw: int) -> None:
    # Round half up over the linear range 0-255 (common practice, no source: the DMX512 standards give
    # the linear range and no rule for percent). Worked out in whole numbers: (255 p + 50) // 100.
    assert raw_from_fraction(percent / 100, 255) == raw == int((255 * percent * 10 + 500) // 1000)


@pytest.mark.parametrize(
    ("percent", "coarse", "fine"),
    [(1, 2, 143), (10, 25, 154), (25, 64, 0), (33.3, 85, 63), (50, 128, 0), (80, 204, 204), (100, 255, 255)],
)
def test_percent_to_coarse_and_fine(percent: float, coarse: int, fine: int) -> None:
    # As above over 0-65535: floor(655.35 p + 0.5), most significant byte first.
    assert divmod(raw_from_fraction(percent / 100, 65535), 256) == (coarse, fine)


def test_whole_percent_to_a_byte_and_back_is_exact() -> None:
    # 0..100 are fewer than 256: each must come back.
    for percent in range(101):
        raw = raw_from_fraction(percent / 100, 255)
        assert int(fraction_from_raw(raw, 255) * 100 + 0.5) == percent


PAN = Function("Pan", "Pan", 0, 65535, (-270.0, 270.0), "Angle")
TILT = Function("Tilt", "Tilt", 0, 65535, (-135.0, 135.0), "Angle")
ZOOM = Function("Zoom", "Zoom", 0, 255, (46.0, 12.0), "Angle")
STROBE = Function("Shutter1Strobe", "Strobe", 64, 191, (0.5, 20.0), "Frequency")
COLOUR_SPIN = Function(
    "Color1WheelSpin", "Spin", 128, 255, (360.0, -360.0), "AngularSpeed",
    (Range("CW", 128, 190, (360.0, 6.0)), Range("Stop", 191, 192, (0.0, 0.0)),
     Range("CCW", 193, 255, (-6.0, -360.0))),
)  # fmt: skip
TEMPLATE_SPEED = Function(
    "Gobo1PosRotate", "Speed", 0, 255, (360.0, -360.0), "AngularSpeed",
    (Range("CW", 0, 126, (360.0, 3.0)), Range("Stop", 127, 128, (0.0, 0.0)),
     Range("CCW", 129, 255, (-3.0, -360.0))),
)  # fmt: skip


@pytest.mark.parametrize(
    ("function", "physical", "raw", "back"),
    [
        (PAN, -270, 0, -270),
        (PAN, 0, 32768, 0.004),
        (PAN, 90, 43690, 90),
        (PAN, 270, 65535, 270),
        (TILT, -45, 21845, -45),
        (TILT, 45.5, 43811, 45.5),
        (TILT, -12.25, 29794, -12.25),
        (ZOOM, 46, 0, 46),
        (ZOOM, 30, 120, 30),
        (ZOOM, 12, 255, 12),
        (STROBE, 0.5, 64, 0.5),
        (STROBE, 10, 126, 10.02),
        (COLOUR_SPIN, 0, 191, 0),
        (COLOUR_SPIN, 90, 175, 91.6),
        (TEMPLATE_SPEED, 0, 127, 0),
        (TEMPLATE_SPEED, -90, 160, -90.8),
    ],
)
def test_physical_to_raw_and_back(function: Function, physical: float, raw: int, back: float) -> None:
    # DIN SPEC 15800:2022-02 (GDTF), ChannelFunction and ChannelSet: straight line between PhysicalFrom
    # at DMXFrom and PhysicalTo at the end; a set with its own pair overrides it. Worked out by a
    # separate prototype from the standard's text, for invented ranges.
    assert raw_from_physical(function, physical) == raw
    assert physical_from_raw(function, raw) == pytest.approx(back, abs=0.05 if abs(back) > 50 else 0.005)


def test_without_a_stop_band_a_wheel_asked_to_stand_still_would_turn() -> None:
    bare = Function("Gobo1PosRotate", "Speed", 0, 255, (360.0, -360.0), "AngularSpeed")
    # Same source: 128 on the bare line is 1.4 degrees a second.
    assert raw_from_physical(bare, 0) == 128
    assert physical_from_raw(bare, 128) == pytest.approx(-1.4, abs=0.05)


def test_attributes_and_units_of_shipped_profiles_are_those_of_the_published_list() -> None:
    # DIN SPEC 15800:2022-02, Annex A and B, as data in pygdtf. The list gives Prism(n)Pos the unit
    # AngularSpeed although its text speaks of an angle.
    listed = pytest.importorskip("pygdtf.utils.attribute_definitions_data").ANNEX_ATTRIBUTE_DEFINITIONS
    units = {row["name"]: row["physical_unit"] or "None" for row in listed["attributes"]}
    for profile in read_folder(profiles_folder()):
        for mode in profile.modes:
            for control in mode.controls:
                where = f"{profile.key}, {mode.name}, {control.key}"
                assert _numberless(control.attribute) in units, where
                for function in control.functions:
                    unit = units[_numberless(function.attribute)]
                    assert unit in ("None", function.unit) or function.attribute == "Prism1Pos", where


def _numberless(attribute: str) -> str:
    return "".join("(n)" if letter.isdigit() else letter for letter in attribute)
