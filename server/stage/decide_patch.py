"""The rules for the patch and the profiles a show carries."""

from collections.abc import Iterable, Iterator

from server.rig.check import Patch
from server.rig.patch import Fixture, mode_of, spans, spoken
from server.rig.profile import Mode, Profile
from server.rig.said import Said
from server.stage import commands, events
from server.stage.decide import MOST_UNIVERSES, Answer, Rules, allow, answer
from server.stage.holds import Refused, in_other_hands
from server.stage.near import called, names
from server.stage.state import State

__all__ = ["MOST_FIXTURES", "change_patch"]

MOST_FIXTURES = 4096  # ten times the largest rig files seen; keeps one bad import from filling memory


@answer.register
def _(command: commands.ChangePatch, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead"):
        return refused
    for fixture in command.remove:
        # Nobody takes somebody's light by taking it out of the rig.
        if holder := in_other_hands(state, command.person, fixture, now):
            why = Said(
                "{name} has {unit} in hand: it stays in the rig until they let go.",
                name=called(state, holder),
                unit=spoken(state.fixtures[fixture]),
            )
            return Refused(why, fixture, holder)
    return change_patch(state, command, rules)


def change_patch(state: State, command: commands.ChangePatch, rules: Rules) -> Answer:
    """The rule for changing the patch, whoever asks."""
    put_ids = {f.id for f in command.put}
    removed = dict.fromkeys(f for f in command.remove if f not in put_ids)
    profiles = {**state.profiles, **{p.key: p for p in command.profiles}}
    gone = put_ids | removed.keys()
    there = [f for f in state.fixtures.values() if f.id not in gone]
    if refused := _cannot_go(state, removed) or _cannot_change(state, command):
        return refused
    if len(there) + len(command.put) > MOST_FIXTURES:
        return Refused(Said("A rig holds up to {most} fixtures.", most=MOST_FIXTURES))
    patch = Patch(there, profiles, rules.off_limits)
    for fixture in command.put:
        before = state.fixtures.get(fixture.id)
        stays = before is not None and (before.position, before.unit) == (fixture.position, fixture.unit)
        if found := patch.problem(fixture, command.even_so or stays):
            return Refused(Said("{unit}: {problem}", unit=spoken(fixture), problem=found.why), fixture.id)
        patch.add(fixture)
    if len({u for f in (*there, *command.put) for u in f.universes} | state.opened) > MOST_UNIVERSES:
        return Refused(
            Said("A rig uses up to {most} universes. Patch some of it closer together.", most=MOST_UNIVERSES)
        )
    put = [f for f in command.put if state.fixtures.get(f.id) != f]
    by_hand = put if any(state.slots.values()) else []
    under = [place for f in by_hand for place in _set_by_hand(state, f, mode_of(f, profiles))]
    return [
        *(events.ProfileAdded(command.person, p) for p in command.profiles),
        *(events.FixtureRemoved(command.person, f) for f in removed),
        # Kept, such a level would come back unasked on the day the fixture is taken out again.
        *(events.SlotSet(command.person, universe, slot, None) for universe, slot in under),
        *(events.FixturePut(command.person, f) for f in put),
    ]


def _cannot_go(state: State, removed: Iterable[str]) -> Refused | None:
    for fixture in removed:
        if fixture not in state.fixtures:
            return Refused(Said("There is no such fixture any more."), fixture)
        if fixture in state.hands_on:
            unit = spoken(state.fixtures[fixture])
            return Refused(
                Said("Hands are on {unit}: it stays in the rig until they are off.", unit=unit), fixture
            )
        if refused := _out_of_use(state, state.fixtures[fixture]) or _aloft_there(
            state, state.fixtures[fixture]
        ):
            return refused
    return None


def _cannot_change(state: State, command: commands.ChangePatch) -> Refused | None:
    for profile in command.profiles:
        if refused := _profile_in_use(state, profile):
            return refused
    for new in command.put:
        before = state.fixtures.get(new.id)
        # Another address or mode would send it other values, and what somebody touches would move.
        if before is not None and new.id in state.hands_on and _driven_by(before) != _driven_by(new):
            return Refused(
                Said("Hands are on {unit}: its patch stays until they are off.", unit=spoken(before)), new.id
            )
        if (
            before is not None
            and _driven_by(before) != _driven_by(new)
            and (refused := _out_of_use(state, before))
        ):
            return refused
        if before != new and (before is None or _driven_by(before) != _driven_by(new)):
            for unit in (before, new):
                if unit is not None and (refused := _aloft_there(state, unit)):
                    return refused
    return None


def _out_of_use(state: State, unit: Fixture) -> Refused | None:
    if unit.id not in state.out_of_use:
        return None
    return Refused(Said("{unit} is out of use: its patch stays meanwhile.", unit=spoken(unit)), unit.id)


def _aloft_there(state: State, unit: Fixture) -> Refused | None:
    """Another address, mode or place would move what hangs beside somebody at height."""
    aloft = state.aloft_at(unit.position)
    if not aloft:
        return None
    why = Said(
        "Somebody is aloft at {position} ({names}): the patch there stays until they are down.",
        position=unit.position,
        names=names(state, aloft),
    )
    return Refused(why, unit.id)


def _driven_by(fixture: Fixture) -> tuple[object, ...]:
    where = fixture.universe, fixture.address, fixture.starts, fixture.position
    return *where, fixture.profile, fixture.mode, fixture.guarded, fixture.inverted


def _set_by_hand(state: State, fixture: Fixture, mode: Mode | None) -> Iterator[tuple[int, int]]:
    """Universe and slot of every level set by hand in its footprint."""
    for span in spans(fixture, mode) if mode is not None else ():
        yield from ((span.universe, slot) for slot in state.slots.get(span.universe, {}) if span.holds(slot))


@answer.register
def _(command: commands.AddProfile, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead") or _profile_in_use(state, command.profile):
        return refused
    return [events.ProfileAdded(command.person, command.profile)]


def _profile_in_use(state: State, profile: Profile) -> Refused | None:
    key = profile.key
    if any(f.profile == key for f in state.fixtures.values()) and state.profiles.get(key) != profile:
        return Refused(
            Said('Fixtures of the rig use a profile "{key}" already. Give the new one another key.', key=key)
        )
    return None
