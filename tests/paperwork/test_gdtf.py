"""GDTF files made here, with names of our own, become profiles; what does not fit is said."""

from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.paperwork.gdtf import read_gdtf
from server.paperwork.profiles import profile_from_json, profile_to_json
from server.rig.light_up import light_up
from server.rig.profile import Control, Mode, Profile
from tests.paperwork.gdtf_files import channel, fixture, function, gdtf, mode, ranged, tag

__all__: list[str] = []


def read(*modes: str, **also: str) -> Profile:
    profile, problems = read_gdtf(gdtf(fixture(*modes, **also)))
    assert problems == []
    assert profile is not None
    return profile


def only(*channels: str, **also: str) -> Mode:
    (made,) = read(mode(*channels), **also).modes
    return made


def one(text: str) -> Control:
    (made,) = only(text).controls
    return made


def problems(*modes: str, **also: str) -> Iterator[str]:
    return (f"{p.where}: {p.why}" for p in read_gdtf(gdtf(fixture(*modes, **also)))[1])


def test_a_plain_light_is_read_and_survives_being_kept_as_json() -> None:
    profile = read(mode(channel("Dimmer", 1), channel("Pan", "2,3")))
    assert (profile.key, profile.maker, profile.short_name) == ("nobody-test-light", "Nobody", "TL")
    assert [(c.key, c.offsets, c.mastered) for c in profile.modes[0].controls] == [
        ("Dimmer", (1,), True),
        ("Pan", (2, 3), False),
    ]
    assert profile_from_json(profile_to_json(profile)) == profile


@pytest.mark.parametrize(
    ("written", "offset", "raw"),
    [
        # DIN SPEC 15800:2022-02, Table 1: mirrored without, shifted with "s".
        ("255/1", "1,2", 65535),
        ("255/1s", "1,2", 65280),
        ("128/1", "1,2", 32896),
        ("128/1", "1,2,3", 0x808080),
        ("128/1", "1,2,3,4", 0x80808080),
        ("4660/2", "1", 0x12),
        ("4660/2", "1,2", 0x1234),
        ("None", "1", 0),
    ],
)
def test_a_dmx_value_is_brought_to_the_width_of_its_channel(written: str, offset: str, raw: int) -> None:
    assert one(channel("Zoom", offset, function("Zoom", Default=written))).default == raw


def test_functions_end_where_the_next_one_begins_and_sets_too() -> None:
    shutter = function(
        "Shutter1", ranged("Closed", "0/1"), ranged("Open", "32/1", PhysicalFrom=1, PhysicalTo=1)
    )
    strobe = function("Shutter1Strobe", DMXFrom="64/1", PhysicalFrom=0.5, PhysicalTo=20)
    made = one(channel("Shutter1", 8, shutter, strobe).replace('Offset="8"', 'Offset="1"'))
    assert [(f.attribute, f.first, f.last, f.unit) for f in made.functions] == [
        ("Shutter1", 0, 63, "None"),
        ("Shutter1Strobe", 64, 255, "Frequency"),
    ]
    assert [(r.name, r.first, r.last, r.physical) for r in made.functions[0].ranges] == [
        ("Closed", 0, 31, None),
        ("Open", 32, 63, (1.0, 1.0)),
    ]
    assert light_up(Mode("m", 1, (made,)), 1, as_it_hangs=False) == {"Shutter1": 47}


def test_nameless_sets_and_those_outside_their_function_are_cut_or_left_out() -> None:
    first = function("Iris", ranged("Open", "0/1"), ranged("", "10/1"), ranged("Late", "90/1"))
    made = one(channel("Iris", 1, first, function("IrisStrobe", DMXFrom="50/1")))
    assert [(r.name, r.first, r.last) for r in made.functions[0].ranges] == [("Open", 0, 9)]


