"""What the server knows about the rig and the people at it, at one moment."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from server.rig.patch import Fixture, Span, mode_of, spans
from server.rig.profile import Mode, Profile
from server.rig.said import Words
from server.stage.console import Follower
from server.stage.focus import Call, Focus
from server.stage.found import Case, Checking, Photo, Round, Verdict
from server.stage.outputs import UNSYNCED, Route, Sync
from server.stage.seek import Seek
from server.stage.shared import ALONE, Shared
from server.stage.shout import Shout
from server.stage.teaching import Teaching

__all__ = [
    "ROLES",
    "Aloft",
    "Armed",
    "Before",
    "Change",
    "Dark",
    "Fault",
    "Hands",
    "Leaving",
    "Lifted",
    "Look",
    "OutOfUse",
    "Person",
    "Role",
    "Run",
    "Settings",
    "Show",
    "SlotLevel",
    "State",
    "Undone",
    "Who",
]

# Raw values that leave at this moment, by fixture id and control key: where what is frozen is to stay.
Leaving = Mapping[str, Mapping[str, int]]
Role = str  # one of ROLES
ROLES = ("lead", "crew", "house")


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who joined. token_hash: SHA-256 of what their phone holds, hexadecimal.

    phone: what they joined with, in a word or two ("Android phone"); "" when it did not say.
    """

    id: str
    name: str
    role: Role
    token_hash: str
    phone: str = ""


@dataclass(frozen=True, slots=True)
class Who:
    """What somebody was called when they did something; they may have left since."""

    name: str
    role: Role
    phone: str = ""


@dataclass(frozen=True, slots=True)
class Look:
    """A saved set of raw values, by fixture id and control key."""

    id: str
    name: str
    values: dict[str, dict[str, int]]


@dataclass(frozen=True, slots=True)
class SlotLevel:
    """A level 0-255 set by hand on a slot that belongs to no fixture, and by whom."""

    raw: int
    person: str


@dataclass(frozen=True, slots=True)
class Hands:
    """Who touches a unit, and the raw values its motion, lamp and reset controls are held at meanwhile.

    person: who did first. others: those whose hands are on it as well.
    """

    person: str
    frozen: dict[str, int]
    others: tuple[str, ...] = ()

    @property
    def people(self) -> tuple[str, ...]:
        """Everybody whose hands are on it, the first one first."""
        return (self.person, *self.others)


@dataclass(frozen=True, slots=True)
class OutOfUse:
    """Who took a unit out of use, why, and the raw values it is held at: no light, and nothing moves."""

    person: str
    reason: str
    frozen: dict[str, int]


@dataclass(frozen=True, slots=True)
class Aloft:
    """Where somebody works at height, and since when (wall-clock seconds)."""

    position: str
    since: float


@dataclass(frozen=True, slots=True)
class Armed:
    """Why a guarded unit may be driven, by whose word, and from when until when (wall-clock seconds)."""

    person: str
    reason: str
    since: float
    until: float


@dataclass(frozen=True, slots=True)
class Run:
    """A guarded unit that is or was driven by a held button.

    press: which press of that person's. since: when it began. until: when it ends unless it is held on.
    """

    person: str
    press: int
    since: float
    until: float


@dataclass(frozen=True, slots=True)
class Dark:
    """A blackout announced by `person` at `at` seconds: who of those aloft said yes, and who said not yet."""

    person: str
    at: float
    agreed: tuple[str, ...] = ()
    refused: str | None = None


@dataclass(frozen=True, slots=True)
class Lifted:
    """The one fixture that may flash faster than the rest, from when until when (wall-clock seconds)."""

    fixture: str
    since: float
    until: float


@dataclass(frozen=True, slots=True)
class Fault:
    """What somebody found wrong with a unit."""

    words: str
    person: str


@dataclass(frozen=True, slots=True)
class Show:
    """What the show and the venue are called."""

    name: str = ""
    venue: str = ""


@dataclass(frozen=True, slots=True)
class Settings:
    """What the lead sets for everybody: seconds, and the share of full that lighting up goes to."""

    light_up_s: float = 0.7
    light_up_level: float = 1.0
    let_go_s: float = 2.0


