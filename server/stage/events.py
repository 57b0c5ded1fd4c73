"""What has happened. The journal keeps these; replaying them gives the same state."""

from dataclasses import dataclass

from server.rig.patch import Fixture
from server.rig.profile import Profile
from server.rig.said import Words
from server.stage.carried import Carried
from server.stage.event import Event
from server.stage.events_clock import ClockSet
from server.stage.events_focus import BesideSet, CallChanged, FocusSet, NowSet, OrderSet
from server.stage.events_found import (
    CaseSet,
    CheckStepped,
    CheckStopped,
    Judged,
    PhotoDropped,
    PhotoKept,
    RoundSet,
)
from server.stage.events_library import StarsSet
from server.stage.events_outputs import RouteSet, SyncSet
from server.stage.events_people import (
    PersonCame,
    PersonJoined,
    PersonLeft,
    PersonRemoved,
    PersonRenamed,
    PersonWent,
    PinSet,
)
from server.stage.events_seek import SeekEnded, Sought
from server.stage.events_shared import LooksLifted, UniverseShared
from server.stage.events_shout import Shouted, ShoutSeen, ShoutsOver
from server.stage.events_teach import TeachingEnded, TeachingSet
from server.stage.state import Before, Look, Settings, Show, Who

__all__ = [
    "EVENTS",
    "Acted",
    "AloftSet",
    "ArmedSet",
    "BaselineSet",
    "BesideSet",
    "BlackoutSet",
    "CallChanged",
    "CaseSet",
    "ChangeEnded",
    "Changed",
    "CheckStepped",
    "CheckStopped",
    "ClockSet",
    "DarkAnswered",
    "DarkCalled",
    "DarkEnded",
    "Disarmed",
    "Entered",
    "Event",
    "FaultSet",
    "FixturePut",
    "FixtureRemoved",
    "FlashAsked",
    "FlashLifted",
    "FocusSet",
    "HandsOnSet",
    "Judged",
    "LetGone",
    "LevelsSet",
    "LookDeleted",
    "LookRecalled",
    "LookSaved",
    "LooksLifted",
    "MasterSet",
    "NowSet",
    "OrderSet",
    "OutOfUseSet",
    "PersonCame",
    "PersonJoined",
    "PersonLeft",
    "PersonRemoved",
    "PersonRenamed",
    "PersonWent",
    "PhotoDropped",
    "PhotoKept",
    "PinSet",
    "ProfileAdded",
    "PutBack",
    "Ran",
    "RoundSet",
    "RouteSet",
    "SeekEnded",
    "SettingsChanged",
    "ShoutSeen",
    "Shouted",
    "ShoutsOver",
    "ShowNamed",
    "ShowReplaced",
    "SlotSet",
    "Sought",
    "StarsSet",
    "StillSet",
    "SyncSet",
    "Taken",
    "TeachingEnded",
    "TeachingSet",
    "UniverseShared",
]


@dataclass(frozen=True, slots=True)
class Taken(Event):
    """`person` has the fixture in hand."""

    fixture: str


@dataclass(frozen=True, slots=True)
class LetGone(Event):
    """Nobody has the fixture in hand; after wait_s seconds it fades to its base over fade_s seconds."""

    fixture: str
    fade_s: float
    wait_s: float = 0.0


@dataclass(frozen=True, slots=True)
class LevelsSet(Event):
    """Raw values in the holder's hand, by control key (None: given back), reached over fade_s seconds."""

    fixture: str
    raws: dict[str, int | None]
    fade_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Acted(Event):
    """An action was asked of the fixture: `raw` is sent for hold_s seconds, then what is asked again."""

    fixture: str
    control: str
    function: str
    raw: int
    hold_s: float
    kind: str = ""
    at: float = 0.0


@dataclass(frozen=True, slots=True)
class HandsOnSet(Event):
    """`who` touches the unit: these raw values are held. None: no longer; without `who`, nobody does.

    Of several who touch it, the first one's values hold until the last one's hands are off.
    """

    fixture: str
    frozen: dict[str, int] | None
    who: str | None = None


@dataclass(frozen=True, slots=True)
class AloftSet(Event):
    """`who` works at height at a position since `at` seconds; None: they are down."""

    who: str
    position: str | None
    at: float = 0.0


@dataclass(frozen=True, slots=True)
class StillSet(Event):
    """Controls of a fixture are held at these raw values, because somebody is aloft there; None: free."""

    fixture: str
    frozen: dict[str, int] | None


@dataclass(frozen=True, slots=True)
class OutOfUseSet(Event):
    """A unit is out of use for a reason, and held at these raw values; reason None: in use again."""

    fixture: str
    reason: str | None
    frozen: dict[str, int]