def test_a_gap_at_the_start_and_slots_nobody_names_do_nothing() -> None:
    made = only(channel("Zoom", 1, function("Zoom", DMXFrom="10/1")), channel("Iris", 4))
    zoom = made.control("Zoom")
    assert zoom is not None
    assert [(f.attribute, f.first, f.last) for f in zoom.functions] == [
        ("NoFeature", 0, 9),
        ("Zoom", 10, 255),
    ]
    assert {c.key: c.offsets for c in made.controls} == {
        "Zoom": (1,),
        "Iris": (4,),
        "NoFeature1": (2,),
        "NoFeature2": (3,),
    }


def test_the_default_is_that_of_the_initial_function_then_the_channels_then_the_firsts() -> None:
    both = (function("Zoom", Default="1/1"), function("Iris", Default="2/1", DMXFrom="100/1"))
    assert one(channel("Zoom", 1, *both)).default == 1
    assert one(channel("Zoom", 1, *both, Default="3/1")).default == 3
    assert one(channel("Zoom", 1, *both, Default="3/1", InitialFunction="Main_Zoom.Zoom.Iris 1")).default == 2


def test_mode_masters_are_linked_to_controls() -> None:
    angle = function("Gobo1Pos", ModeMaster="Main_Gobo1", ModeFrom="0/1", ModeTo="99/1")
    turn = function("Gobo1PosRotate", ModeMaster="Main_Gobo1", ModeFrom="100/1", ModeTo="255/1")
    made = only(channel("Gobo1", 1), channel("Gobo1Pos", "2,3", angle, turn)).controls[1]
    assert [
        (f.mode_master.control, f.mode_master.first, f.last) for f in made.functions if f.mode_master
    ] == [
        ("Gobo1", 0, 65535),
        ("Gobo1", 100, 65535),
    ]


CELLS = tag(
    "Geometry",
    tag("GeometryReference", tag("Break", DMXBreak=1, DMXOffset=2), Name="Left", Geometry="Pixel"),
    tag("GeometryReference", tag("Break", DMXBreak=1, DMXOffset=4), Name="Right", Geometry="Pixel"),
    Name="Main",
) + tag("Geometry", tag("Beam", Name="Glow"), Name="Pixel")


def test_references_become_cells_with_the_channels_of_their_children() -> None:
    made = only(
        channel("Dimmer", 1),
        channel("ColorAdd_R", 1, geometry="Pixel"),
        channel("ColorAdd_B", 2, geometry="Glow"),
        geometries=CELLS,
    )
    assert {c.key: c.offsets for c in made.controls} == {
        "Dimmer": (1,),
        "ColorAdd_R/Left": (2,),
        "ColorAdd_R/Right": (4,),
        "ColorAdd_B/Left": (3,),
        "ColorAdd_B/Right": (5,),
    }


def test_a_virtual_dimmer_scales_what_its_relations_name_in_every_cell() -> None:
    relation = tag(
        "Relation", Name="r", Type="Multiply", Master="Main_Dimmer", Follower="Pixel_ColorAdd_R.ColorAdd_R.x"
    )
    lost = tag("Relation", Name="r", Type="Multiply", Master="Main_Dimmer", Follower="Nowhere_Iris.Iris.x")
    channels = (channel("Dimmer", "None"), channel("ColorAdd_R", 1, geometry="Pixel"), channel("Iris", 1))
    profile, found = read_gdtf(gdtf(fixture(mode(*channels, relations=relation + lost), geometries=CELLS)))
    assert [p.why for p in found] == ["Main_Dimmer does not scale Nowhere_Iris.Iris.x: one is not there"]
    assert profile is not None
    (made,) = profile.modes
    assert made.multiply == {"Dimmer": ("ColorAdd_R/Left", "ColorAdd_R/Right")}


def test_colour_without_any_intensity_gets_a_virtual_one() -> None:
    made = only(channel("ColorAdd_R", 1), channel("coloradd_g", 2))
    assert made.multiply == {"Dimmer": ("ColorAdd_R", "ColorAdd_G")}


