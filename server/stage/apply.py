"""What an event makes of the state: deterministic, no clock, no chance.

The state is changed in place: a rig of 40,000 controls is not copied for every move of a thumb. Nothing
else in the program writes to it.
"""

from dataclasses import replace
from functools import singledispatch

from server.rig.profile import Control, Mode
from server.rig.values import raw_from_fraction
from server.stage import apply_clock, apply_focus, apply_found, apply_outputs, apply_shared, events
from server.stage.carried import put_in
from server.stage.events import Event
from server.stage.put_back import end_change, keep_change, put_back
from server.stage.state import Aloft, Armed, Dark, Fault, Hands, Lifted, Look, OutOfUse, Run, SlotLevel, State

__all__ = ["apply"]


@singledispatch
def _apply(event: Event, state: State) -> None:
    raise TypeError(f"no rule for {type(event).__name__}")


def apply(state: State, event: Event) -> None:
    """Change the state as the event says. Raises TypeError for an event nobody has written a rule for."""
    _apply(event, state)


@_apply.register
def _(event: events.PersonJoined, state: State) -> None:
    state.people[event.newcomer.id] = event.newcomer


@_apply.register
def _(event: events.PersonLeft, state: State) -> None:
    _forget(state, event.person)


@_apply.register
def _(event: events.PersonRemoved, state: State) -> None:
    _forget(state, event.who)


def _forget(state: State, person: str) -> None:
    state.people.pop(person, None)
    state.gone.pop(person, None)
    state.last_at.pop(person, None)
    state.aloft.pop(person, None)
    state.checking.pop(person, None)
    if state.seek is not None and state.seek.person == person:
        state.seek = None
    state.now.pop(person, None)
    for fixture, focus in tuple(state.focus.items()):
        if focus.given == person:
            state.focus[fixture] = replace(focus, given=None)


@_apply.register
def _(event: events.PersonRenamed, state: State) -> None:
    state.people[event.who] = replace(state.people[event.who], name=event.name)


@_apply.register
def _(event: events.PinSet, state: State) -> None:
    state.pins[event.role] = event.pin_hash


@_apply.register
def _(event: events.PersonCame, state: State) -> None:
    state.gone.pop(event.person, None)


@_apply.register
def _(event: events.PersonWent, state: State) -> None:
    state.gone[event.person] = event.at


@_apply.register
def _(event: events.Taken, state: State) -> None:
    if state.holders.get(event.fixture) != event.person:
        state.flashing.pop(event.fixture, None)  # who takes it over has not held anything yet
    state.holders[event.fixture] = event.person
    state.last_at[event.person] = event.fixture


@_apply.register
def _(event: events.LetGone, state: State) -> None:
    for layer in (state.holders, state.hand, state.flashing):
        layer.pop(event.fixture, None)


@_apply.register
def _(event: events.LevelsSet, state: State) -> None:
    hand = state.hand.setdefault(event.fixture, {})
    for key, raw in event.raws.items():
        if raw is None:
            hand.pop(key, None)
        else:
            hand[key] = raw


@_apply.register
def _(event: events.FaultSet, state: State) -> None:
    if event.words is None:
        state.faults.pop(event.fixture, None)
    else:
        state.faults[event.fixture] = Fault(event.words, event.person)


@_apply.register
def _(event: events.Acted, state: State) -> None:
    """An action leaves no level behind, it is over by itself; but what a lamp does next depends on it."""
    if event.kind:  # an older show file does not say
        state.acted.setdefault(event.fixture, {})[event.kind] = event.at


@_apply.register
def _(event: events.HandsOnSet, state: State) -> None:
    hands = state.hands_on.pop(event.fixture, None)
    frozen = hands.frozen if hands else event.frozen
    off = event.frozen is None
    people = [p for p in (hands.people if hands else ()) if not off or event.who not in (None, p)]
    if not off:
        people.append(event.who or event.person)
    if people and frozen is not None:
        state.hands_on[event.fixture] = Hands(people[0], frozen, tuple(people[1:]))


@_apply.register
def _(event: events.AloftSet, state: State) -> None:
    if event.position is None:
        state.aloft.pop(event.who, None)
    else:
        state.aloft[event.who] = Aloft(event.position, event.at)


