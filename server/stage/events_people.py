"""What has happened to who is known, and to the PINs that let them in."""

from dataclasses import dataclass

from server.stage.event import Event
from server.stage.state import Person, Role

__all__ = [
    "PersonCame",
    "PersonJoined",
    "PersonLeft",
    "PersonRemoved",
    "PersonRenamed",
    "PersonWent",
    "PinSet",
]


@dataclass(frozen=True, slots=True)
class PersonJoined(Event):
    """Somebody is known from now on."""

    newcomer: Person


@dataclass(frozen=True, slots=True)
class PersonLeft(Event):
    """Somebody is forgotten."""


@dataclass(frozen=True, slots=True)
class PersonRemoved(Event):
    """`person` has taken somebody out. who: their id."""

    who: str


@dataclass(frozen=True, slots=True)
class PersonRenamed(Event):
    """Somebody is called something else. who: their id."""

    who: str
    name: str


@dataclass(frozen=True, slots=True)
class PinSet(Event):
    """A role has another PIN; this is its hash."""

    role: Role
    pin_hash: str


@dataclass(frozen=True, slots=True)
class PersonCame(Event):
    """Their phone is connected."""


@dataclass(frozen=True, slots=True)
class PersonWent(Event):
    """Their last phone is gone since `at` seconds."""

    at: float
