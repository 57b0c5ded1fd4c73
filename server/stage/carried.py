"""What of a show travels in a file of its own, from one laptop to another."""

from dataclasses import dataclass, field, fields, replace

from server.rig.patch import Fixture
from server.rig.profile import Profile
from server.stage.cases import merged
from server.stage.focus import Call, Focus
from server.stage.found import Case, Photo, Round, Verdict
from server.stage.state import Fault, Look, Settings, Show, State

__all__ = ["Carried", "Vetted", "carried", "put_in"]

# Of the laptop and the hour, not of the show: who is here and may come in, what the lead has done to the rig,
# where levels go: a venue's network is the venue's.
STAYS = frozenset(
    {
        "people",
        "gone",
        "pins",
        "master",
        "blackout",
        "aloft",
        "changed",
        "entries",
        "shared",
        "routes",
        "sync",
    }
)


@dataclass(frozen=True, slots=True)
class Carried:
    """The fields of State by these names. Not to be changed in place."""

    show: Show
    settings: Settings
    profiles: dict[str, Profile]
    fixtures: dict[str, Fixture]
    order: tuple[str, ...]
    looks: dict[str, Look]
    baseline: str | None
    faults: dict[str, Fault]
    photos: dict[str, Photo] = field(default_factory=dict)
    stars: tuple[str, ...] = ()
    rounds: dict[int, Round] = field(default_factory=dict)
    verdicts: dict[int, dict[str, Verdict]] = field(default_factory=dict)
    call: Call = field(default_factory=Call)
    focus: dict[str, Focus] = field(default_factory=dict)
    cases: dict[int, Case] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Vetted:
    """A show that may come in here, as `decide_replace.vet` found; nobody else makes one."""

    brought: Carried


def carried(state: State) -> Carried:
    """What travels of this state, as it is now: the state may go on changing."""
    return Carried(
        state.show,
        state.settings,
        dict(state.profiles),
        dict(state.fixtures),
        state.order,
        dict(state.looks),
        state.baseline,
        dict(state.faults),
        dict(state.photos),
        state.stars,
        dict(state.rounds),
        dict(state.verdicts),
        state.call,
        {f: replace(focus, given=None) for f, focus in state.focus.items()},  # people stay here
        dict(state.cases),
    )


def put_in(state: State, brought: Carried) -> None:
    """Let the state be that of this show: what travels comes from it, nothing is in anybody's hand.

    Faults of the same venue stay in the register: a house keeps them from show to show.
    """
    here = state.cases if state.show.venue == brought.show.venue else {}
    empty = State()
    travels = {each.name for each in fields(Carried)}
    for each in fields(State):
        if each.name not in STAYS:
            part = getattr(brought if each.name in travels else empty, each.name)
            setattr(state, each.name, dict(part) if isinstance(part, dict) else part)
    state.cases = merged(here, brought.cases)
