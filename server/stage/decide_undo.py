"""The rule for undoing: by the same checks as setting by hand, and in order."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from server.rig.patch import Fixture, spans
from server.rig.profile import Mode
from server.rig.said import Said
from server.stage import commands, events
from server.stage.commands_outputs import SetRoute
from server.stage.commands_shared import Share
from server.stage.decide import Answer, Rules, answer
from server.stage.decide_light import may_set
from server.stage.decide_show import MOST_LOOKS
from server.stage.events import Event
from server.stage.focus import Focus
from server.stage.holds import Refused, asks_first, let_go, touch
from server.stage.near import SOFT_S
from server.stage.order import in_the_way, not_theirs
from server.stage.put_back import MOST_CHANGES
from server.stage.state import Before, Look, State, Who
from server.stage.taught_levels import taught_by

__all__: list[str] = []


@dataclass(slots=True)
class _Plan:
    """What is put back, and what has to happen before and after it. fixtures: as they are afterwards."""

    state: State
    command: commands.Undo
    rules: Rules
    now: float
    wanted: Before
    fixtures: dict[str, Fixture]
    back: Before = field(default_factory=Before)
    first: list[Event] = field(default_factory=list)
    then: list[Event] = field(default_factory=list)
    fade_s: float = 0.0

    def mode(self, fixture: str) -> Mode | None:
        """The mode it is in afterwards."""
        unit = self.fixtures.get(fixture)
        if unit is None:
            return None
        profile = self.wanted.profiles.get(unit.profile) or self.state.profiles.get(unit.profile)
        return profile.mode(unit.mode) if profile else None


@answer.register
def _(command: commands.Undo, state: State, now: float, rules: Rules) -> Answer:
    change = state.changes.get(command.change)
    if change is None:
        return Refused(
            Said("That is too long ago: the last {most} changes can be undone.", most=MOST_CHANGES)
        )
    if why := not_theirs(state, command.person, change):
        return Refused(why)
    if change.before is None:
        return Refused(Said("{what} That cannot be undone.", what=Said.of(change.what)))
    if why := in_the_way(state, change):
        return Refused(why)
    before = change.before
    after = {f: unit for f, unit in {**state.fixtures, **before.fixtures}.items() if unit is not None}
    plan = _Plan(state, command, rules, now, before, after)
    plan.fade_s = max(state.settings.let_go_s, SOFT_S)  # light comes back, it does not snap
    for part in (_patch, _hands, _looks, _whole):
        if refused := part(plan):
            return refused
    person = state.people[command.person]
    done = events.PutBack(
        person.id,
        change.number,
        state.changed + 1,
        now,
        Who(person.name, person.role, person.phone),
        _what(Said.of(change.what), change.undone is not None).parts(),
        plan.back,
        plan.fade_s,
    )
    return [*plan.first, done, *plan.then]


def _what(what: Said, again: bool) -> Said:
    return Said("Did again: {what}", what=what) if again else Said("Undid: {what}", what=what)


def _patch(plan: _Plan) -> Refused | None:
    """Profiles, fixtures and slots of no fixture."""
    state, wanted, person = plan.state, plan.wanted, plan.command.person
    put = tuple(unit for unit in wanted.fixtures.values() if unit is not None)
    remove = tuple(f for f, unit in wanted.fixtures.items() if unit is None and f in state.fixtures)
    profiles = tuple(p for key, p in wanted.profiles.items() if p and state.profiles.get(key) != p)
    used = {unit.profile for unit in plan.fixtures.values()}
    if put or remove or profiles:
        patch = commands.ChangePatch(person, put, remove, profiles, even_so=True)
        patched = answer(patch, state, plan.now, plan.rules)
        if isinstance(patched, Refused):
            return patched
        plan.first += [event for event in patched if isinstance(event, events.SlotSet)]
    plan.back.fixtures = {f: wanted.fixtures[f] for f in (*remove, *(unit.id for unit in put))}
    plan.back.profiles = {k: p for k, p in wanted.profiles.items() if p or k not in used}
    for universe, slots in wanted.slots.items():
        for slot, level in slots.items():
            if state.teaching is not None and state.teaching.holds(universe, slot):
                return taught_by(state, state.teaching)
            for limit in plan.rules.off_limits:
                if level is not None and limit.holds(universe, slot, slot):
                    return _off_limits(universe, slot, limit.why)
            if level is None or not _covered(plan, universe, slot):
                plan.back.slots.setdefault(universe, {})[slot] = level
    return None


def _off_limits(universe: int, slot: int, why: str) -> Refused:
    return Refused(
        Said("Universe {universe} slot {slot} is off limits: {why}.", universe=universe, slot=slot, why=why)
    )


def _covered(plan: _Plan, universe: int, slot: int) -> bool:
    """Whether the slot belongs to a fixture afterwards, and has no level of its own."""
    near = (unit for unit in plan.fixtures.values() if universe in unit.universes)
    found = (span for unit in near if (mode := plan.mode(unit.id)) for span in spans(unit, mode))
    return any(span.universe == universe and span.holds(slot) for span in found)


def _hands(plan: _Plan) -> Refused | None:
    """Who has what in hand, with which values; and what is wrong with it."""
    state, wanted = plan.state, plan.wanted
    for fixture in {**wanted.holders, **wanted.hand}:
        mode = plan.mode(fixture)
        if mode is None:
            continue
        holder = state.holders.get(fixture)
        then = wanted.holders.get(fixture, holder)
        if then is None and holder is None:
            continue  # in nobody's hand, and nothing to be put back into one
        if then is not None and then not in state.people:
            continue  # nobody has it for somebody who has left
        values = _fitting(mode, wanted.hand.get(fixture, {}))
        if state.mode(fixture) != mode:  # it comes back, or back into that mode: what hurts stays out
            values = {key: raw for key, raw in values.items() if raw is None or not _wild(mode, key, raw)}
        elif refused := _in_hand(plan, fixture, mode, then, values):
            return refused
        plan.back.hand[fixture] = values
        if fixture in wanted.holders:
            plan.back.holders[fixture] = then
    plan.back.cases = dict(wanted.cases)
    plan.back.verdicts = {n: dict(seen) for n, seen in wanted.verdicts.items() if n in state.rounds}
    for fixture, focus in wanted.focus.items():
        if mode := plan.mode(fixture):
            plan.back.focus[fixture] = focus and _focus(state, mode, focus)
    plan.back.faults = {f: fault for f, fault in wanted.faults.items() if f in plan.fixtures}
    return None


def _in_hand(
    plan: _Plan, fixture: str, mode: Mode, then: str | None, values: Mapping[str, int | None]
) -> Refused | None:
    state, command = plan.state, plan.command
    if then is None:  # letting go asks less than taking: also what may not be driven any more is let go of
        refused = asks_first(state, command.person, plan.fixtures[fixture], plan.now)
        if refused is not None and not command.over:
            return refused
        plan.then += let_go(state, command.person, fixture, command.leaving)[1:]
        return None
    touched = touch(state, command.person, fixture, plan.now, command.over)
    if isinstance(touched, Refused):
        return touched
    now, hand = state.asked(fixture, mode), {**state.hand.get(fixture, {}), **values}
    asked = {**state.base(fixture, mode), **{key: raw for key, raw in hand.items() if raw is not None}}
    raws = {key: asked[key] for key in values if asked[key] != now[key]}
    if not raws:
        return None
    checked = may_set(state, touched, command.person, raws, command.held)
    if isinstance(checked, Refused):
        return checked
    for event in checked:
        match event:
            case events.StillSet():
                plan.first.append(event)
            case events.FlashAsked():
                plan.then.append(event)
            case events.LevelsSet():
                plan.fade_s = max(plan.fade_s, event.fade_s)
    return None


def _fitting(mode: Mode, values: Mapping[str, int | None]) -> dict[str, int | None]:
    """Those values that the mode has a place for: not all that was kept need fit what is there now."""
    found = {key: mode.control(key) for key in values}
    return {
        key: raw
        for key, raw in values.items()
        if (control := found[key]) and control.guard is None and (raw is None or raw <= control.maximum)
    }


def _focus(state: State, mode: Mode, focus: Focus) -> Focus:
    """As it was, but given to nobody who has left, and with values that the mode has a place for."""
    given = focus.given if focus.given in state.people else None
    return replace(focus, given=given, values=_whole_numbers(mode, focus.values))


def _whole_numbers(mode: Mode | None, values: Mapping[str, int]) -> dict[str, int]:
    fitting = _fitting(mode, values) if mode else {}
    return {key: raw for key, raw in fitting.items() if raw is not None}


def _wild(mode: Mode, key: str, raw: int) -> bool:
    control = mode.control(key)
    return control is None or any(f.strobes or f.action for f in control.functions_at(raw))


def _looks(plan: _Plan) -> Refused | None:
    state, wanted = plan.state, plan.wanted
    for fixture, values in wanted.recalled.items():
        if mode := plan.mode(fixture):
            plan.back.recalled[fixture] = _fitting(mode, values)
    for key, look in wanted.looks.items():
        if look is not None and key not in state.looks and len(state.looks) >= MOST_LOOKS:
            return Refused(
                Said("A show holds up to {most} looks. Delete or replace one first.", most=MOST_LOOKS)
            )
        plan.back.looks[key] = look and Look(look.id, look.name, _kept(plan, look.values))
    for key, kept in wanted.in_looks.items():
        if key in state.looks:
            plan.back.in_looks[key] = _kept(plan, kept)
    return None


def _kept(plan: _Plan, values: Mapping[str, dict[str, int]]) -> dict[str, dict[str, int]]:
    return {f: _whole_numbers(plan.mode(f), kept) for f, kept in values.items() if f in plan.fixtures}


def _whole(plan: _Plan) -> Refused | None:
    """Baseline, order, master, blackout, settings, how universes are shared and where they go."""
    state, wanted, back, person = plan.state, plan.wanted, plan.back, plan.command.person
    looks = {k for k, look in {**state.looks, **back.looks}.items() if look is not None}
    baseline = state.baseline if wanted.baseline is None else wanted.baseline[0]
    if baseline is not None and baseline not in looks:
        if wanted.baseline is None:
            return Refused(Said("This look is the baseline. Choose another baseline first."))
        return Refused(Said("There is no such look any more."))
    back.baseline, back.settings, back.call = wanted.baseline, wanted.settings, wanted.call
    if wanted.order is not None:
        back.order = tuple(f for f in wanted.order if f in plan.fixtures)
    for asked in (
        *([] if wanted.master is None else [commands.SetMaster(person, wanted.master)]),
        *([] if wanted.blackout is None else [commands.SetBlackout(person, wanted.blackout)]),
        *(Share(person, u, shared, plan.command.held) for u, shared in wanted.shared.items()),
        *(SetRoute(person, universe, route) for universe, route in wanted.routes.items()),
    ):
        checked = answer(asked, state, plan.now, plan.rules)
        if isinstance(checked, Refused):
            return checked
    back.master, back.blackout, back.shared = wanted.master, wanted.blackout, wanted.shared
    back.routes, back.sync = wanted.routes, wanted.sync
    return None
