"""What somebody can ask. `person` is always who asks; nothing here has happened yet."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from server.rig.patch import Fixture
from server.rig.profile import Profile
from server.stage.carried import Vetted
from server.stage.command import Command
from server.stage.commands_focus import (
    ChangeCall,
    FocusAt,
    FocusNext,
    GiveFocus,
    MarkFocus,
    SetOrder,
    UpdateLook,
    WriteNote,
)
from server.stage.commands_found import (
    BeginRound,
    DropPhoto,
    Judge,
    KeepPhoto,
    SetCheckLevel,
    SettleFault,
    StartCheck,
    StepCheck,
    StopCheck,
    WalkCheck,
)
from server.stage.commands_seek import AnswerSeek, EndSeek, Seek
from server.stage.commands_shout import SeeShout, SendShout
from server.stage.state import Leaving, Person, Role

__all__ = [
    "Act",
    "AddProfile",
    "AnswerDark",
    "AnswerSeek",
    "Arm",
    "Arrive",
    "BeginRound",
    "CallDark",
    "ChangeCall",
    "ChangePatch",
    "ChangeSettings",
    "Command",
    "DeleteLook",
    "DropPhoto",
    "EndSeek",
    "FocusAt",
    "FocusNext",
    "GiveFocus",
    "GoAloft",
    "HandsOn",
    "Join",
    "Judge",
    "KeepPhoto",
    "Leave",
    "LetGo",
    "LiftFlashes",
    "LightUp",
    "MarkFault",
    "MarkFocus",
    "RecallLook",
    "RemovePerson",
    "RenameLook",
    "RenamePerson",
    "ReplaceShow",
    "RunGuarded",
    "SaveLook",
    "SeeShout",
    "Seek",
    "SendShout",
    "SetBaseline",
    "SetBlackout",
    "SetCheckLevel",
    "SetMany",
    "SetMaster",
    "SetOrder",
    "SetPin",
    "SetSlot",
    "SetValues",
    "SettleFault",
    "StarProfile",
    "StartCheck",
    "StepCheck",
    "StopCheck",
    "TagOut",
    "Take",
    "Undo",
    "UpdateLook",
    "WalkCheck",
    "Withdraw",
    "WriteNote",
]


@dataclass(frozen=True, slots=True)
class Join(Command):
    """Be known under a name and a role; the PIN was checked before."""

    newcomer: Person


@dataclass(frozen=True, slots=True)
class Leave(Command):
    """Forget this person and let go of what they hold."""

    leaving: Leaving = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Arrive(Command):
    """Their phone is connected."""


@dataclass(frozen=True, slots=True)
class Withdraw(Command):
    """Their last phone is no longer connected. Their lights stay as they are."""


@dataclass(frozen=True, slots=True)
class RenamePerson(Command):
    """Call somebody something else: oneself, or anybody for the lead. who: their id."""

    who: str
    name: str


@dataclass(frozen=True, slots=True)
class RemovePerson(Command):
    """Forget somebody's phone and let go of what they hold. who: their id."""

    who: str
    leaving: Leaving = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class SetPin(Command):
    """Let a role have another PIN. pin_hash: what is kept of it; the PIN itself never comes here."""

    role: Role
    pin_hash: str


@dataclass(frozen=True, slots=True)
class Take(Command):
    """Take a fixture in hand; over: also when somebody else has it."""

    fixture: str
    over: bool = False


@dataclass(frozen=True, slots=True)
class LetGo(Command):
    """Let go of one fixture, or "*" of all that person holds. of: all that somebody else holds (their id)."""

    fixture: str
    of: str | None = None
    leaving: Leaving = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class SetValues(Command):
    """Set controls of a fixture. values: as on every interface, see rig.values.raw_from_value.

    held: the person held a button through the caution, so flashing, or moving near somebody aloft, is meant.
    """

    fixture: str
    values: Mapping[str, object]
    held: bool = False


@dataclass(frozen=True, slots=True)
class SetMany(Command):
    """Set controls of several fixtures, all or none. values: by fixture id, as in SetValues."""

    values: Mapping[str, Mapping[str, object]]
    held: bool = False


@dataclass(frozen=True, slots=True)
class MarkFault(Command):
    """Say in words what is wrong with a unit, or (None) that nothing is any more."""

    fixture: str
    words: str | None


@dataclass(frozen=True, slots=True)
class LightUp(Command):
    """Make a fixture visible; as_it_hangs: leave pan and tilt alone.

    held: the person held a button, knowing that somebody is aloft beside it.
    """

    fixture: str
    as_it_hangs: bool = False
    held: bool = False


