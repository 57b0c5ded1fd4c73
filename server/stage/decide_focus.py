"""The rules of the focus call: the next unit, how far each is, what its beam is to do."""

import math
from collections.abc import Mapping
from dataclasses import fields, replace

from server.rig.light_up import light_up
from server.rig.patch import spoken
from server.rig.said import Said
from server.stage import commands, events
from server.stage.decide import Answer, Rules, allow, answer
from server.stage.events import Event
from server.stage.focus import BESIDE, MARKS, NOTE_LENGTH, Call, Focus, FocusNote
from server.stage.holds import Refused, let_go, touch
from server.stage.looks import keepable
from server.stage.state import State
from server.stage.turn import come_up_s, following, leave_call, lit_beside, mark_of

__all__ = ["is_call", "is_focus"]

LONGEST = 60  # characters of a field of a note: what is called out across a stage
LONGEST_FADE_S = 60.0
LEVELS = ("level", "beside_level")
GONE = Said("There is no such fixture any more.")
NOBODY = Said("Nobody of the lead or the crew has that name.")


@answer.register
def _(command: commands.FocusNext, state: State, now: float, rules: Rules) -> Answer:
    who, refused = _whose(state, command)
    if refused:
        return refused
    at = state.now.get(who)
    if command.after is not None and command.after != at:
        return []  # somebody has pressed already: one press more would pass a unit over
    to = following(state, who)
    if to is not None:
        return _go(state, command, who, to, now)
    marked = _marked(state, command, at, now)
    return marked or Refused(Said("Nothing on the focus list is left to do."))


@answer.register
def _(command: commands.FocusAt, state: State, now: float, rules: Rules) -> Answer:
    who, refused = _whose(state, command)
    if refused:
        return refused
    at = state.now.get(who)
    if command.fixture is None:
        marked = _marked(state, command, at, now)
        return [*marked, *leave_call(state, command.person, who), *_let_go(state, command, who, at, 0.0)]
    unit = state.fixtures.get(command.fixture)
    if unit is None:
        return Refused(GONE, command.fixture)
    if unit.id not in state.order:
        return Refused(Said("{unit} is not on the focus list.", unit=spoken(unit)), unit.id)
    if unit.address is None:
        why = Said("{unit} is not patched: no light would come from it.", unit=spoken(unit))
        return Refused(why, unit.id)
    return _go(state, command, who, unit.id, now)


Step = commands.FocusNext | commands.FocusAt


def _whose(state: State, command: Step) -> tuple[str, Refused | None]:
    """Whose turn it is, and why that may not be asked for."""
    who = command.of or command.person
    refused = allow(state, command.person, *(("lead", "crew") if who == command.person else ("lead",)))
    if refused is None and not _takes_part(state, who):
        refused = Refused(NOBODY)
    if refused is None and command.mark not in (None, *MARKS):
        refused = Refused(Said("There is no mark called {mark}.", mark=str(command.mark)[:40]))
    return who, refused


def _takes_part(state: State, person: str) -> bool:
    return person in state.people and state.people[person].role != "house"


def _go(state: State, command: Step, who: str, to: str, now: float) -> Answer:
    """Light at `to`, and only then the last one down. Nothing moves: somebody may stand there."""
    at, unit = state.now.get(who), state.fixtures[to]
    mine = state.holders.get(to) in (who, command.person)
    touched = touch(state, who, to, now, command.over or mine)
    if isinstance(touched, Refused):
        return touched
    rise_s = come_up_s(state)
    values = light_up(touched.mode, state.call.level, as_it_hangs=True)
    if unit.id in state.hands_on:
        values = {k: raw for k, raw in values.items() if k not in state.frozen(to)}
    after = {**state.now, who: to}
    return [
        *(_marked(state, command, at, now) if at != to else []),
        *touched.first,
        events.LevelsSet(who, to, dict(values), rise_s),
        *([events.NowSet(command.person, who, to)] if at != to else []),
        *lit_beside(state, command.person, after, rise_s),
        *(_let_go(state, command, who, at, rise_s) if at != to else []),
    ]


