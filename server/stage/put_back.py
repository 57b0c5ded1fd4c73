"""What undoing makes of the state, and the changes it remembers."""

from collections.abc import Callable, Mapping
from dataclasses import replace

from server.stage import events
from server.stage.events import Event
from server.stage.state import Before, Change, Look, State, Undone
from server.stage.undo import as_events, stood, weight

__all__ = ["MOST_CHANGES", "MOST_VALUES", "end_change", "keep_change", "put_back"]

MOST_CHANGES = 500  # a busy day of one crew; older ones are in the record, and stay as they are
MOST_VALUES = 250_000  # values in all of them together: some 3 MB in the file


def keep_change(state: State, event: events.Changed) -> None:
    """Remember a change; the oldest are forgotten."""
    state.changed = event.number
    kept = weight(event.before) if event.before else 0
    state.changes[event.number] = Change(
        event.number, event.at, event.person, event.by.name, event.about, event.what, event.before, kept
    )
    _forget(state)


def end_change(state: State, event: events.ChangeEnded) -> None:
    """Remember what a change came to in the end."""
    if event.number in state.changes:
        state.changes[event.number] = replace(state.changes[event.number], what=event.what)


def put_back(state: State, event: events.PutBack, apply: Callable[[State, Event], None]) -> None:
    """Let stand again what stood; the change remembers what stood until now."""
    again, before = stood(state, (event,)), event.before
    for key, profile in before.profiles.items():
        _put(state.profiles, key, profile)
    for happening in tuple(as_events(state, event)):
        apply(state, happening)
    _put_hands(state, before)
    _put_layers(state, before)
    _put_found(state, before)
    _put_whole(state, before)
    state.changed = event.number
    change = state.changes.get(event.change)
    if change is not None:
        undone = None if change.undone else Undone(event.person, event.number)
        state.changes[event.change] = replace(change, before=again, weight=weight(again), undone=undone)
    _forget(state)


def _put_hands(state: State, before: Before) -> None:
    for fixture, holder in before.holders.items():
        if state.holders.get(fixture) != holder:
            state.flashing.pop(fixture, None)  # who has it now has not held anything
        _put(state.holders, fixture, holder)
    for layer, wanted in ((state.hand, before.hand), (state.recalled, before.recalled)):
        for fixture, values in wanted.items():
            _put_values(layer, fixture, values)
    for fixture in before.holders:
        if fixture not in state.holders:
            state.hand.pop(fixture, None)
    for fixture, focus in before.focus.items():
        _put(state.focus, fixture, focus)


def _put_layers(state: State, before: Before) -> None:
    for fixture, fault in before.faults.items():
        _put(state.faults, fixture, fault)
    for key, look in before.looks.items():
        _put(state.looks, key, look)
    for key, fixtures in before.in_looks.items():
        if (look := state.looks.get(key)) is not None:
            state.looks[key] = Look(look.id, look.name, {**look.values, **fixtures})
    for universe, slots in before.slots.items():
        for slot, level in slots.items():
            _put(state.slots.setdefault(universe, {}), slot, level)


def _put_found(state: State, before: Before) -> None:
    for case, was in before.cases.items():
        _put(state.cases, case, was)
    for number, verdicts in before.verdicts.items():
        if number in state.rounds:
            there = dict(state.verdicts.get(number, {}))
            for fixture, verdict in verdicts.items():
                _put(there, fixture, verdict)
            state.verdicts[number] = there


def _put_whole(state: State, before: Before) -> None:
    for universe, shared in before.shared.items():
        _put(state.shared, universe, shared)
    for universe, route in before.routes.items():
        _put(state.routes, universe, route)
    if before.sync is not None:
        state.sync = before.sync
    if before.baseline is not None:
        (state.baseline,) = before.baseline
    if before.order is not None:
        state.order = before.order
    if before.call is not None:
        state.call = before.call
    if before.master is not None:
        state.master = before.master
    if before.blackout is not None:
        state.blackout = before.blackout
    if before.settings is not None:
        state.settings = before.settings


def _put(layer: dict, key: object, value: object) -> None:  # type: ignore[type-arg]
    if value is None:
        layer.pop(key, None)
    else:
        layer[key] = value


def _put_values(layer: dict[str, dict[str, int]], fixture: str, values: Mapping[str, int | None]) -> None:
    there = layer.setdefault(fixture, {})
    for key, raw in values.items():
        _put(there, key, raw)
    if not there:
        del layer[fixture]


def _forget(state: State) -> None:
    held = sum(change.weight for change in state.changes.values())
    for number, change in tuple(state.changes.items())[:-1]:
        if len(state.changes) <= MOST_CHANGES and held <= MOST_VALUES:
            return
        held -= change.weight
        del state.changes[number]