@dataclass(frozen=True, slots=True)
class Act(Command):
    """Do an action of a fixture (recalibrate, lamp). held: the person held the button long enough."""

    fixture: str
    control: str
    function: str
    held: bool = False


@dataclass(frozen=True, slots=True)
class HandsOn(Command):
    """Say that one touches the unit, or no longer does. off_of: whose hands are off, when not one's own."""

    fixture: str
    on: bool
    off_of: str | None = None
    leaving: Leaving = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class GoAloft(Command):
    """Say that one works at height at a position, or (None) is down. of: somebody else who is down."""

    position: str | None
    of: str | None = None
    leaving: Leaving = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class TagOut(Command):
    """Take a unit out of use for a reason, so that nobody drives it; None: in use again."""

    fixture: str
    reason: str | None
    leaving: Leaving = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class CallDark(Command):
    """Announce a blackout: it comes when everybody aloft has said yes."""


@dataclass(frozen=True, slots=True)
class AnswerDark(Command):
    """Say yes to the blackout that was announced, or not yet."""

    yes: bool


@dataclass(frozen=True, slots=True)
class Arm(Command):
    """Let a guarded unit be driven for so many seconds, for a reason; None: no longer."""

    fixture: str
    reason: str | None
    seconds: float = 60.0


@dataclass(frozen=True, slots=True)
class RunGuarded(Command):
    """Drive a guarded unit for as long as a button is held; asked again and again meanwhile.

    press: a number that is another one for each press. on: held, or let go.
    """

    fixture: str
    values: Mapping[str, object]
    press: int
    on: bool


@dataclass(frozen=True, slots=True)
class LiftFlashes(Command):
    """Let one fixture flash faster than the rest for half a minute; None: no longer."""

    fixture: str | None


@dataclass(frozen=True, slots=True)
class SetSlot(Command):
    """Set one slot to a level 0-255, or give it back (None)."""

    universe: int
    slot: int
    raw: int | None


@dataclass(frozen=True, slots=True)
class SetMaster(Command):
    """Scale every intensity of the rig, 0..1."""

    value: float


@dataclass(frozen=True, slots=True)
class SetBlackout(Command):
    """Take every intensity but work light to nothing, or give it back."""

    on: bool


@dataclass(frozen=True, slots=True)
class SaveLook(Command):
    """Keep what is on stage as a look, or `shown`: what consoles show. fixtures: None for the whole rig."""

    look: str
    name: str
    fixtures: tuple[str, ...] | None = None
    baseline: bool = False
    shown: Mapping[str, Mapping[str, int]] | None = None


@dataclass(frozen=True, slots=True)
class RenameLook(Command):
    """Call a look something else."""

    look: str
    name: str


@dataclass(frozen=True, slots=True)
class DeleteLook(Command):
    """Forget a look. What it put on stage stays."""

    look: str


@dataclass(frozen=True, slots=True)
class RecallLook(Command):
    """Bring a look up over fade_s seconds, under whatever people hold."""

    look: str
    fade_s: float


@dataclass(frozen=True, slots=True)
class SetBaseline(Command):
    """Say which look everything falls back to; None: home."""

    look: str | None


@dataclass(frozen=True, slots=True)
class ChangePatch(Command):
    """Add or change fixtures (by id) and remove others, all or nothing. profiles: those newly needed.

    even_so: two units may have one number at one position.
    """

    put: tuple[Fixture, ...] = ()
    remove: tuple[str, ...] = ()
    profiles: tuple[Profile, ...] = ()
    even_so: bool = False


@dataclass(frozen=True, slots=True)
class AddProfile(Command):
    """Add a profile to the show."""

    profile: Profile


@dataclass(frozen=True, slots=True)
class StarProfile(Command):
    """Mark a profile, by key, as one of those this show comes back to; or no longer."""

    key: str
    on: bool


@dataclass(frozen=True, slots=True)
class ChangeSettings(Command):
    """Change some of stage.state.Settings, by field name."""

    changes: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class ReplaceShow(Command):
    """Take another show in place of this one: everything but the people who are here."""

    vetted: Vetted


@dataclass(frozen=True, slots=True)
class Undo(Command):
    """Undo a change by its number, or do it again when it is undone.

    over: also in somebody else's hand, where it stays. held: as in SetValues.
    """

    change: int
    over: bool = False
    held: bool = False
    leaving: Leaving = field(default_factory=dict)