def test_parts_that_share_an_attribute_are_named_by_geometry() -> None:
    two = tag("Geometry", tag("Beam", Name="Upper"), tag("Beam", Name="Lower"), Name="Main")
    made = only(
        channel("Dimmer", 1, geometry="Upper"), channel("Dimmer", 2, geometry="Lower"), geometries=two
    )
    assert [c.key for c in made.controls] == ["Dimmer/Upper", "Dimmer/Lower"]


def test_resets_and_lamp_controls_become_guarded_actions() -> None:
    sets = (
        ranged("Nothing", "0/1"),
        ranged("Lamp on", "10/1"),
        ranged("Lamp off", "20/1"),
        ranged("", "30/1"),
    )
    lamp = function("LampControl", *sets)
    made = one(
        channel("LampControl", 1, lamp, function("FixtureGlobalReset", DMXFrom="200/1", Default="0/1"))
    )
    assert [(f.attribute, f.first, f.last, f.action.kind if f.action else None) for f in made.functions] == [
        ("NoFeature", 0, 9, None),
        ("LampControl", 10, 19, "lamp_on"),
        ("LampControl", 20, 29, "lamp_off"),
        ("NoFeature", 30, 199, None),
        ("FixtureGlobalReset", 200, 255, "reset"),
    ]
    assert made.guard is not None
    assert (made.guard.reason, made.guard.safe, made.home) == ("lamp", 0, 0)


def test_a_default_that_would_set_off_a_reset_is_moved() -> None:
    made = one(
        channel("Control1", 1, function("Control1"), function("PanReset", DMXFrom="99/1"), Default="120/1")
    )
    assert (made.default, made.home) == (0, 0)
    assert made.guard is not None


def test_a_unit_with_fog_is_guarded_as_a_whole() -> None:
    profile = read(mode(channel("Fog1", 1), channel("Fan1", 2), channel("Iris", 3)))
    assert profile.kind == "atmosphere"
    assert profile.guard is not None
    reasons = [c.guard.reason if c.guard else None for c in profile.modes[0].controls]
    assert reasons == ["fog", "fan", "fog"]
    assert light_up(profile.modes[0], 1, as_it_hangs=False) == {}


def test_a_strobe_that_begins_at_nothing_has_a_calm_value_to_rest_at() -> None:
    made = one(channel("StrobeFrequency", 1, function("StrobeFrequency", PhysicalFrom=0, PhysicalTo=25)))
    assert [(f.attribute, f.first, f.last) for f in made.functions] == [
        ("NoFeature", 0, 0),
        ("StrobeFrequency", 1, 255),
    ]


def test_wheels_and_emitters_are_taken_with_their_colours() -> None:
    slots = tag("Slot", Name="Open", Color="0.3127,0.3290,100") + tag("Slot", Name="Shut", Color="0,0,0")
    wheel = tag("Wheels", tag("Wheel", slots, Name="W"))
    lights = tag("Emitter", Name="Red", Color="0.7,0.29,20") + tag(
        "Emitter", Name="UV", DominantWaveLength="395"
    )
    picked = function("Color1", ranged("Open", "0/1", WheelSlotIndex=1), Wheel="W")
    red = function("ColorAdd_R", Emitter="Red")
    made = read(
        mode(channel("Color1", 1, picked), channel("ColorAdd_R", 2, red)),
        extra=wheel + tag("PhysicalDescriptions", tag("Emitters", lights)),
    )
    assert [s.xyY for s in made.wheels["W"]] == [(0.3127, 0.329, 100.0), None]
    assert (made.emitters["Red"].xyY, made.emitters["UV"].dominant_nm) == ((0.7, 0.29, 20.0), 395.0)
    wheel_control = made.modes[0].control("Color1")
    assert wheel_control is not None
    assert (wheel_control.functions[0].wheel, wheel_control.functions[0].ranges[0].slot) == ("W", 1)


