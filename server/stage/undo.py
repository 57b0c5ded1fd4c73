"""What stood where something is about to change, and putting it back: pure, whatever the order."""

from collections.abc import Iterable, Iterator, Mapping
from functools import singledispatch

from server.rig.patch import Fixture
from server.stage import events
from server.stage.events import Event
from server.stage.state import Before, State

__all__ = ["about_fixture", "as_events", "covers", "reading", "reads", "stood", "subjects", "weight"]


def stood(state: State, happening: Iterable[Event]) -> Before:
    """What stands in every place that these events, not applied yet, will change: their inverse, as data."""
    before = Before()
    for event in happening:
        _touch(event, state, before)
    return before


def reading(state: State, places: Before) -> Before:
    """What stands now in the places that `places` names."""
    now = Before(
        holders={f: state.holders.get(f) for f in places.holders},
        hand={f: _values(state.hand, f, keys) for f, keys in places.hand.items()},
        recalled={f: _values(state.recalled, f, keys) for f, keys in places.recalled.items()},
        faults={f: state.faults.get(f) for f in places.faults},
        focus={f: state.focus.get(f) for f in places.focus},
        fixtures={f: state.fixtures.get(f) for f in places.fixtures},
        profiles={key: state.profiles.get(key) for key in places.profiles},
        cases={number: state.cases.get(number) for number in places.cases},
        looks={look: state.looks.get(look) for look in places.looks},
        shared={u: state.shared.get(u) for u in places.shared},
        routes={u: state.routes.get(u) for u in places.routes},
        slots={u: {s: state.slots.get(u, {}).get(s) for s in slots} for u, slots in places.slots.items()},
    )
    for number, verdicts in places.verdicts.items():
        there = state.verdicts.get(number, {})
        now.verdicts[number] = {f: there.get(f) for f in verdicts}
    for look, fixtures in places.in_looks.items():
        if look in state.looks:
            values = state.looks[look].values
            now.in_looks[look] = {f: values[f] for f in fixtures if f in values}
    if places.baseline is not None:
        now.baseline = (state.baseline,)
    now.order = None if places.order is None else state.order
    now.call = None if places.call is None else state.call
    now.master = None if places.master is None else state.master
    now.blackout = None if places.blackout is None else state.blackout
    now.settings = None if places.settings is None else state.settings
    now.sync = None if places.sync is None else state.sync
    return now


def covers(before: Before, event: Event) -> bool:
    """Whether a level that moves on is one of those whose beginning `before` knows."""
    match event:
        case events.LevelsSet():
            return event.raws.keys() <= before.hand.get(event.fixture, {}).keys()
        case events.SlotSet():
            return event.slot in before.slots.get(event.universe, {})
        case events.MasterSet():
            return before.master is not None
    return False


def about_fixture(fixture: str) -> str:
    """The subject that everything done with a fixture has in common."""
    return f"fixture {fixture}"


def subjects(state: State, before: Before) -> tuple[str, ...]:
    """What a change writes to: two changes that share a subject are undone in their order, latest first.

    state: as the change has left it. "patch ID" is a fixture's being there and its mode, on which rests
    what is kept for it elsewhere.
    """
    seen = {f: None for fixtures in before.verdicts.values() for f in fixtures}
    cases = (case or state.cases.get(number) for number, case in before.cases.items())
    seen |= {case.fixture: None for case in cases if case is not None}
    fixtures = {**before.holders, **before.hand, **before.faults, **before.fixtures, **seen}
    found = [about_fixture(f) for f in {**fixtures, **before.focus}]
    found += [
        f"patch {f}" for f, unit in before.fixtures.items() if not _same_mode(unit, state.fixtures.get(f))
    ]
    found += [f"look {look}" for look in {**before.looks, **before.in_looks}]
    found += [f"slot {u}.{s}" for u, slots in before.slots.items() for s in slots]
    found += [f"profile {key}" for key in before.profiles]
    found += [f"universe {u}" for u in before.shared]
    found += [f"route {u}" for u in before.routes]
    whole = ("baseline", "order", "call", "master", "blackout", "settings", "sync")
    found += [name for name in whole if getattr(before, name) is not None]
    return tuple(found + (["recalled"] if before.recalled else []))


