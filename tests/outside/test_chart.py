"""What is drawn up from a chart, written as GDTF, as somebody else reads it (pygdtf, on PyPI)."""

import io
import json
from typing import Any

import pytest

from server.paperwork.chart import draft_of
from server.paperwork.gdtf_out import write_gdtf
from server.paperwork.library import read_folder
from server.paperwork.profiles import profile_from_json
from server.places import profiles_folder

__all__: list[str] = []

pygdtf: Any = pytest.importorskip("pygdtf")

# Of each generic profile a chart as its manual would print it: a slot, what it is called, coarse or fine.
CALLED = {
    "Dimmer": "Dimmer", "Pan": "Pan", "Tilt": "Tilt", "Zoom": "Zoom", "Iris": "Iris", "Focus1": "Focus",
    "ColorAdd_R": "Red", "ColorAdd_G": "Green", "ColorAdd_B": "Blue", "ColorAdd_W": "White",
    "ColorAdd_RY": "Amber", "ColorAdd_UV": "UV", "ColorSub_C": "Cyan", "ColorSub_M": "Magenta",
    "ColorSub_Y": "Yellow", "CTO": "CTO", "CTC": "Colour temperature", "Frost1": "Frost", "Prism1": "Prism",
    "Shutter1": "Shutter", "Shutter1Strobe": "Strobe", "Gobo1": "Template wheel 1", "Color1": "Colour wheel",
    "PositionMSpeed": "Pan/tilt speed", "Fog1": "Fog", "Haze1": "Haze", "Fan1": "Fan", "Tint": "Tint",
    "Gobo1Pos": "Template 1 rotation", "Prism1Pos": "Prism rotation", "ColorAdd_GY": "Lime",
}  # fmt: skip


def test_a_chart_of_a_generic_profile_has_its_channels_and_slots_for_another_reader() -> None:
    tried = set()
    for ours in read_folder(profiles_folder()):
        for mode in ours.modes:
            real = [c for c in mode.controls if c.offsets]
            if any(c.attribute not in CALLED or c.cell is not None for c in real):
                continue
            tried.add(ours.key)
            slots = {slot: (c, at) for c in real for at, slot in enumerate(c.offsets)}
            lines = [
                f"{n}\t{CALLED[slots[n][0].attribute]}{' fine' * (slots[n][1] > 0)}\n" for n in sorted(slots)
            ]
            draft, report = draft_of("".join(lines), "Chart", "Nobody")
            assert report == [], ours.key
            read = pygdtf.FixtureType(io.BytesIO(write_gdtf(profile_from_json(json.dumps(draft)))))
            (theirs,) = read.dmx_modes
            found = {
                str(c.logical_channels[0].attribute.str_link): c.offset
                for c in theirs.dmx_channels
                if c.offset
            }
            assert found == {c.attribute: list(c.offsets) for c in real}, ours.key
    assert len(tried) >= 12
