"""What undoing would do, in words, before it is done."""

from collections.abc import Iterator

from server.rig.said import Fact, Said
from server.stage.near import called
from server.stage.spoken_levels import spoken_values
from server.stage.state import Before, State
from server.stage.subject import called_unit

__all__ = ["foretold"]

MOST = 3  # things that a sentence names; the rest is counted


def foretold(state: State, person: str, back: Before) -> Said:
    """What happens when that is put back now, to the person who reads it.

    back: what `decide` found that can be put back.
    """
    parts = list(_parts(state, person, back))
    if not parts:
        return Said("Nothing of it is left to put back.")
    what, rest = parts[0], parts[1:MOST]
    for part in rest:
        what = Said("{first}; {then}", first=what, then=part)
    if len(parts) > MOST:
        what = Said("{first}; and {count} more", first=what, count=len(parts) - MOST)
    return Said("{what}.", what=what)


def _parts(state: State, person: str, back: Before) -> Iterator[Said]:
    yield from _patch(state, back)
    for fixture in {**back.holders, **back.hand}:
        if fixture not in back.fixtures:
            yield from _in_hand(state, person, back, fixture)
    yield from _noted(state, back)
    yield from _found(state, back)
    yield from _looks(state, back)
    for universe, slots in back.slots.items():
        for slot, level in slots.items():
            place = {"universe": universe, "slot": slot}
            if level is None:
                yield Said("universe {universe} slot {slot} given back", **place)
            else:
                yield Said("universe {universe} slot {slot} back to {level}", **place, level=level.raw)
    for universe in back.shared:
        yield Said("universe {universe} shared as it was", universe=universe)
    for universe in back.routes:
        yield Said("universe {universe} goes where it did", universe=universe)
    yield from _whole(back)


def _noted(state: State, back: Before) -> Iterator[Said]:
    for fixture, fault in back.faults.items():
        if fixture not in back.fixtures:
            unit = called_unit(state.fixtures[fixture])
            if fault is None:
                yield Said("nothing is wrong with {unit}", unit=unit)
            else:
                yield Said('{unit} is noted again: "{note}"', unit=unit, note=fault.words)
    for fixture in back.focus:
        if fixture not in back.fixtures:
            yield Said("the focus of {unit} as it was noted", unit=called_unit(state.fixtures[fixture]))


def _found(state: State, back: Before) -> Iterator[Said]:
    for verdicts in back.verdicts.values():
        for fixture, verdict in verdicts.items():
            if fixture in state.fixtures:
                unit = called_unit(state.fixtures[fixture])
                if verdict is None:
                    yield Said("{unit} without a verdict", unit=unit)
                else:
                    yield Said("the verdict on {unit} as it was", unit=unit)
    for number, case in back.cases.items():
        there = case or state.cases.get(number)
        if there is not None and there.fixture not in back.faults:
            yield Said('the fault "{note}" as it was before', note=there.words)


def _patch(state: State, back: Before) -> Iterator[Said]:
    for fixture, unit in back.fixtures.items():
        was = state.fixtures.get(fixture)
        if unit is None and was is not None:
            yield Said("{unit} goes out of the rig", unit=called_unit(was))
        elif unit is not None and was is None:
            yield Said("{unit} comes back into the rig", unit=called_unit(unit))
        elif unit is not None:
            yield Said("{unit} patched as it was", unit=called_unit(unit))
    for key, profile in back.profiles.items():
        there = state.profiles.get(key)
        if profile is None and there is not None:
            yield Said("the profile {name} goes", name=there.name)
        elif profile is not None:
            yield Said("the profile {name} as it was", name=profile.name)


def _in_hand(state: State, person: str, back: Before, fixture: str) -> Iterator[Said]:
    mode, unit = state.mode(fixture), called_unit(state.fixtures[fixture])
    if mode is None:
        return
    had = state.holders.get(fixture)
    holder = back.holders.get(fixture, had)
    now, base = state.asked(fixture, mode), state.base(fixture, mode)
    hand = {**state.hand.get(fixture, {}), **back.hand.get(fixture, {})} if holder else {}
    after = {**base, **{key: raw for key, raw in hand.items() if raw is not None and key in base}}
    values = spoken_values(mode, {key: raw for key, raw in after.items() if raw != now[key]})
    whose = _whose(state, person, had, holder)
    yield (
        Said("{unit} back to {values}, {whose}", unit=unit, values=values, whose=whose)
        if values
        else Said("{unit} {whose}", unit=unit, whose=whose)
    )


def _whose(state: State, person: str, had: str | None, holder: str | None) -> Fact:
    if holder is None:
        return Said("in nobody's hand")
    if holder == person:
        return Said("still in your hand") if had == holder else Said("in your hand again")
    name = called(state, holder)
    if had == holder:
        return Said("still in the hand of {name}", name=name)
    return Said("in the hand of {name} again", name=name)


def _looks(state: State, back: Before) -> Iterator[Said]:
    for key, look in back.looks.items():
        there = state.looks.get(key)
        if look is None and there is not None:
            yield Said('the look "{name}" goes', name=there.name)
        elif look is not None and there is None:
            yield Said('the look "{name}" is there again', name=look.name)
        elif look is not None and there is not None and look.name != there.name:
            yield Said('the look "{was}" is called "{name}" again', was=there.name, name=look.name)
        elif look is not None:
            yield Said('the look "{name}" holds again what it did', name=look.name)
    count = len(back.recalled)
    if count == 1:
        yield Said("what the look brought up goes back, on one fixture")
    elif count:
        yield Said("what the look brought up goes back, on {count} fixtures", count=count)


def _whole(back: Before) -> Iterator[Said]:
    if back.baseline is not None:
        yield Said("the baseline as it was")
    if back.order is not None:
        yield Said("the focus order as it was")
    if back.call is not None:
        yield Said("the settings as they were")
    if back.settings is not None:
        yield Said("the settings as they were")
    if back.sync is not None:
        yield Said("synchronisation as it was")
    if back.master is not None:
        yield Said("the master back to {percent} %", percent=round(100 * back.master))
    if back.blackout is not None:
        yield Said("blackout") if back.blackout else Said("blackout off")