@_apply.register
def _(event: events.StillSet, state: State) -> None:
    if event.frozen is None:
        state.still.pop(event.fixture, None)
    else:
        state.still[event.fixture] = event.frozen


@_apply.register
def _(event: events.OutOfUseSet, state: State) -> None:
    if event.reason is None:
        state.out_of_use.pop(event.fixture, None)
    else:
        state.out_of_use[event.fixture] = OutOfUse(event.person, event.reason, event.frozen)


@_apply.register
def _(event: events.DarkCalled, state: State) -> None:
    state.dark = Dark(event.person, event.at)


@_apply.register
def _(event: events.DarkAnswered, state: State) -> None:
    if state.dark is None:
        return
    if event.yes:
        state.dark = replace(state.dark, agreed=(*state.dark.agreed, event.person))
    else:
        state.dark = replace(state.dark, refused=event.person, at=event.at)


@_apply.register
def _(event: events.DarkEnded, state: State) -> None:
    state.dark = None


@_apply.register
def _(event: events.ArmedSet, state: State) -> None:
    state.armed[event.fixture] = Armed(event.person, event.reason, event.at, event.until)


@_apply.register
def _(event: events.Disarmed, state: State) -> None:
    state.armed.pop(event.fixture, None)
    state.runs.pop(event.fixture, None)


@_apply.register
def _(event: events.Ran, state: State) -> None:
    state.runs[event.fixture] = Run(event.person, event.press, event.since, event.at + event.for_s)


@_apply.register
def _(event: events.FlashAsked, state: State) -> None:
    state.flashing[event.fixture] = event.person


@_apply.register
def _(event: events.FlashLifted, state: State) -> None:
    state.lifted = Lifted(event.fixture, event.at, event.until) if event.fixture else None


@_apply.register
def _(event: events.TeachingSet, state: State) -> None:
    state.teaching = event.teaching


@_apply.register
def _(event: events.TeachingEnded, state: State) -> None:
    state.teaching = None


@_apply.register
def _(event: events.SlotSet, state: State) -> None:
    state.opened.add(event.universe)
    slots = state.slots.setdefault(event.universe, {})
    if event.raw is None:
        slots.pop(event.slot, None)
    else:
        slots[event.slot] = SlotLevel(event.raw, event.person)


@_apply.register
def _(event: events.MasterSet, state: State) -> None:
    state.master = event.value


@_apply.register
def _(event: events.BlackoutSet, state: State) -> None:
    state.blackout = event.on


@_apply.register
def _(event: events.LookSaved, state: State) -> None:
    state.looks[event.look.id] = event.look


@_apply.register
def _(event: events.LookDeleted, state: State) -> None:
    state.looks.pop(event.look, None)
    if state.baseline == event.look:
        state.baseline = None


@_apply.register
def _(event: events.LookRecalled, state: State) -> None:
    if event.look == state.baseline:
        state.recalled.clear()  # everything falls back to it, whatever was recalled before
        return
    for fixture, values in state.looks[event.look].values.items():
        # Looks leave work light alone, so that none takes it away; the baseline is what sets it.
        if fixture in state.fixtures and not state.fixtures[fixture].work_light:
            state.recalled.setdefault(fixture, {}).update(values)


@_apply.register
def _(event: events.BaselineSet, state: State) -> None:
    state.baseline = event.look


@_apply.register
def _(event: events.ProfileAdded, state: State) -> None:
    state.profiles[event.profile.key] = event.profile


@_apply.register
def _(event: events.StarsSet, state: State) -> None:
    state.stars = event.keys


@_apply.register
def _(event: events.FixturePut, state: State) -> None:
    before = state.mode(event.fixture.id)
    state.fixtures[event.fixture.id] = event.fixture
    after = state.mode(event.fixture.id)
    if before is None or after is None or before == after:
        return
    for old in (state.flashing, state.acted, state.armed, state.runs):
        old.pop(event.fixture.id, None)  # what was allowed or done belongs to the mode it was
    for layer in (state.hand, state.recalled, state.beside):
        if event.fixture.id in layer:
            layer[event.fixture.id] = _carried(layer[event.fixture.id], before, after)
    if (focus := state.focus.get(event.fixture.id)) is not None:
        carried = _carried(focus.values, before, after)
        state.focus[event.fixture.id] = replace(focus, values=carried)
    for look in tuple(state.looks.values()):
        if event.fixture.id in look.values:
            values = {**look.values, event.fixture.id: _carried(look.values[event.fixture.id], before, after)}
            state.looks[look.id] = Look(look.id, look.name, values)


