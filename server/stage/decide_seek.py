"""The rules for finding out which light one stands under."""

from collections.abc import Iterable

from server.rig.light_up import light_up
from server.rig.plan import by_hanging
from server.rig.said import Said
from server.stage import commands, events
from server.stage.decide import Answer, Rules, allow, answer
from server.stage.events import Event
from server.stage.holds import Refused, Touch, let_go, touch
from server.stage.near import called
from server.stage.seek import Seek
from server.stage.seeking import gives_light, half, still_breathing, still_left
from server.stage.state import Leaving, State

__all__ = ["SEEK_LEVEL"]

SEEK_LEVEL = 0.4  # enough to see under work light, and a quarter or so of the power of a rig at full
RISE_S = 1.0
TOO_DARK = 0.1  # a master below this shows nothing

NOBODY = Said("Nobody looks for a light.")


@answer.register
def _(command: commands.Seek, state: State, now: float, rules: Rules) -> Answer:
    if state.seek is not None:
        return Refused(Said("{name} looks for a light already.", name=called(state, state.seek.person)))
    if state.blackout or state.master < TOO_DARK:
        return Refused(Said("The rig is dark: no light would show."))
    units = state.fixtures.values()
    asked = [f for f in units if command.fixtures is None or f.id in command.fixtures]
    touched = {f.id: _touched(state, command.person, f.id, now) for f in by_hanging(asked)}
    left = tuple(fixture for fixture, touch in touched.items() if touch)
    if not left:
        return Refused(Said("None of these lights is free to be looked for."))
    outside = tuple(fixture for fixture, touch in touched.items() if not touch)
    seek = Seek(command.person, left, half(left), outside=outside)
    return _on(state, seek, (), now, {})


@answer.register
def _(command: commands.AnswerSeek, state: State, now: float, rules: Rules) -> Answer:
    seek = state.seek
    if seek is None or seek.person != command.person:
        return Refused(NOBODY)
    left, breathing = still_left(state), still_breathing(state)
    others = tuple(f for f in left if f not in breathing)
    if command.mine is None:
        if not others:
            return Refused(Said("Only this one is left: it is this one, or none of these."))
        return _on(
            state,
            Seek(seek.person, left, others, seek.answered, seek.outside),
            breathing,
            now,
            command.leaving,
        )
    left = breathing if command.mine else others
    if not left:
        return [*_off(state, seek.person, breathing, command.leaving), events.SeekEnded(command.person)]
    asked = Seek(seek.person, left, half(left), seek.answered + 1, seek.outside)
    return _on(state, asked, breathing, now, command.leaving)


@answer.register
def _(command: commands.EndSeek, state: State, now: float, rules: Rules) -> Answer:
    seek = state.seek
    if seek is None:
        return Refused(NOBODY)
    if seek.person != command.person and (refused := allow(state, command.person, "lead")):
        return refused
    left, breathing = still_left(state), still_breathing(state)
    if not command.found:
        return [*_off(state, command.person, breathing, command.leaving), events.SeekEnded(command.person)]
    if seek.person != command.person or len(left) != 1:
        return Refused(Said("{count} lights are left: it is not found yet.", count=len(left)))
    return [events.SeekEnded(command.person, left[0])]


def _touched(state: State, person: str, fixture: str, now: float) -> Touch | None:
    """Whether that unit may breathe: it is a light, nobody has it, and nobody has their hands on it."""
    if fixture in state.holders or fixture in state.hands_on:
        return None
    touched = touch(state, person, fixture, now)
    if isinstance(touched, Refused) or touched.fixture.work_light or not gives_light(touched.mode):
        return None
    return touched


def _on(state: State, seek: Seek, before: Iterable[str], now: float, leaving: Leaving) -> Answer:
    """Let those of `seek` breathe, and those from before that are not among them go."""
    old, happened, breathing = set(before), list[Event](), list[str]()
    for fixture in seek.breathing:
        touched = None if fixture in old else _touched(state, seek.person, fixture, now)
        if touched is not None:
            lit = light_up(touched.mode, SEEK_LEVEL, as_it_hangs=True)
            happened += [*touched.first, events.LevelsSet(seek.person, fixture, dict(lit), RISE_S)]
        if touched is not None or fixture in old:
            breathing.append(fixture)
    gone = [fixture for fixture in old if fixture not in breathing]
    kept = tuple(f for f in seek.left if f in breathing or f not in seek.breathing)
    if not kept:
        return [*_off(state, seek.person, old, leaving), events.SeekEnded(seek.person)]
    on = Seek(seek.person, kept, tuple(breathing), seek.answered, seek.outside)
    return [*happened, events.Sought(seek.person, on), *_off(state, seek.person, sorted(gone), leaving)]


def _off(state: State, person: str, fixtures: Iterable[str], leaving: Leaving) -> list[Event]:
    return [event for fixture in fixtures for event in let_go(state, person, fixture, leaving)]
