"""A show small enough to work out by hand: five fixtures, a crew of two, and the events that lead there."""

from server.rig.patch import Fixture
from server.rig.profile import Action, Control, Function, Guard, Mode, Profile
from server.stage import events
from server.stage.events import Event
from server.stage.state import Look, Person

__all__ = ["BASELINE", "LEAD", "MO", "PROFILES", "fixture", "show_events"]

LEAD = Person("p-lead", "Ada", "lead", "")
MO = Person("p-mo", "Mo", "crew", "")


def _control(key: str, offsets: tuple[int, ...], *, home: int = 0, snap: bool = False) -> Control:
    bits = 8 * (len(offsets) or 2)
    functions = (Function(key, key, 0, (1 << bits) - 1),)
    return Control(key, key, offsets, home, home, functions, snap=snap, mastered=key == "Dimmer")


RESET = Action("reset", 3.0, 0, "It swings through its whole travel.")
MOVER = Mode(
    "9-slot",
    9,
    (
        _control("Pan", (1, 2), home=32768),
        _control("Tilt", (3, 4), home=32768),
        _control("Dimmer", (5, 6)),
        _control("Color1", (7,), snap=True),
        Control(
            "Shutter1",
            "Shutter1",
            (8,),
            255,
            255,
            (Function("Shutter1Strobe", "Strobe", 0, 127), Function("Shutter1", "Open", 128, 255)),
        ),
        Control(
            "Control1",
            "Control1",
            (9,),
            0,
            0,
            (
                Function("NoFeature", "Idle", 0, 99),
                Function("Control1", "Recalibrate", 100, 120, action=RESET),
                Function("NoFeature", "Idle", 121, 255),
            ),
        ),
    ),
)
PROFILES = {
    profile.key: profile
    for profile in (
        Profile(
            "dimmer", "Dimmer", "Dim", "Generic", 1, "dimmer", (Mode("1", 1, (_control("Dimmer", (1,)),)),)
        ),
        Profile("mover", "Moving light", "Mover", "Generic", 1, "light", (MOVER,)),
        Profile(
            "hazer",
            "Hazer",
            "Haze",
            "Generic",
            1,
            "atmosphere",
            (Mode("1", 1, (_control("Fog1", (1,)),)),),
            guard=Guard("haze"),
        ),
    )
}
BASELINE = Look("base", "Baseline", {"dim1": {"Dimmer": 51}, "work": {"Dimmer": 40}})


def fixture(name: str, profile: str, universe: int, address: int, *, work_light: bool = False) -> Fixture:
    """A fixture of one of PROFILES, in its only mode, hung where its name says."""
    mode = PROFILES[profile].modes[0].name
    return Fixture(
        name,
        None,
        name,
        "Bar",
        "",
        profile,
        mode,
        universe,
        address,
        work_light=work_light,
        house=name == "dim2",
    )


def show_events() -> list[Event]:
    """What leads to the show.

    Universe 1: dim1 at 1, dim2 at 2, work (a work light) at 3, hazer at 10. Universe 2: mover at 101.
    """
    rig = [
        fixture("dim1", "dimmer", 1, 1),
        fixture("dim2", "dimmer", 1, 2),
        fixture("work", "dimmer", 1, 3, work_light=True),
        fixture("hazer", "hazer", 1, 10),
        fixture("mover", "mover", 2, 101),
    ]
    return [
        *(events.PersonJoined(who.id, who) for who in (LEAD, MO)),
        *(events.ProfileAdded("", profile) for profile in PROFILES.values()),
        *(events.FixturePut("", unit) for unit in rig),
        events.LookSaved("", BASELINE),
        events.BaselineSet("", BASELINE.id),
    ]