def reads(before: Before) -> set[str]:
    """What putting this back rests on without writing to it: the modes that the values were taken in."""
    found = {f for f, focus in before.focus.items() if focus and focus.values}
    found |= {*before.recalled, *(f for fixtures in before.in_looks.values() for f in fixtures)}
    found.update(f for look in before.looks.values() if look for f in look.values)
    return {f"patch {fixture}" for fixture in found}


def weight(before: Before) -> int:
    """How many values it holds: what it costs to keep."""
    many = len(before.holders) + len(before.faults) + len(before.fixtures) + len(before.order or ())
    many += sum(1 + len(focus.values) for focus in before.focus.values() if focus)
    many += sum(map(len, before.hand.values())) + sum(map(len, before.recalled.values()))
    many += 10 * (len(before.cases) + len(before.routes))
    many += sum(map(len, before.slots.values())) + sum(map(len, before.verdicts.values()))
    many += sum(len(values) for fixtures in before.in_looks.values() for values in fixtures.values())
    return many + sum(
        len(values) for look in before.looks.values() if look for values in look.values.values()
    )


def _same_mode(one: Fixture | None, other: Fixture | None) -> bool:
    return one is not None and other is not None and (one.profile, one.mode) == (other.profile, other.mode)


def _values(
    layer: Mapping[str, Mapping[str, int]], fixture: str, keys: Iterable[str]
) -> dict[str, int | None]:
    values = layer.get(fixture, {})
    return {key: values.get(key) for key in keys}


def _all(before: dict[str, dict[str, int | None]], layer: Mapping[str, Mapping[str, int]], f: str) -> None:
    if f in layer:
        before.setdefault(f, {}).update(layer[f])


def _layers(state: State, before: Before, fixture: str) -> None:
    """All values kept for a fixture."""
    _all(before.hand, state.hand, fixture)
    _all(before.recalled, state.recalled, fixture)
    if fixture in state.focus:
        before.focus[fixture] = state.focus[fixture]
    for look in state.looks.values():
        if fixture in look.values:
            before.in_looks.setdefault(look.id, {})[fixture] = look.values[fixture]


@singledispatch
def _touch(event: Event, state: State, before: Before) -> None:
    """Most events that are left are marks and joins, which are never undone."""


@_touch.register
def _(event: events.Taken, state: State, before: Before) -> None:
    before.holders[event.fixture] = state.holders.get(event.fixture)


@_touch.register
def _(event: events.LetGone, state: State, before: Before) -> None:
    before.holders[event.fixture] = state.holders.get(event.fixture)
    _all(before.hand, state.hand, event.fixture)


@_touch.register
def _(event: events.LevelsSet, state: State, before: Before) -> None:
    values = _values(state.hand, event.fixture, event.raws)
    before.hand.setdefault(event.fixture, {}).update(values)


@_touch.register
def _(event: events.FaultSet, state: State, before: Before) -> None:
    before.faults[event.fixture] = state.faults.get(event.fixture)


@_touch.register
def _(event: events.CaseSet, state: State, before: Before) -> None:
    before.cases[event.case.number] = state.cases.get(event.case.number)


@_touch.register
def _(event: events.Judged, state: State, before: Before) -> None:
    there = state.verdicts.get(event.round, {})
    before.verdicts.setdefault(event.round, {})[event.fixture] = there.get(event.fixture)


@_touch.register
def _(event: events.SlotSet, state: State, before: Before) -> None:
    level = state.slots.get(event.universe, {}).get(event.slot)
    before.slots.setdefault(event.universe, {})[event.slot] = level


