"""Our reading of GDTF files against pygdtf's, where that is right, and against a published layout."""

import io
from pathlib import Path
from typing import Any

import pytest

from server.paperwork.gdtf import read_gdtf
from server.rig.profile import Mode
from tests.paperwork.gdtf_files import channel, fixture, function, gdtf, mode, ranged, tag

__all__: list[str] = []

pygdtf: Any = pytest.importorskip("pygdtf")


def cell(name: str, first: int, geometry: str = "Pixel") -> str:
    place = tag("Break", DMXBreak=1, DMXOffset=first)
    return tag("GeometryReference", place, Name=name, Geometry=geometry)


MAIN = tag(
    "Geometry", tag("Axis", tag("Axis", tag("Beam", Name="Beam"), Name="Head"), Name="Yoke"), Name="Main"
)
PIXELS = tag("Geometry", *(cell(f"Cell {n}", 2 + 3 * n) for n in range(4)), Name="Main") + tag(
    "Geometry", Name="Pixel"
)
HEAD = mode(
    channel(
        "Pan", "1,2", function("Pan", Default="32768/2", PhysicalFrom=-270, PhysicalTo=270), geometry="Yoke"
    ),
    channel("Tilt", "3,4", function("Tilt", Default="32768/2"), geometry="Head"),
    channel("Zoom", "7,5,6", function("Zoom", Default="70000/3"), geometry="Beam"),
    channel(
        "Shutter1",
        8,
        function("Shutter1", ranged("Closed", "0/1"), ranged("Open", "32/1"), Default="40/1"),
        function("Shutter1Strobe", ranged("Slow", "64/1"), ranged("Fast", "100/1"), DMXFrom="64/1"),
        geometry="Beam",
        InitialFunction="Beam_Shutter1.Shutter1.Shutter1 1",
    ),
    channel(
        "Dimmer",
        9,
        function("Dimmer", Default="255/1"),
        InitialFunction="Beam_Dimmer.Dimmer.Dimmer 1",
        geometry="Beam",
    ),
    name="head",
)
BAR = mode(
    channel("Dimmer", 1, function("Dimmer")),
    *(channel(f"ColorAdd_{c}", n, geometry="Pixel") for n, c in enumerate("RGB", 1)),
    name="bar",
)
FILES = [pytest.param(HEAD, MAIN, id="head"), pytest.param(BAR, PIXELS, id="bar of cells")]
each_file = pytest.mark.parametrize(("made", "geometries"), FILES)


def ours(data: bytes) -> Mode:
    profile, problems = read_gdtf(data)
    assert problems == []
    assert profile is not None
    return profile.modes[0]


def theirs(data: bytes) -> Any:
    return pygdtf.FixtureType(io.BytesIO(data)).dmx_modes[0]


@each_file
def test_footprint_and_slots_are_those_that_pygdtf_finds(made: str, geometries: str) -> None:
    data = gdtf(fixture(made, geometries=geometries))
    assert ours(data).footprint == theirs(data).dmx_channels_count
    found = {(c.attribute, c.offsets) for c in ours(data).controls}
    read = {(str(c.logical_channels[0].attribute), tuple(c.offset)) for c in theirs(data).dmx_channels}
    assert found == read


@each_file
def test_functions_begin_and_end_where_pygdtf_says(made: str, geometries: str) -> None:
    # Its DMX values are right where they are written in as many bytes as the channel has slots.
    data = gdtf(fixture(made, geometries=geometries))
    read = {
        (str(f.attribute), f.dmx_from.value)
        for c in theirs(data).dmx_channels
        for logical in c.logical_channels
        for f in logical.channel_functions
    }
    assert {(f.attribute, f.first) for c in ours(data).controls for f in c.functions} == read


def test_sets_begin_where_pygdtf_says() -> None:
    data = gdtf(fixture(HEAD, geometries=MAIN))
    sets = {
        (s.name, s.dmx_from.value)
        for c in theirs(data).dmx_channels
        for f in c.logical_channels[0].channel_functions
        for s in f.channel_sets
    }
    assert {(r.name, r.first) for c in ours(data).controls for f in c.functions for r in f.ranges} == sets


def test_defaults_are_those_of_pygdtf_where_a_channel_names_its_initial_function() -> None:
    data = gdtf(fixture(HEAD, geometries=MAIN))
    named = [c for c in theirs(data).dmx_channels if c.initial_function and c.initial_function.str_link]
    read = {str(c.logical_channels[0].attribute): c.default.value for c in named}
    assert {"Shutter1": 40, "Dimmer": 255}.items() <= read.items()
    found = {c.attribute: c.default for c in ours(data).controls}
    assert read.items() <= found.items()


def test_a_file_that_pygdtf_writes_is_read(tmp_path: Path) -> None:
    data = gdtf(fixture(HEAD, geometries=MAIN))
    pygdtf.FixtureTypeWriter(pygdtf.FixtureType(io.BytesIO(data))).write_gdtf(tmp_path / "a.gdtf")
    assert ours((tmp_path / "a.gdtf").read_bytes()) == ours(data)