def test_links_that_lead_nowhere_are_taken_out_and_said() -> None:
    lost = function("Color1", ranged("Open", "0/1", WheelSlotIndex=1), Wheel="W", Emitter="E")
    profile, found = read_gdtf(gdtf(fixture(mode(channel("Color1", 1, lost)))))
    assert profile is not None
    assert [p.why.split(" names ")[1] for p in found] == [
        "the wheel W, which is not there",
        "the emitter E, which is not there",
        "place 1 of a wheel without it",
    ]


def test_a_mode_that_cannot_be_read_is_named_and_the_others_are_kept() -> None:
    second = channel("Iris", 1, DMXBreak=17)
    both = mode(channel("Dimmer", 1)), mode(channel("Dimmer", 1), second, name="many breaks")
    profile, found = read_gdtf(gdtf(fixture(*both)))
    assert profile is not None
    assert [m.name for m in profile.modes] == ["one"]
    assert [(p.where, "1 to 16" in p.why) for p in found] == [("mode many breaks", True)]


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (
            channel("Zoom", "1", function("Zoom", DMXFrom="x")),
            'ChannelFunction DMXFrom="x" is not a DMX value',
        ),
        (channel("Zoom", "1", function("Zoom", DMXFrom="256/1")), "is not a DMX value"),
        (channel("Zoom", "1", function("Zoom", DMXFrom="-1/1")), "is not a DMX value"),
        (channel("Zoom", "1", function("Zoom", PhysicalTo="nan")), 'PhysicalTo="nan" is not a number'),
        (channel("Zoom", "1", function("Zoom", PhysicalTo="1e999")), "is not a number"),
        (channel("Zoom", "0"), "one to four slots"),
        (channel("Zoom", "513"), "one to four slots"),
        (channel("Zoom", "1,2,3,4,5"), "one to four slots"),
        (channel("Zoom", "500000000"), "one to four slots"),
        (channel("Zoom", "1", DMXBreak="300000000"), "DMXBreak"),
        (channel("Zoom", "1") + channel("Iris", "1"), "slot 1 belongs to Zoom and Iris"),
        (channel("Zoom", "1") + channel("Zoom", "2"), "has Zoom"),
    ],
)
def test_wrong_numbers_are_named_and_never_become_0(text: str, why: str) -> None:
    assert any(why in problem for problem in problems(mode(text)))
    assert read_gdtf(gdtf(fixture(mode(text))))[0] is None


def test_geometries_that_go_round_in_circles_are_refused() -> None:
    circle = tag("Geometry", tag("GeometryReference", Name="again", Geometry="Main"), Name="Main")
    assert any("nested without end" in p for p in problems(mode(channel("Zoom", 1)), geometries=circle))


def test_references_that_double_at_every_step_are_refused_at_once() -> None:
    steps = [
        tag(
            "Geometry",
            *(tag("GeometryReference", Name=f"{n}{s}", Geometry=f"G{n + 1}") for s in "ab"),
            Name=f"G{n}",
        )
        for n in range(26)
    ]
    doubling = "".join(steps) + tag("Geometry", Name="G26")
    assert any("nested" in p for p in problems(mode(channel("Zoom", 1), geometry="G0"), geometries=doubling))


def test_more_than_any_unit_has_is_refused() -> None:
    references = [tag("GeometryReference", Name=str(n), Geometry="Pixel") for n in range(2000)]
    many = tag("Geometry", *references, Name="Main") + tag("Geometry", Name="Pixel")
    made = mode(*(channel(f"Control{n}", n, geometry="Pixel") for n in range(1, 9)))
    assert any("more than 2048 controls" in p for p in problems(made, geometries=many))