@dataclass(slots=True)
class Before:
    """What stood in the places that something changed: by fixture id, look, profile, universe and slot.

    What is left out was not touched; where it is None inside a mapping, nothing stood there. in_looks: the
    values of single fixtures in looks, by look and fixture. baseline: a tuple of the one value.
    """

    holders: dict[str, str | None] = field(default_factory=dict)
    hand: dict[str, dict[str, int | None]] = field(default_factory=dict)
    recalled: dict[str, dict[str, int | None]] = field(default_factory=dict)
    faults: dict[str, Fault | None] = field(default_factory=dict)
    fixtures: dict[str, Fixture | None] = field(default_factory=dict)
    profiles: dict[str, Profile | None] = field(default_factory=dict)
    looks: dict[str, Look | None] = field(default_factory=dict)
    in_looks: dict[str, dict[str, dict[str, int]]] = field(default_factory=dict)
    slots: dict[int, dict[int, SlotLevel | None]] = field(default_factory=dict)
    baseline: tuple[str | None] | None = None
    order: tuple[str, ...] | None = None
    focus: dict[str, Focus | None] = field(default_factory=dict)
    call: Call | None = None
    shared: dict[int, Shared | None] = field(default_factory=dict)
    routes: dict[int, Route | None] = field(default_factory=dict)
    sync: Sync | None = None
    master: float | None = None
    blackout: bool | None = None
    settings: Settings | None = None
    verdicts: dict[int, dict[str, Verdict | None]] = field(default_factory=dict)
    cases: dict[int, Case | None] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Undone:
    """Who undid a change, and the number that undoing has among the changes."""

    person: str
    number: int


@dataclass(frozen=True, slots=True)
class Change:
    """Something that a person changed at `at` seconds (wall clock).

    name: what they were called. about: what it is about, as stage.undo.subjects names it. what: in words.
    before: what undoing puts back, and while it is undone what doing it again puts back; None: that is
    never undone. weight: how many values `before` holds.
    """

    number: int
    at: float
    person: str
    name: str
    about: tuple[str, ...]
    what: Words
    before: Before | None
    weight: int = 0
    undone: Undone | None = None


