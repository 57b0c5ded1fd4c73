"""Who may touch a fixture now, and what taking it in hand means."""

from dataclasses import dataclass

from server.rig.patch import Fixture, spoken
from server.rig.profile import Mode
from server.rig.said import Said
from server.stage.events import Event, LetGone, Taken
from server.stage.near import called, stay_still
from server.stage.state import Leaving, State

__all__ = ["AWAY_S", "Refused", "Touch", "asks_first", "in_other_hands", "let_go", "let_go_of_all", "touch"]

AWAY_S = 30.0  # a phone that is away so long no longer keeps others from its light


@dataclass(frozen=True, slots=True)
class Refused:
    """Not done, and why, in one sentence for the person who asked.

    ask: what would make it possible: "take" (it is in `holder`'s hand), "held" (press and hold), "dark"
    (announce it).
    """

    why: Said
    fixture: str | None = None
    holder: str | None = None
    ask: str | None = None


@dataclass(frozen=True, slots=True)
class Touch:
    """The fixture may be driven. first: what has to happen before, when it was not yet in that hand."""

    fixture: Fixture
    mode: Mode
    first: tuple[Event, ...]


def touch(
    state: State, person: str, fixture: str, now: float, over: bool = False, armed: bool = False
) -> Touch | Refused:
    """Whether that person may drive that fixture at `now` (seconds).

    over: somebody else's, too. armed: also one that is guarded; whether it is armed is the caller's to see.
    """
    unit, who = state.fixtures.get(fixture), state.people.get(person)
    mode = state.mode(fixture)
    if who is None:
        return Refused(Said("You have not joined. Join with your name first."))
    if unit is None or mode is None:
        return Refused(Said("There is no such fixture any more."), fixture)
    if who.role == "house" and not unit.house:
        return Refused(
            Said("{unit} is not a house fixture. Ask the lead to mark it as one.", unit=spoken(unit)), fixture
        )
    if out := state.out_of_use.get(fixture):
        why = Said(
            "{unit} is out of use ({reason}; {name}): nobody drives it until that is taken back.",
            unit=spoken(unit),
            reason=out.reason,
            name=called(state, out.person),
        )
        return Refused(why, fixture)
    if unit.work_light and who.role != "lead":
        return Refused(Said("{unit} is work light: only the lead drives it.", unit=spoken(unit)), fixture)
    if state.guarded(unit) and not armed:
        guard = state.profiles[unit.profile].guard
        if guard is None:
            return Refused(Said("{unit} is guarded: it stays at its safe value.", unit=spoken(unit)), fixture)
        return Refused(
            Said(
                "{unit} is guarded ({reason}): it stays at its safe value.",
                unit=spoken(unit),
                reason=guard.reason,
            ),
            fixture,
        )
    if state.holders.get(fixture) == person:
        return Touch(unit, mode, ())
    if not over and (refused := asks_first(state, person, unit, now)):
        return refused
    return Touch(unit, mode, (Taken(person, fixture),))


def let_go(
    state: State,
    person: str,
    fixture: str,
    leaving: Leaving,
    fade_s: float | None = None,
    wait_s: float = 0.0,
) -> list[Event]:
    """Let go of a fixture; where somebody is aloft beside it, it stays where it points as it leaves now.

    fade_s: None: as the lead has set. wait_s: before it begins to fade.
    """
    fade_s = state.settings.let_go_s if fade_s is None else fade_s
    happened: list[Event] = [LetGone(person, fixture, fade_s, wait_s)]
    if state.aloft_at(state.fixtures[fixture].position):
        happened += stay_still(state, person, fixture, leaving.get(fixture, {}))
    return happened


def let_go_of_all(state: State, person: str, holder: str, leaving: Leaving) -> list[Event]:
    """Let go of everything that `holder` has."""
    held = [fixture for fixture, who in state.holders.items() if who == holder]
    return [event for fixture in held for event in let_go(state, person, fixture, leaving)]


def asks_first(state: State, person: str, unit: Fixture, now: float) -> Refused | None:
    """The question whether to take it, when somebody else has it in hand."""
    holder = in_other_hands(state, person, unit.id, now)
    if holder is None:
        return None
    name, number = state.people[holder].name, unit.channel if unit.channel is not None else spoken(unit)
    return Refused(Said("{name} has {unit}. Take it?", name=name, unit=number), unit.id, holder, ask="take")


def in_other_hands(state: State, person: str, fixture: str, now: float) -> str | None:
    """Who else has that fixture in hand; None when nobody has, or their phone is away for long."""
    holder = state.holders.get(fixture)
    if holder is None or holder == person or holder not in state.people:
        return None
    long_away = holder in state.gone and now - state.gone[holder] >= AWAY_S
    return None if long_away else holder
