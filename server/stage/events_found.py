"""What has been found out about the rig: photos, what a rig check brought, faults."""

from dataclasses import dataclass

from server.stage.event import Event
from server.stage.found import Case, Checking, Photo, Round, Verdict

__all__ = ["CaseSet", "CheckStepped", "CheckStopped", "Judged", "PhotoDropped", "PhotoKept", "RoundSet"]


@dataclass(frozen=True, slots=True)
class PhotoKept(Event):
    """A photo is in the show's file under that name."""

    photo: str
    taken: Photo


@dataclass(frozen=True, slots=True)
class PhotoDropped(Event):
    """A photo is gone."""

    photo: str


@dataclass(frozen=True, slots=True)
class RoundSet(Event):
    """A round of the rig check has begun, or goes on at another level."""

    round: Round


@dataclass(frozen=True, slots=True)
class CheckStepped(Event):
    """`person` is there in the rig check."""

    check: Checking


@dataclass(frozen=True, slots=True)
class CheckStopped(Event):
    """`who` checks no longer."""

    who: str


@dataclass(frozen=True, slots=True)
class Judged(Event):
    """Somebody has seen whether a unit works, in the round of that number."""

    round: int
    fixture: str
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class CaseSet(Event):
    """A fault is new in the register, or something has become of it."""

    case: Case
