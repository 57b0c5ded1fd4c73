"""Slots of several start addresses, and of cells that leave theirs to the reference."""

from server.paperwork.gdtf import read_gdtf
from server.rig.profile import Mode
from tests.paperwork.gdtf_files import MAIN, channel, fixture, gdtf, mode, tag

__all__: list[str] = []


def only(*channels: str, geometries: str = MAIN) -> Mode:
    profile, problems = read_gdtf(gdtf(fixture(mode(*channels), geometries=geometries)))
    assert problems == []
    assert profile is not None
    return profile.modes[0]


def test_slots_of_a_second_start_address_are_kept_apart() -> None:
    made = only(channel("Dimmer", 1), channel("Pan", "1,2", DMXBreak=2), channel("Tilt", "4,5", DMXBreak=2))
    assert (made.footprint, made.further) == (1, {2: 5})
    assert {c.key: (c.start, c.offsets) for c in made.controls} == {
        "Dimmer": (1, (1,)),
        "Pan": (2, (1, 2)),
        "Tilt": (2, (4, 5)),
        "NoFeature": (2, (3,)),
    }


def test_a_reference_decides_the_break_of_what_leaves_it_open() -> None:
    def place(name: str, *breaks: tuple[int, int]) -> str:
        given = (tag("Break", DMXBreak=b, DMXOffset=first) for b, first in breaks)
        return tag("GeometryReference", *given, Name=name, Geometry="Pixel")

    two = tag("Geometry", place("A", (1, 2), (2, 5)), place("B", (1, 3), (2, 1)), Name="Main")
    made = only(
        channel("Dimmer", 1),
        channel("Iris", 1, geometry="Pixel"),
        channel("Zoom", "1,2", geometry="Pixel", DMXBreak="Overwrite"),
        geometries=two + tag("Geometry", Name="Pixel"),
    )
    found = {c.key: (c.start, c.offsets) for c in made.controls if c.attribute != "NoFeature"}
    assert found == {
        "Dimmer": (1, (1,)),
        "Iris/A": (1, (2,)),
        "Iris/B": (1, (3,)),
        "Zoom/A": (2, (5, 6)),
        "Zoom/B": (2, (1, 2)),
    }
