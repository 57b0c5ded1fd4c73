"""What somebody can ask about what they find: photos, and going through the rig."""

from dataclasses import dataclass, field

from server.stage.command import Command
from server.stage.state import Leaving

__all__ = [
    "BeginRound",
    "DropPhoto",
    "Judge",
    "KeepPhoto",
    "SetCheckLevel",
    "SettleFault",
    "StartCheck",
    "StepCheck",
    "StopCheck",
    "WalkCheck",
]


@dataclass(frozen=True, slots=True)
class KeepPhoto(Command):
    """Keep a photo of a fixture under a new name. octets: how many it has."""

    fixture: str
    photo: str
    octets: int


@dataclass(frozen=True, slots=True)
class DropPhoto(Command):
    """Delete a photo. What refers to it says so without it."""

    photo: str


@dataclass(frozen=True, slots=True)
class BeginRound(Command):
    """Begin the rig check anew: nothing has a verdict. level: the share of full that units are lit at."""

    level: float


@dataclass(frozen=True, slots=True)
class SetCheckLevel(Command):
    """Go on with the round at another level, from the next unit on."""

    level: float


@dataclass(frozen=True, slots=True)
class StartCheck(Command):
    """Go through the rig from `fixture` on (None: from the beginning), or go on where `of` stopped.

    order, where, unproved: as in stage.found.Checking.
    """

    order: str = "position"
    where: str = ""
    unproved: bool = True
    fixture: str | None = None
    of: str | None = None
    leaving: Leaving = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class StepCheck(Command):
    """Light the next unit up, or the one before, and then let the last one go."""

    back: bool = False
    leaving: Leaving = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class WalkCheck(Command):
    """Make that stride of the walk through the unit that is lit; None: all back as it was."""

    stride: int | None


@dataclass(frozen=True, slots=True)
class StopCheck(Command):
    """Check no longer, and let go of the unit that is lit."""

    leaving: Leaving = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Judge(Command):
    """Say whether a unit works. reason: one of stage.reasons.REASONS or "". photo: its name or ""."""

    fixture: str
    works: bool
    reason: str = ""
    note: str = ""
    photo: str = ""


@dataclass(frozen=True, slots=True)
class SettleFault(Command):
    """Say of a case of the register that it is fixed, seen to work ("verified"), open again ("reopened"), or
    more about it ("said")."""

    case: int
    what: str
    words: str = ""
    photo: str = ""