@_touch.register
def _(event: events.MasterSet, state: State, before: Before) -> None:
    before.master = state.master


@_touch.register
def _(event: events.BlackoutSet, state: State, before: Before) -> None:
    before.blackout = state.blackout


@_touch.register
def _(event: events.LookSaved, state: State, before: Before) -> None:
    before.looks[event.look.id] = state.looks.get(event.look.id)


@_touch.register
def _(event: events.LookDeleted, state: State, before: Before) -> None:
    before.looks[event.look] = state.looks.get(event.look)
    if state.baseline == event.look:
        before.baseline = (state.baseline,)


@_touch.register
def _(event: events.LookRecalled, state: State, before: Before) -> None:
    if event.look == state.baseline:
        for fixture in state.recalled:
            _all(before.recalled, state.recalled, fixture)
        return
    for fixture, values in state.looks[event.look].values.items():
        if fixture in state.fixtures:
            was = state.recalled.get(fixture, {})
            if other := {key: was.get(key) for key, raw in values.items() if was.get(key) != raw}:
                before.recalled[fixture] = other


@_touch.register
def _(event: events.LooksLifted, state: State, before: Before) -> None:
    for fixture in event.fixtures:
        _all(before.recalled, state.recalled, fixture)


@_touch.register
def _(event: events.BaselineSet, state: State, before: Before) -> None:
    before.baseline = (state.baseline,)


@_touch.register
def _(event: events.ProfileAdded, state: State, before: Before) -> None:
    before.profiles[event.profile.key] = state.profiles.get(event.profile.key)


@_touch.register
def _(event: events.FixturePut, state: State, before: Before) -> None:
    was = state.fixtures.get(event.fixture.id)
    before.fixtures[event.fixture.id] = was
    if was is not None and not _same_mode(was, event.fixture):
        _layers(state, before, event.fixture.id)


@_touch.register
def _(event: events.FixtureRemoved, state: State, before: Before) -> None:
    fixture = event.fixture
    before.fixtures[fixture] = state.fixtures.get(fixture)
    before.holders[fixture] = state.holders.get(fixture)
    before.faults[fixture] = state.faults.get(fixture)
    _layers(state, before, fixture)
    if fixture in state.order:
        before.order = state.order


@_touch.register
def _(event: events.OrderSet, state: State, before: Before) -> None:
    before.order = state.order


@_touch.register
def _(event: events.FocusSet, state: State, before: Before) -> None:
    before.focus[event.fixture] = state.focus.get(event.fixture)


@_touch.register
def _(event: events.CallChanged, state: State, before: Before) -> None:
    before.call = state.call


@_touch.register
def _(event: events.UniverseShared, state: State, before: Before) -> None:
    before.shared[event.universe] = state.shared.get(event.universe)


@_touch.register
def _(event: events.RouteSet, state: State, before: Before) -> None:
    before.routes[event.universe] = state.routes.get(event.universe)


@_touch.register
def _(event: events.SyncSet, state: State, before: Before) -> None:
    before.sync = state.sync


@_touch.register
def _(event: events.SettingsChanged, state: State, before: Before) -> None:
    before.settings = state.settings


@_touch.register
def _(event: events.PutBack, state: State, before: Before) -> None:
    """What doing it again takes: the places it names, and what goes with a fixture that goes or changes."""
    now = reading(state, event.before)
    for layer in Before.__slots__:
        value = getattr(now, layer)
        if isinstance(value, dict):
            getattr(before, layer).update(value)
        elif value is not None:
            setattr(before, layer, value)
    for happening in as_events(state, event):
        _touch(happening, state, before)


def as_events(state: State, event: events.PutBack) -> Iterator[Event]:
    """What becomes of the fixtures themselves."""
    for fixture, unit in event.before.fixtures.items():
        if unit is not None:
            yield events.FixturePut(event.person, unit)
        elif fixture in state.fixtures:
            yield events.FixtureRemoved(event.person, fixture)