def test_many_modes_of_many_cells_are_read_as_far_as_there_is_room() -> None:
    references = [tag("GeometryReference", Name=str(n), Geometry="Pixel") for n in range(500)]
    many = tag("Geometry", *references, Name="Main") + tag("Geometry", Name="Pixel")
    parts = [function("Iris", DMXFrom=f"{n}/1", Name=f"Part {n}") for n in range(30)]
    made = [mode(channel("Iris", 1, *parts, geometry="Pixel"), name=str(n)) for n in range(9)]
    found = [p.where for p in read_gdtf(gdtf(fixture(*made, geometries=many)))[1] if "more than" in p.why]
    assert found == [f"mode {n}" for n in range(1, 9)]


@pytest.mark.parametrize("name", ["Flame jet", "Confetti machine", "Chain hoist"])
def test_what_this_tool_never_drives_is_refused_by_name(name: str) -> None:
    profile, found = read_gdtf(gdtf(fixture(mode(channel("Dimmer", 1)), Name=name, LongName=name)))
    assert profile is None
    assert "never drives" in found[0].why


def test_a_laser_inside_is_refused() -> None:
    laser = tag("Geometry", tag("Laser", Name="Source"), Name="Main")
    assert any("laser" in p for p in problems(mode(channel("Dimmer", 1)), geometries=laser))


@pytest.mark.parametrize("text", ["<a/>", "<GDTF/>", "<GDTF><FixtureType/></GDTF>"])
def test_a_description_without_a_fixture_is_said_to_be_empty(text: str) -> None:
    profile, found = read_gdtf(gdtf(text))
    assert profile is None
    assert "holds no" in found[0].why


@given(st.binary(max_size=300))
def test_any_bytes_give_problems(data: bytes) -> None:
    profile, found = read_gdtf(data)
    assert profile is None
    assert found


WORDS = st.sampled_from(
    ["", "0/1", "1/1", "255/1", "65535/2", "9/9", "None", "1", "1,2", "2,1", "-1", "nan", "Main", "x.y.z",
     "Main_Dimmer", "Dimmer", "ColorAdd_R", "LampControl", "StrobeFrequency", "Fog1", "Overwrite", "2", "W"]
)  # fmt: skip
NAMES = {
    "ChannelFunction": (
        "Name", "Attribute", "DMXFrom", "Default", "PhysicalFrom", "PhysicalTo", "Wheel", "Emitter",
        "ModeMaster", "ModeFrom", "ModeTo",
    ),
    "ChannelSet": ("Name", "DMXFrom", "PhysicalFrom", "WheelSlotIndex"),
    "LogicalChannel": ("Attribute", "Snap"),
    "DMXChannel": ("DMXBreak", "Offset", "Default", "Highlight", "Geometry", "InitialFunction"),
    "Relation": ("Master", "Follower", "Type"),
    "Break": ("DMXBreak", "DMXOffset"),
    "GeometryReference": ("Name", "Geometry"),
}  # fmt: skip


@st.composite
def element(draw: st.DrawFn, name: str, *inside: str) -> str:
    chosen = draw(st.lists(st.sampled_from(NAMES[name]), unique=True))
    return tag(name, *inside, **{attribute: draw(WORDS) for attribute in chosen})


@st.composite
def descriptions(draw: st.DrawFn) -> str:
    channels = []
    for _ in range(draw(st.integers(1, 3))):
        sets = [draw(element("ChannelSet")) for _ in range(draw(st.integers(0, 2)))]
        functions = [draw(element("ChannelFunction", *sets)) for _ in range(draw(st.integers(0, 3)))]
        channels.append(draw(element("DMXChannel", draw(element("LogicalChannel", *functions)))))
    reference = draw(element("GeometryReference", draw(element("Break"))))
    geometries = tag("Geometry", reference, Name="Main") + tag("Geometry", Name="W")
    return fixture(mode(*channels, relations=draw(element("Relation"))), geometries=geometries)


@given(descriptions())
def test_any_description_gives_a_profile_that_can_be_kept_or_problems(text: str) -> None:
    profile, found = read_gdtf(gdtf(text))
    if profile is None:
        assert found
    else:
        assert profile_from_json(profile_to_json(profile)) == profile
