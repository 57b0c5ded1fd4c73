"""What of a fixture file has no place here is named, by mode and channel."""

from server.paperwork.gdtf import read_gdtf
from tests.paperwork.gdtf_files import channel, fixture, function, gdtf, mode, tag

__all__: list[str] = []


def test_what_has_no_place_here_is_named_by_channel() -> None:
    curved = function("Iris", DMXProfile="Square", RealAcceleration="0.5", CustomName="Own")
    twice = function("Zoom", tag("SubChannelSet", Name="s"), RealFade="1.5")
    measured = tag("Emitter", tag("Measurement"), Name="Red", Color="0.7,0.29,20")
    extra = tag(
        "PhysicalDescriptions",
        tag("Emitters", measured),
        tag("DMXProfiles", tag("DMXProfile", Name="Square")),
    )
    relation = tag("Relation", Type="Override", Master="Main_Iris", Follower="Main_Zoom.Zoom.Zoom 1")
    body = mode(
        channel("Iris", 1, curved), channel("Zoom", 2, twice), channel("Tilt", "None"), relations=relation
    )
    body = body.replace("<FTMacros>", "<FTMacros>" + tag("FTMacro", Name="Lamp"))
    profile, found = read_gdtf(gdtf(fixture(body, extra=extra)))
    assert profile is not None
    zoom = profile.modes[0].control("Zoom")
    assert zoom is not None
    assert zoom.functions[0].real_fade_s == 1.5
    assert {(p.where, p.why) for p in found} == {
        ("mode one", "Tilt has no slots and scales nothing"),
        ("mode one", "the relation Main_Iris over Main_Zoom.Zoom.Zoom 1 (Override) is not followed"),
        ("mode one", "the sequence Lamp (FTMacro) is not kept"),
        ("mode one, Iris", "the acceleration (RealAcceleration) is not kept"),
        ("mode one, Iris, Iris 1", "follows the curve Square; here it is a straight line"),
        ("mode one, Iris, Iris 1", "its own name Own is not kept"),
        ("mode one, Zoom, Zoom 1", "its second physical unit (SubChannelSet) is not kept"),
        ("emitter Red", "its measured spectrum is not kept"),
        ("DMX profile Square", "a curve is not kept"),
    }


def test_more_that_is_left_out_than_anybody_reads_is_counted() -> None:
    channels = [channel(f"Control{n}", n, function(f"Control{n}", DMXProfile="X")) for n in range(1, 151)]
    found = read_gdtf(gdtf(fixture(mode(*channels))))[1]
    assert (len(found), found[-1].why) == (101, "and 50 more")