@dataclass(frozen=True, slots=True)
class DarkCalled(Event):
    """A blackout is announced at `at` seconds; it waits for everybody aloft."""

    at: float


@dataclass(frozen=True, slots=True)
class DarkAnswered(Event):
    """Somebody says yes to the blackout that was announced, or not yet."""

    yes: bool
    at: float = 0.0


@dataclass(frozen=True, slots=True)
class DarkEnded(Event):
    """Nobody waits for that blackout any more."""


@dataclass(frozen=True, slots=True)
class ArmedSet(Event):
    """A guarded unit may be driven from `at` until `until` seconds."""

    fixture: str
    reason: str
    at: float
    until: float


@dataclass(frozen=True, slots=True)
class Disarmed(Event):
    """A guarded unit may not be driven any more."""

    fixture: str


@dataclass(frozen=True, slots=True)
class Ran(Event):
    """A guarded unit is driven at these raw values for `for_s` seconds from `at`, unless held on.

    press, since: which press of the button this is, and when that began. for_s 0: let go.
    """

    fixture: str
    raws: dict[str, int]
    press: int
    since: float
    at: float
    for_s: float


@dataclass(frozen=True, slots=True)
class FlashAsked(Event):
    """`person` asked by press-and-hold that the fixture flash."""

    fixture: str


@dataclass(frozen=True, slots=True)
class FlashLifted(Event):
    """That one fixture may flash faster than the rest until `until` seconds; None: none may."""

    fixture: str | None
    at: float = 0.0
    until: float = 0.0


@dataclass(frozen=True, slots=True)
class FaultSet(Event):
    """What is wrong with a unit, in somebody's words; None: nothing any more."""

    fixture: str
    words: str | None


@dataclass(frozen=True, slots=True)
class SlotSet(Event):
    """Level 0-255 of a slot that belongs to no fixture; None: given back."""

    universe: int
    slot: int
    raw: int | None


@dataclass(frozen=True, slots=True)
class MasterSet(Event):
    """Rig master, 0..1."""

    value: float


@dataclass(frozen=True, slots=True)
class BlackoutSet(Event):
    """Blackout on or off."""

    on: bool


@dataclass(frozen=True, slots=True)
class LookSaved(Event):
    """A look is new, or has another name or other values."""

    look: Look


@dataclass(frozen=True, slots=True)
class LookDeleted(Event):
    """A look is forgotten."""

    look: str


@dataclass(frozen=True, slots=True)
class LookRecalled(Event):
    """A look came up over fade_s seconds."""

    look: str
    fade_s: float


@dataclass(frozen=True, slots=True)
class BaselineSet(Event):
    """The look everything falls back to; None: home."""

    look: str | None
    fade_s: float = 0.0


@dataclass(frozen=True, slots=True)
class ProfileAdded(Event):
    """A profile belongs to the show."""

    profile: Profile


@dataclass(frozen=True, slots=True)
class FixturePut(Event):
    """A fixture is new or changed."""

    fixture: Fixture


@dataclass(frozen=True, slots=True)
class FixtureRemoved(Event):
    """A fixture is gone."""

    fixture: str


@dataclass(frozen=True, slots=True)
class SettingsChanged(Event):
    """What the lead sets for everybody."""

    settings: Settings


@dataclass(frozen=True, slots=True)
class ShowNamed(Event):
    """Names of show and venue."""

    show: Show


@dataclass(frozen=True, slots=True)
class ShowReplaced(Event):
    """Another show is here instead; everything fades to its base over fade_s seconds."""

    brought: Carried
    fade_s: float


@dataclass(frozen=True, slots=True)
class Entered(Event):
    """Something that a phone had kept until there was a link is in: what else came of it is told before."""

    entry: str


@dataclass(frozen=True, slots=True)
class Changed(Event):
    """What the events before this one came to, and what would undo it; fields as in stage.state.Change."""

    number: int
    at: float
    by: Who
    about: tuple[str, ...]
    what: Words
    before: Before | None


@dataclass(frozen=True, slots=True)
class ChangeEnded(Event):
    """A change that went on for a while (a drag) is over; `what` it came to in the end."""

    number: int
    what: Words


@dataclass(frozen=True, slots=True)
class PutBack(Event):
    """A change is undone or done again, which is change `number`; levels take fade_s seconds."""

    change: int
    number: int
    at: float
    by: Who
    what: Words
    before: Before
    fade_s: float


EVENTS: dict[str, type[Event]] = {kind.__name__: kind for kind in Event.__subclasses__()}
