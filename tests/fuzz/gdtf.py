"""Descriptions of fixtures (DIN SPEC 15800): a profile that can be kept, or problems in words."""

from server.paperwork.gdtf import read_gdtf
from server.paperwork.profiles import profile_from_json, profile_to_json
from tests.paperwork.gdtf_files import MAIN, channel, fixture, function, gdtf, mode, ranged, tag

__all__ = ["SEEDS", "WORDS", "one"]

_SETS = (ranged("Open", "0/1"), ranged("Slow", "32/1", PhysicalFrom=1, PhysicalTo=10), ranged("", "255/1"))
_CELLS = MAIN.replace(
    "></Geometry>",
    ">"
    + tag("GeometryReference", tag("Break", DMXBreak=1, DMXOffset=3), Name="Cell 1", Geometry="W")
    + "</Geometry>",
) + tag("Geometry", Name="W")
_DESCRIPTIONS = (
    fixture(mode(channel("Dimmer", 1), channel("Pan", "2,3"))),
    fixture(mode(channel("Shutter1", 1, function("Shutter1Strobe", *_SETS, PhysicalFrom=1, PhysicalTo=20)))),
    fixture(mode(channel("Dimmer", 1), channel("ColorAdd_R", 1, geometry="W")), geometries=_CELLS),
    fixture(
        mode(
            channel("Zoom", 1, function("Zoom", ModeMaster="Main_Dimmer", ModeFrom="0/1", ModeTo="9/1")),
            channel("Dimmer", "None"),
            relations=tag(
                "Relation", Master="Main_Dimmer", Follower="Main_Zoom.Zoom.Zoom 1", Type="Multiply"
            ),
        )
    ),
)
SEEDS = tuple(text.encode() for text in _DESCRIPTIONS)
WORDS = (
    *(b"DMXChannel", b"ChannelFunction", b"ChannelSet", b"LogicalChannel", b"GeometryReference", b"Relation"),
    *(b"Wheel", b"Emitter", b"DMXFrom", b"Offset", b"Default", b"Highlight", b"PhysicalFrom", b"ModeMaster"),
    *(
        b"255/1",
        b"65535/2",
        b"-1/1",
        b"nan",
        b"1e309",
        b"None",
        b"LampControl",
        b"Fog1",
        b"Color",
        b"0.3,0.3,50",
    ),
)


def one(data: bytes) -> None:
    """A description in an archive of its own, because no search finds its way through a checksum."""
    profile, problems = read_gdtf(gdtf(data.decode("utf-8", "replace")))
    if profile is None:
        assert problems
    else:
        assert profile_from_json(profile_to_json(profile)) == profile
    assert all(problem.why for problem in problems)