def _carried(values: dict[str, int], before: Mode, after: Mode) -> dict[str, int]:
    """What raw values of one mode are in another: the same share, where both do one and the same thing."""
    carried = {}
    for key, raw in values.items():
        old, new = before.control(key), after.control(key)
        if old and new and new.guard is None and _does(new) is not None and _does(new) == _does(old):
            carried[key] = raw_from_fraction(raw / old.maximum, new.maximum)
    return carried


def _does(control: Control) -> str | None:
    """The attribute of its only function; None: it has several."""
    return control.functions[0].attribute if len(control.functions) == 1 else None


@_apply.register
def _(event: events.FixtureRemoved, state: State) -> None:
    for layer in (state.fixtures, state.hand, state.recalled, state.holders, state.hands_on, state.faults):
        layer.pop(event.fixture, None)
    for more in (state.out_of_use, state.still, state.armed, state.runs, state.flashing, state.acted):
        more.pop(event.fixture, None)
    if state.lifted is not None and state.lifted.fixture == event.fixture:
        state.lifted = None
    for kept in (state.focus, state.beside):
        kept.pop(event.fixture, None)
    state.last_at = {p: f for p, f in state.last_at.items() if f != event.fixture}
    for person, check in state.checking.items():
        if check.fixture == event.fixture:
            state.checking[person] = replace(check, fixture=None)
    state.now = {p: f for p, f in state.now.items() if f != event.fixture}
    state.order = tuple(f for f in state.order if f != event.fixture)
    for look in tuple(state.looks.values()):
        if event.fixture in look.values:
            left = {f: values for f, values in look.values.items() if f != event.fixture}
            state.looks[look.id] = Look(look.id, look.name, left)


@_apply.register
def _(event: events.OrderSet, state: State) -> None:
    state.order = event.order


@_apply.register
def _(event: events.SettingsChanged, state: State) -> None:
    state.settings = event.settings


@_apply.register
def _(event: events.ShowNamed, state: State) -> None:
    state.show = event.show


@_apply.register
def _(event: events.ShowReplaced, state: State) -> None:
    put_in(state, event.brought)


@_apply.register
def _(event: events.Changed, state: State) -> None:
    keep_change(state, event)


@_apply.register
def _(event: events.ChangeEnded, state: State) -> None:
    end_change(state, event)


@_apply.register
def _(event: events.PutBack, state: State) -> None:
    put_back(state, event, apply)


_apply.register(events.ClockSet, apply_clock.set_clock)
_apply.register(events.Sought, apply_found.sought)
_apply.register(events.SeekEnded, apply_found.end_seek)
_apply.register(events.Entered, apply_found.enter)
_apply.register(events.PhotoKept, apply_found.keep_photo)
_apply.register(events.PhotoDropped, apply_found.drop_photo)
_apply.register(events.RoundSet, apply_found.set_round)
_apply.register(events.CheckStepped, apply_found.step_check)
_apply.register(events.CheckStopped, apply_found.stop_check)
_apply.register(events.Judged, apply_found.judge)
_apply.register(events.CaseSet, apply_found.set_case)
_apply.register(events.FocusSet, apply_focus.set_focus)
_apply.register(events.NowSet, apply_focus.set_now)
_apply.register(events.BesideSet, apply_focus.set_beside)
_apply.register(events.CallChanged, apply_focus.change_call)
_apply.register(events.UniverseShared, apply_shared.share_universe)
_apply.register(events.LooksLifted, apply_shared.lift_looks)
_apply.register(events.RouteSet, apply_outputs.set_route)
_apply.register(events.SyncSet, apply_outputs.set_sync)
_apply.register(events.Shouted, apply_focus.keep_shout)
_apply.register(events.ShoutSeen, apply_focus.see_shout)
_apply.register(events.ShoutsOver, apply_focus.shouts_over)