@dataclass(slots=True)
class State(Follower):
    """Everything that survives a restart. Only `apply` writes it.

    hand: raw values in somebody's hand. recalled: those of the looks recalled since the last return to
    the baseline. Both by fixture id and control key. gone: when each absent person was last here, in
    seconds of the clock that commands carry. slots: by universe and slot. opened: universes that somebody
    set a bare slot on. last_at: the fixture each person took last. aloft: by person. still: raw values that
    motion, lamp and reset controls are held at because somebody is aloft at that position. flashing: who
    asked by press-and-hold that a fixture flash. acted: when which kind of action was last asked of it.
    entries: who sent what their phone had kept without a link, by its own names for it.
    pins: hashes of those the lead has set, by role. verdicts: of each round, by fixture. checking: by person.
    focus: by fixture, what the focus call keeps of it. now: the fixture each person is at in it. beside: raw
    values of units that are on beside those. shouts: by number. changes: the newest changes by number.
    changed: how many there were. stars: keys of profiles that this show comes back to, the newest first.
    shared: what the lead has decided about universes that a console drives, too. routes: where universes go
    that have outputs of their own. sync: whether receivers show all universes at one moment.
    """

    show: Show = field(default_factory=Show)
    settings: Settings = field(default_factory=Settings)
    profiles: dict[str, Profile] = field(default_factory=dict)
    fixtures: dict[str, Fixture] = field(default_factory=dict)
    order: tuple[str, ...] = ()
    call: Call = field(default_factory=Call)
    focus: dict[str, Focus] = field(default_factory=dict)
    now: dict[str, str] = field(default_factory=dict)
    beside: dict[str, dict[str, int]] = field(default_factory=dict)
    shouts: dict[int, Shout] = field(default_factory=dict)
    people: dict[str, Person] = field(default_factory=dict)
    gone: dict[str, float] = field(default_factory=dict)
    holders: dict[str, str] = field(default_factory=dict)
    hand: dict[str, dict[str, int]] = field(default_factory=dict)
    slots: dict[int, dict[int, SlotLevel]] = field(default_factory=dict)
    opened: set[int] = field(default_factory=set)
    looks: dict[str, Look] = field(default_factory=dict)
    baseline: str | None = None
    recalled: dict[str, dict[str, int]] = field(default_factory=dict)
    hands_on: dict[str, Hands] = field(default_factory=dict)
    faults: dict[str, Fault] = field(default_factory=dict)
    last_at: dict[str, str] = field(default_factory=dict)
    out_of_use: dict[str, OutOfUse] = field(default_factory=dict)
    aloft: dict[str, Aloft] = field(default_factory=dict)
    still: dict[str, dict[str, int]] = field(default_factory=dict)
    armed: dict[str, Armed] = field(default_factory=dict)
    runs: dict[str, Run] = field(default_factory=dict)
    dark: Dark | None = None
    flashing: dict[str, str] = field(default_factory=dict)
    lifted: Lifted | None = None
    seek: Seek | None = None
    teaching: Teaching | None = None
    acted: dict[str, dict[str, float]] = field(default_factory=dict)
    pins: dict[Role, str] = field(default_factory=dict)
    master: float = 1.0
    blackout: bool = False
    entries: dict[str, str] = field(default_factory=dict)
    changes: dict[int, Change] = field(default_factory=dict)
    changed: int = 0
    photos: dict[str, Photo] = field(default_factory=dict)
    stars: tuple[str, ...] = ()
    rounds: dict[int, Round] = field(default_factory=dict)
    verdicts: dict[int, dict[str, Verdict]] = field(default_factory=dict)
    checking: dict[str, Checking] = field(default_factory=dict)
    cases: dict[int, Case] = field(default_factory=dict)
    shared: dict[int, Shared] = field(default_factory=dict)
    routes: dict[int, Route] = field(default_factory=dict)
    sync: Sync = UNSYNCED

    def mode(self, fixture: str) -> Mode | None:
        """The mode that fixture is set to; None when fixture, profile or mode is unknown."""
        unit = self.fixtures.get(fixture)
        return mode_of(unit, self.profiles) if unit else None

    def guarded(self, fixture: Fixture) -> bool:
        """Whether the whole unit is guarded: marked so, or by its profile."""
        return fixture.guarded or self.profiles[fixture.profile].guard is not None

    def frozen(self, fixture: str) -> dict[str, int]:
        """Raw values controls are held at, whatever is asked: people are at the unit, or it is out of use."""
        marks = self.hands_on.get(fixture), self.out_of_use.get(fixture)
        held = {key: raw for mark in marks if mark for key, raw in mark.frozen.items()}
        return {**self.still.get(fixture, {}), **held}

    @property
    def round(self) -> Round | None:
        """The rig check that goes on."""
        return self.rounds[max(self.rounds)] if self.rounds else None

    @property
    def judged(self) -> Mapping[str, Verdict]:
        """What was seen in it, by fixture."""
        return self.verdicts.get(max(self.rounds), {}) if self.rounds else {}

    def shared_as(self, universe: int) -> Shared:
        """How that universe is shared with a console."""
        return self.shared.get(universe, ALONE)

    def aloft_at(self, position: str) -> list[str]:
        """Who works at height at that position."""
        return [person for person, at in self.aloft.items() if at.position == position]

    def base(self, fixture: str, mode: Mode) -> dict[str, int]:
        """Raw values when nobody has it in hand: lit beside another, else recalled look, baseline, home.

        Where a console is followed, what it sends is there instead of baseline and home.
        """
        values = {c.key: c.home for c in mode.controls}
        baseline = self.looks.get(self.baseline) if self.baseline else None
        lowest = baseline.values.get(fixture, {}) if baseline else {}
        over = self.recalled.get(fixture, {}), self.beside.get(fixture, {})
        for layer in (lowest, self.console.values(fixture), *over):
            if layer:
                values.update((key, raw) for key, raw in layer.items() if key in values)
        return values

    def ours(self, fixture: str) -> set[str]:
        """Keys of the controls of that fixture that a hand or a look over the base has set."""
        layers = self.recalled, self.beside, self.hand
        return {key for layer in layers for key in layer.get(fixture, {})}

    def asked(self, fixture: str, mode: Mode) -> dict[str, int]:
        """Raw values now asked for, by control key: hand over look over base."""
        values = self.base(fixture, mode)
        values.update((key, raw) for key, raw in self.hand.get(fixture, {}).items() if key in values)
        return values

    def slot_owner(self, universe: int, slot: int) -> tuple[Fixture, Mode] | None:
        """The fixture whose slots that one is of, with its mode."""
        for fixture, mode, span in self.spans(universe):
            if span.holds(slot):
                return fixture, mode
        return None

    def spans(self, universe: int) -> Iterator[tuple[Fixture, Mode, Span]]:
        """What listens on that universe, and where."""
        for fixture in self.fixtures.values():
            mode = self.mode(fixture.id) if fixture.universe == universe or fixture.starts else None
            if mode is not None:
                here = (span for span in spans(fixture, mode) if span.universe == universe)
                yield from ((fixture, mode, span) for span in here)
