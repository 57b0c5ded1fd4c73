"""An invented venue and show to try everything on: no such house, no such play, generic fixtures only."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from server.rig.light_up import light_up
from server.rig.patch import Fixture
from server.rig.profile import Profile
from server.stage import events
from server.stage.events import Event
from server.stage.state import Look, Show

__all__ = ["demo_events"]

VENUE = Show(name="The Salt Ferry", venue="Marrow Street Playhouse")


@dataclass(frozen=True, slots=True)
class Row:
    """Fixtures of one kind beside each other: channels and units count up from the first."""

    universe: int
    position: str
    channel: int
    unit: int
    profile: str
    mode: str
    purposes: tuple[str, ...]


RIG = (
    Row(1, "Bridge", 1, 1, "dimmer", "1-slot", ("Area 1 warm", "Area 2 warm", "Area 3 warm", "Area 4 warm")),
    Row(1, "Bridge", 5, 5, "profile-5-colour", "6-slot with intensity", ("Area 1 cool", "Area 2 cool")),
    Row(1, "Bridge", 7, 7, "profile-5-colour", "6-slot with intensity", ("Area 3 cool", "Area 4 cool")),
    Row(1, "Bridge", 11, 9, "profile-engine", "7-slot emitters", ("Ferry deck", "Ticket window", "Bench")),
    Row(1, "Bridge", 14, 12, "fresnel-led", "5-slot 16 bit", ("Front fill left", "Front fill right")),
    Row(1, "Bridge", 91, 14, "dimmer", "1-slot", ("House show light left", "House show light right")),
    Row(1, "Bridge", 95, 16, "dimmer", "1-slot", ("Deck work light",)),
    Row(2, "LX 1", 21, 1, "moving-spot-cmy", "26-slot 16 bit", ("Special A", "Special B", "Special C")),
    Row(2, "LX 1", 24, 4, "moving-spot-cmy", "26-slot 16 bit", ("Special D",)),
    Row(
        1, "LX 1", 25, 5, "rgbw-wash", "5-slot with intensity", ("Top light 1", "Top light 2", "Top light 3")
    ),
    Row(1, "LX 1", 28, 8, "blinder-2", "2-slot", ("Into the house",)),
    Row(
        2,
        "LX 2",
        31,
        1,
        "moving-wash-led",
        "17-slot 16 bit position",
        ("Wash A", "Wash B", "Wash C", "Wash D"),
    ),
    Row(
        1,
        "LX 2",
        35,
        5,
        "rgba-wash",
        "5-slot with intensity",
        ("Back light 1", "Back light 2", "Back light 3"),
    ),
    Row(1, "LX 2", 38, 8, "strobe", "4-slot", ("Storm",)),
    Row(2, "LX 3", 41, 1, "moving-framing", "38-slot blades by corner", ("Sail", "Wheelhouse door")),
    Row(3, "LX 3", 43, 3, "batten-8", "24-slot RGB cells", ("Cloth left", "Cloth middle", "Cloth right")),
    Row(3, "LX 3", 46, 6, "cyc-rgbl", "5-slot with intensity", ("Sky left", "Sky middle", "Sky right")),
    Row(3, "LX 3", 49, 9, "uv-flood", "1-slot", ("Night water",)),
    Row(3, "Boom left", 51, 1, "rgbw-wash", "5-slot with intensity", ("Low side", "Mid side", "High side")),
    Row(
        3, "Boom left", 54, 4, "tunable-white", "2-slot intensity and temperature", ("Head high", "Quay lamp")
    ),
    Row(3, "Boom right", 61, 1, "rgbw-wash", "5-slot with intensity", ("Low side", "Mid side", "High side")),
    Row(
        3, "Boom right", 64, 4, "tunable-white", "2-slot intensity and temperature", ("Head high", "Fog horn")
    ),
    Row(3, "Floor", 71, 1, "moving-beam", "16-slot 16 bit position", ("Mast left", "Mast right")),
    Row(3, "Floor", 73, 3, "rgbwa-uv-wash", "7-slot with intensity", ("Hull glow left", "Hull glow right")),
    Row(3, "Floor", 75, 5, "hazer", "2-slot", ("River mist",)),
    Row(3, "Floor", 76, 6, "relay", "1-slot", ("Power for the lantern",)),
    Row(3, "Floor", 81, 7, "scroller", "1-slot", ("Colour of the moon",)),
    Row(3, "Floor", 82, 8, "dimmer", "1-slot", ("Moon box", "Lantern on the table")),
)
HOUSE = frozenset({1, 2, 3, 4, 14, 15, 91, 92})
WORK = frozenset({95})


def demo_events(library: Mapping[str, Profile]) -> list[Event]:
    """What fills an empty show: profiles, about sixty fixtures, a focus order, a baseline and three looks."""
    rig = list(_fixtures(library))
    used = sorted({fixture.profile for fixture in rig})
    order = sorted((f for f in rig if not f.guarded), key=lambda f: (f.position, int(f.unit)))
    looks = list(_looks(rig, library))
    return [
        events.ShowNamed("", VENUE),
        *(events.ProfileAdded("", library[key]) for key in used),
        *(events.FixturePut("", fixture) for fixture in rig),
        events.OrderSet("", tuple(fixture.id for fixture in order)),
        *(events.LookSaved("", look) for look in looks),
        events.BaselineSet("", looks[0].id),
    ]


def _fixtures(library: Mapping[str, Profile]) -> Iterator[Fixture]:
    free = dict.fromkeys((1, 2, 3), 1)
    for row in RIG:
        mode = library[row.profile].mode(row.mode)
        if mode is None:
            raise LookupError(f"{row.profile} has no mode {row.mode}")
        for step, purpose in enumerate(row.purposes):
            channel = row.channel + step
            yield Fixture(
                id=f"demo-{channel}",
                channel=channel,
                unit=str(row.unit + step),
                position=row.position,
                purpose=purpose,
                profile=row.profile,
                mode=row.mode,
                universe=row.universe,
                address=free[row.universe],
                house=channel in HOUSE,
                guarded=library[row.profile].guard is not None,
                work_light=channel in WORK,
            )
            free[row.universe] += mode.footprint


def _looks(rig: list[Fixture], library: Mapping[str, Profile]) -> Iterator[Look]:
    by_level: dict[str, Callable[[Fixture], float]] = {
        "Baseline": lambda f: (
            0.35
            if f.position == "Bridge" and f.profile == "dimmer" and f.channel != 95
            else 0.2
            if f.channel == 95
            else 0.0
        ),
        "Warm wash": lambda f: 0.7 if "warm" in f.purpose or "Top" in f.purpose else 0.0,
        "Night water": lambda f: 0.6 if f.position.startswith("Boom") or "Sky" in f.purpose else 0.0,
        "Check all tungsten": lambda f: 0.25 if f.profile == "dimmer" else 0.0,
    }
    for name, level in by_level.items():
        values = {f.id: _lit(f, library, level(f)) for f in rig if not f.guarded}
        yield Look(name.lower().replace(" ", "-"), name, values)


def _lit(fixture: Fixture, library: Mapping[str, Profile], level: float) -> dict[str, int]:
    mode = library[fixture.profile].mode(fixture.mode)
    return light_up(mode, level, as_it_hangs=False) if mode else {}