def _let_go(state: State, command: Step, who: str, at: str | None, wait_s: float) -> list[Event]:
    """Let go of the last one where it is still in that hand, or in the hand of who asks."""
    if at is None or state.holders.get(at) not in (who, command.person):
        return []
    return let_go(state, command.person, at, command.leaving, state.call.fade_s, wait_s)


def _marked(state: State, command: Step, at: str | None, now: float) -> list[Event]:
    if at is None or command.mark is None or mark_of(state, at) == command.mark:
        return []
    return [_mark(state, command.person, at, command.mark, now)]


def _mark(state: State, person: str, fixture: str, mark: str, now: float) -> Event:
    """Mark it; what is done is kept as it is in somebody's hand, for that is how it was focused."""
    kept = state.focus.get(fixture, Focus())
    mode, values = state.mode(fixture), kept.values
    if mark == "done" and mode is not None and (fixture in state.holders or not values):
        asked = {**state.asked(fixture, mode), **state.frozen(fixture)}
        values = keepable(state, {fixture: asked}).get(fixture, {})
    said = replace(kept, mark=mark, name=state.people[person].name, at=now, values=values)
    return events.FocusSet(person, fixture, said)


@answer.register
def _(command: commands.MarkFocus, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead", "crew"):
        return refused
    if command.fixture not in state.fixtures:
        return Refused(GONE, command.fixture)
    if command.mark not in MARKS:
        return Refused(Said("There is no mark called {mark}.", mark=command.mark[:40]))
    return [_mark(state, command.person, command.fixture, command.mark, now)]


@answer.register
def _(command: commands.GiveFocus, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead"):
        return refused
    if command.to is not None and not _takes_part(state, command.to):
        return Refused(NOBODY)
    if any(fixture not in state.fixtures for fixture in command.fixtures):
        return Refused(GONE)
    return [
        events.FocusSet(command.person, fixture, replace(kept, given=command.to))
        for fixture in dict.fromkeys(command.fixtures)
        if (kept := state.focus.get(fixture, Focus())).given != command.to
    ]


@answer.register
def _(command: commands.WriteNote, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead", "crew"):
        return refused
    if command.fixture not in state.fixtures:
        return Refused(GONE, command.fixture)
    kept, names = state.focus.get(command.fixture, Focus()), {each.name for each in fields(FocusNote)}
    wanted = {name: " ".join(text.split()) for name, text in command.note.items()}
    for name, text in wanted.items():
        if name not in names:
            return Refused(Said("A focus note has no place for {field}.", field=name[:40]))
        if len(text) > (most := NOTE_LENGTH.get(name, LONGEST)):
            return Refused(Said("Say that in {most} characters at most.", most=most), command.fixture)
    if (note := replace(kept.note, **wanted)) == kept.note:
        return []
    return [events.FocusSet(command.person, command.fixture, replace(kept, note=note))]


@answer.register
def _(command: commands.ChangeCall, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead"):
        return refused
    if unknown := command.changes.keys() - {each.name for each in fields(Call)}:
        return Refused(Said("There is no setting called {name}.", name=min(unknown)[:40]))
    call = replace(state.call, **dict[str, object](command.changes))  # type: ignore[arg-type]
    if not is_call(call):
        why = Said(
            "Levels go from 1 % to 100 %, the time to go down from 0 to {most} seconds.", most=LONGEST_FADE_S
        )
        return Refused(why)
    return [events.CallChanged(command.person, call)]


def is_call(call: Call) -> bool:
    """Whether these settings are some that could have been made here."""
    levels = (getattr(call, name) for name in LEVELS)
    return (
        all(math.isfinite(level) and 0.01 <= level <= 1 for level in levels)
        and math.isfinite(call.fade_s)
        and 0 <= call.fade_s <= LONGEST_FADE_S
        and call.beside in BESIDE
    )


def is_focus(focus: Focus) -> bool:
    """Whether that is what could be kept of a unit here, as far as words go."""
    texts: Mapping[str, str] = {each.name: getattr(focus.note, each.name) for each in fields(FocusNote)}
    return focus.mark in MARKS and all(
        len(text) <= NOTE_LENGTH.get(name, LONGEST) for name, text in texts.items()
    )
