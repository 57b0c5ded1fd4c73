"""Small rigs and stages to test with, made by functions: profiles, fixtures, people, and who asks what."""

from copy import deepcopy
from dataclasses import replace
from typing import Any

from server.rig.compiled import Compiled, compile_rig
from server.rig.patch import Fixture
from server.rig.profile import Action, Control, Function, Guard, Mode, Profile, Range
from server.rig.universe import OffLimits
from server.stage.commands import Command
from server.stage.decide import Rules
from server.stage.events import Changed, ChangeEnded, Event
from server.stage.holds import Refused
from server.stage.stage import Stage
from server.stage.state import Person, State

__all__ = [
    "LIMITS",
    "PEOPLE",
    "PROFILES",
    "RIG",
    "UNITS",
    "control",
    "done",
    "function",
    "mode",
    "profile",
    "refused",
    "rig_of",
    "stage_with",
    "state_with",
    "unit",
]


def function(attribute: str, first: int = 0, last: int = 255, **more: Any) -> Function:
    """A function that is called after its attribute."""
    return Function(attribute, more.pop("name", attribute), first, last, **more)


def control(attribute: str, *offsets: int, **more: Any) -> Control:
    """A control that does one thing over its whole range; a Dimmer follows the master."""
    cell = more.get("cell")
    key = f"{attribute}/{cell}" if cell else attribute
    full = function(attribute, 0, (1 << 8 * (len(offsets) or 2)) - 1)
    home = more.pop("home", 0)
    fields: dict[str, Any] = {"functions": (full,), "mastered": attribute == "Dimmer", **more}
    return Control(key, attribute, offsets, home, home, **fields)


def mode(name: str, *controls: Control, multiply: dict[str, tuple[str, ...]] | None = None) -> Mode:
    """A mode as long as its highest slot."""
    footprint = max(slot for c in controls for slot in c.offsets)
    return Mode(name, footprint, controls, multiply or {})


def profile(key: str, *modes: Mode, kind: str = "light", guard: Guard | None = None) -> Profile:
    """A profile of these modes."""
    return Profile(key, key.capitalize(), key, "Generic", 1, kind, modes, guard)


SHUTTER = (
    function(
        "Shutter1", 0, 127, ranges=(Range("Shut", 0, 63, (0.0, 0.0)), Range("Open", 64, 127, (1.0, 1.0)))
    ),
    function("Shutter1Strobe", 128, 255, name="Strobe", physical=(1.0, 20.0), unit="Frequency"),
)
DEEDS = (
    function("NoFeature", 0, 9, name="Idle"),
    function(
        "FixtureGlobalReset", 10, 19, name="Recalibrate", action=Action("reset", 3.0, 0, "It will move.")
    ),
    function("LampOff", 20, 255, name="Lamp off", action=Action("lamp_off", 5.0, 0, "The lamp goes out.")),
)
HEAD = profile(
    "head",
    mode(
        "fine",
        control("Dimmer", 1, 2),
        control("Pan", 3, 4, home=32768),
        control("Tilt", 5, 6, home=32768),
        control("Shutter1", 7, functions=SHUTTER, home=100, snap=True),
        control("Gobo1", 8, snap=True),
        control("Control1", 9, functions=DEEDS),
        control("Fans", 10, home=90, guard=Guard("fan", 90)),
    ),
    mode(
        "coarse",
        control("Dimmer", 1),
        control("Pan", 2, home=128),
        control("Shutter1", 3, functions=SHUTTER, home=100, snap=True),
        control("Control1", 4, functions=DEEDS),
    ),
)
WASH = profile(
    "wash",
    mode(
        "three",
        control("Dimmer"),
        *(control(f"ColorAdd_{c}", at, home=255) for at, c in enumerate("RGB", 1)),
        multiply={"Dimmer": ("ColorAdd_R", "ColorAdd_G", "ColorAdd_B")},
    ),
)
BATTEN = profile(
    "batten",
    mode("cells", control("Dimmer", 1), control("Dimmer", 2, cell="A"), control("Dimmer", 3, cell="B")),
)
DIMMER = profile("dimmer", mode("one", control("Dimmer", 1)), mode("two", control("Dimmer", 1, 2)))
FOGGER = profile(
    "fogger", mode("one", control("Fog1", 1, guard=Guard("fog"))), kind="atmosphere", guard=Guard("fog")
)
PROFILES = {p.key: p for p in (HEAD, WASH, BATTEN, DIMMER, FOGGER)}


def unit(name: str, kind: str = "dimmer", address: int | None = 1, **fields: Any) -> Fixture:
    """A fixture with that id, in the first mode of its profile, in universe 1 unless told otherwise."""
    universe = fields.pop("universe", 1 if address is not None else None)
    first = PROFILES[kind].modes[0].name if kind in PROFILES else ""
    told = {"channel": None, "unit": "", "position": "", "purpose": "", "mode": first, **fields}
    return Fixture(id=name, profile=kind, universe=universe, address=address, **told)


UNITS = (
    unit("spot", address=1, channel=1),
    unit("work", address=2, work_light=True),
    unit("aisle", address=3, house=True, channel=3, position="House", unit="1"),
    unit("head", "head", 11, channel=21, position="Bridge 1", unit="3"),
    unit("wash", "wash", 31, channel=22),
    unit("fog", "fogger", 41, channel=41),
    unit("pump", address=42, guarded=True, channel=42),
    unit("batten", "batten", 1, universe=2, channel=51),
)
RIG = {fixture.id: fixture for fixture in UNITS}
PEOPLE = (
    Person("ann", "Ann", "lead", "a"),
    Person("mo", "Mo", "crew", "b"),
    Person("kit", "Kit", "crew", "c"),
    Person("hal", "Hal", "house", "d"),
)
LIMITS = (OffLimits(1, 500, 512, "aisle light"), OffLimits(9, 1, 512, "hoists"))


def rig_of(*fixtures: Fixture, **changes: Any) -> Compiled:
    """These fixtures laid out flat; all of UNITS without any. changes: made to each of them."""
    return compile_rig([replace(f, **changes) for f in fixtures or UNITS], PROFILES)


def state_with(*fixtures: Fixture, people: int = 4) -> State:
    """The first so many of PEOPLE, all here, and these fixtures; all of UNITS without any."""
    chosen = {f.id: f for f in fixtures or UNITS}
    return State(
        profiles=dict(PROFILES),
        fixtures=chosen,
        people={p.id: p for p in PEOPLE[:people]},
        order=tuple(chosen),
    )


def stage_with(*fixtures: Fixture, people: int = 4) -> Stage:
    """A stage in that state, with LIMITS off limits."""
    return Stage(Rules(LIMITS), state_with(*fixtures, people=people))


def done(stage: Stage, command: Command, now: float = 0.0) -> list[Event]:
    """Ask, and return what happened, without what is written down of it; a refusal fails the test."""
    answer = stage.ask(command, now)
    assert not isinstance(answer, Refused), answer.why
    return [event for event in answer if not isinstance(event, Changed | ChangeEnded)]


def refused(stage: Stage, command: Command, now: float = 0.0) -> Refused:
    """Ask for what has to be refused: in a sentence, with nothing changed."""
    before, rev = deepcopy(stage.state), stage.rev
    answer = stage.ask(command, now)
    assert isinstance(answer, Refused), answer
    assert (stage.state, stage.rev) == (before, rev)
    assert " " in answer.why, answer.why
    assert answer.why.endswith((".", "?")), answer.why
    return answer