# A layout published for checking readers, re-made with names of our own: one dimmer at slot 1 and two
# cells whose parts lie interleaved, 3 4 7 9 and 5 6 8 11; slots 2 and 10 are free.
PARTS = "".join(
    tag("Geometry", tag("Beam", Name=f"{part} lamp"), Name=part) for part in ("Pair", "Third", "Fourth")
)
LAYOUT = tag(
    "Geometry",
    *(cell(f"{name} {part}", first, part) for name, firsts in (("A", (3, 7, 9)), ("B", (5, 8, 11)))
      for part, first in zip(("Pair", "Third", "Fourth"), firsts, strict=True)),
    Name="Main",
)  # fmt: skip
LAID_OUT = (
    channel("Dimmer", 1),
    channel("ColorAdd_R", 1, geometry="Pair"),
    channel("ColorAdd_G", 2, geometry="Pair lamp"),
    channel("ColorAdd_B", 1, geometry="Third lamp"),
    channel("ColorAdd_W", 1, geometry="Fourth lamp"),
)


def test_the_published_layout_comes_out_slot_by_slot() -> None:
    made = ours(gdtf(fixture(mode(*LAID_OUT), geometries=LAYOUT + PARTS)))
    assert made.footprint == 11
    slots = {
        name: sorted(s for c in made.controls if c.cell and c.cell.startswith(name) for s in c.offsets)
        for name in "AB"
    }
    assert slots == {"A": [3, 4, 7, 9], "B": [5, 6, 8, 11]}
    assert [c.offsets for c in made.controls if c.attribute == "Dimmer"] == [(1,)]
    assert sorted(s for c in made.controls if c.attribute == "NoFeature" for s in c.offsets) == [2, 10]


# Break 2 of the same layout: 1-2, then 4 3 5, 6-7 and 8-9, the last two decided by their references. The
# answer published with it is 20 slots, 11 and 9. No oracle is pygdtf 1.4.5: to it "Overwrite" is break 1, and
# channels on a child of a referenced geometry are not there.
SECOND = (
    channel("Pan", "1,2", DMXBreak=2),
    channel("Tilt", "4,3,5", DMXBreak=2),
    channel("Zoom", "1,2", geometry="Fifth lamp", DMXBreak="Overwrite"),
)
FIFTH = tag("Geometry", tag("Beam", Name="Fifth lamp"), Name="Fifth")
FIFTHS = "".join(
    tag(
        "GeometryReference",
        tag("Break", DMXBreak=1, DMXOffset=1),
        tag("Break", DMXBreak=2, DMXOffset=first),
        Name=f"{name} Fifth",
        Geometry="Fifth",
    )
    for name, first in (("A", 6), ("B", 8))
)


def test_its_second_start_address_comes_out_slot_by_slot() -> None:
    layout = LAYOUT.replace("</Geometry>", f"{FIFTHS}</Geometry>")
    made = ours(gdtf(fixture(mode(*LAID_OUT, *SECOND), geometries=layout + PARTS + FIFTH)))
    assert made.footprints == {1: 11, 2: 9}
    assert {c.key: c.offsets for c in made.controls if c.start == 2} == {
        "Pan": (1, 2),
        "Tilt": (4, 3, 5),
        "Zoom/A Fifth": (6, 7),
        "Zoom/B Fifth": (8, 9),
    }
    assert sorted(s for c in made.controls if c.attribute == "NoFeature" for s in c.offsets) == [2, 10]


def test_breaks_that_no_reference_decides_are_those_of_pygdtf() -> None:
    data = gdtf(fixture(mode(channel("Dimmer", 1), *SECOND[:2])))
    found = {(c.attribute, c.start, c.offsets) for c in ours(data).controls}
    read = {
        (str(c.logical_channels[0].attribute), c.dmx_break, tuple(c.offset))
        for c in theirs(data).dmx_channels
    }
    assert found == read


def test_rdm_ids_are_those_of_pygdtf() -> None:
    version = tag("SoftwareVersionID", tag("DMXPersonality", Value="2", DMXMode="one"), Value="10")
    rdm = tag("Protocols", tag("FTRDM", version, ManufacturerID="7FF0", DeviceModelID="1A"))
    data = gdtf(fixture(mode(channel("Dimmer", 1))).replace("</FixtureType>", f"{rdm}</FixtureType>"))
    profile, _ = read_gdtf(data)
    assert profile is not None
    read = next(p for p in pygdtf.FixtureType(io.BytesIO(data)).protocols if hasattr(p, "manufacturer_id"))
    (model,) = profile.rdm
    assert (model.manufacturer, model.model) == (read.manufacturer_id, read.device_model_id)
    (theirs_,) = read.software_versions
    assert model.software == int(str(theirs_.value), 16)
    assert model.personalities == {int(str(p.value), 16): p.dmx_mode for p in theirs_.dmx_personalities}
