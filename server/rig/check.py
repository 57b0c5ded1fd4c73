"""Whether a fixture can be patched as it stands, what is wrong with it, and what would do instead."""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from itertools import combinations

from server.rig.patch import REFUSED_KINDS, Fixture, mode_of, spans, spoken, starts_of
from server.rig.place import Start
from server.rig.profile import Mode, Profile
from server.rig.said import Fact, Said
from server.rig.taken import Taken
from server.rig.universe import UNIVERSE_LAST, OffLimits, Reserved, last_start

__all__ = ["Finding", "Patch", "patch_problem"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing about one fixture's patch. kind: what it is about, one word.

    why: a sentence with what would do. refused: it cannot be patched so; else a warning. other: the id of the
    fixture it has to do with. instead: fields of the fixture that would do, by name; {} where a person must
    choose.
    """

    fixture: Fixture
    kind: str
    why: Said
    refused: bool = True
    other: str | None = None
    instead: Mapping[str, str | int] = field(default_factory=dict)


class Patch:
    """The fixtures patched so far, for checking the next one in no time."""

    def __init__(
        self,
        fixtures: Iterable[Fixture],
        profiles: Mapping[str, Profile],
        off_limits: Iterable[OffLimits] = (),
        reserved: Iterable[Reserved] = (),
    ) -> None:
        there = tuple(fixtures)
        self._profiles, self._limits, self._reserved = profiles, tuple(off_limits), tuple(reserved)
        self._taken = Taken(there, profiles, (*self._limits, *self._reserved))
        self._places = {place: f for f in reversed(there) if (place := _place(f))}
        self._channels = Counter(f.channel for f in there)
        self._by_channel = {f.channel: f for f in reversed(there)}
        self._highest = max((f.channel or 0 for f in there), default=0)

    def add(self, fixture: Fixture) -> None:
        """It is there from now on."""
        self._taken.add(fixture)
        if place := _place(fixture):
            self._places.setdefault(place, fixture)
        self._channels[fixture.channel] += 1
        self._by_channel.setdefault(fixture.channel, fixture)
        self._highest = max(self._highest, fixture.channel or 0)

    def problem(self, fixture: Fixture, even_so: bool = False) -> Finding | None:
        """The first thing that forbids it; None when it can be patched so.

        even_so: a second unit of the same number at the same position is wanted.
        """
        return next((found for found in self._found(fixture, even_so) if found.refused), None)

    def findings(self, fixture: Fixture, even_so: bool = False) -> list[Finding]:
        """Everything there is to say about it; a second unit of its number is a warning with even_so."""
        return [*self._found(fixture, even_so), *self._warnings(fixture)]

    def _found(self, fixture: Fixture, even_so: bool) -> Iterator[Finding]:
        if wrong := _kind_problem(fixture, self._profiles):
            yield wrong
        mode = mode_of(fixture, self._profiles)
        if mode is not None:
            yield from self._address_problems(fixture, mode)
        if (place := _place(fixture)) and (other := self._places.get(place)) and other.id != fixture.id:
            yield self._same_unit(fixture, other, not even_so)

    def _address_problems(self, fixture: Fixture, mode: Mode) -> Iterator[Finding]:
        if (fixture.universe is None) != (fixture.address is None):
            why = Said(
                "Universe and address go together: give both, or neither for a unit that is not patched."
            )
            yield Finding(fixture, "halves", why)
        numbers = [start.number for start in fixture.starts]
        for number in numbers:
            if number not in mode.further or numbers.count(number) > 1:
                why = Said('"{mode}" has no start address {number}.', mode=mode.name, number=number)
                yield Finding(fixture, "starts", why)
                return
        for start in starts_of(fixture):
            yield from self._start_problem(fixture, mode, start)
        for one, two in combinations(spans(fixture, mode), 2) if numbers else ():
            if one.universe == two.universe and one.first <= two.last and two.first <= one.last:
                why = Said(
                    "Two start addresses of the unit overlap on {slots}.",
                    slots=_slots(max(one.first, two.first), min(one.last, two.last)),
                )
                yield Finding(fixture, "starts", why)

    def _start_problem(self, fixture: Fixture, mode: Mode, start: Start) -> Iterator[Finding]:
        universe, first, slots = start.universe, start.address, mode.footprints[start.number]
        if not 1 <= universe <= UNIVERSE_LAST:
            why = Said(
                "Universe {universe} does not exist: 1 to {last}.", universe=universe, last=UNIVERSE_LAST
            )
            yield Finding(fixture, "universe", why)
            return
        last = first + slots - 1
        if not 1 <= first <= last_start(slots):
            why = Said(
                "{slots} slots from {first} do not fit into a universe: the last start address of "
                '"{mode}" is {last}.',
                slots=slots,
                first=first,
                mode=mode.name,
                last=last_start(slots),
            )
            yield Finding(fixture, "end", why, instead=_as_field(start, self._free(universe, slots, 0)))
            return
        for limit in self._limits:
            if limit.holds(universe, first, last):
                yield self._in_a_range(fixture, start, slots, limit)
                return
        others = (o for o in self._taken.owners(universe, first, last) if o.id != fixture.id)
        if (other := next(others, None)) is not None:
            yield self._overlap(fixture, mode, start, other)

    def _in_a_range(self, fixture: Fixture, start: Start, slots: int, kept: OffLimits | Reserved) -> Finding:
        free = self._free(start.universe, slots, kept.last)
        facts: dict[str, Fact] = {
            "universe": start.universe,
            "slots": _slots(kept.first, kept.last),
            "why": kept.why,
            "instead": _said(free),
        }
        instead = _as_field(start, free)
        if isinstance(kept, Reserved):
            why = Said("Universe {universe}: {slots} reserved: {why}. {instead}", **facts)
            return Finding(fixture, "reserved", why, refused=False, instead=instead)
        why = Said("Universe {universe}: {slots} off limits: {why}. {instead}", **facts)
        return Finding(fixture, "off_limits", why, instead=instead)

    def _overlap(self, fixture: Fixture, mode: Mode, start: Start, other: Fixture) -> Finding:
        universe, first, slots = start.universe, start.address, mode.footprints[start.number]
        last = first + slots - 1
        theirs = mode_of(other, self._profiles)
        there = (s for s in spans(other, theirs) if s.universe == universe) if theirs else ()
        low, high = next((s.first, s.last) for s in there if s.first <= last and first <= s.last)
        free = self._free(universe, slots, high)
        instead = _as_field(start, free)
        if (mode, starts_of(fixture)) == (theirs, starts_of(other)):
            # One set of slots cannot be in two hands, nor stand still for one and move for the other.
            why = Said(
                "{unit} listens at {place} in the same mode: two that always do the same are one fixture "
                'here; name both units in it, such as "3+4". {instead}',
                unit=spoken(other),
                place=f"{universe}.{first}",
                instead=_said(free),
            )
            return Finding(fixture, "twin", why, other=other.id, instead=instead)
        why = Said(
            "{place} overlaps {unit} on {slots}. {instead}",
            place=f"{universe}.{first}-{last}",
            unit=spoken(other),
            slots=_slots(max(first, low), min(last, high)),
            instead=_said(free),
        )
        return Finding(fixture, "overlap", why, other=other.id, instead=instead)

    def _same_unit(self, fixture: Fixture, other: Fixture, refused: bool) -> Finding:
        """Position and unit together say which light is meant; a channel may repeat."""
        free = next(
            name for name in _next_units(fixture.unit) if (fixture.position, name) not in self._places
        )
        why = Said(
            "{position} already has a unit {unit}. Give one of them another number, such as {free}.",
            position=fixture.position,
            unit=fixture.unit,
            free=free,
        )
        return Finding(fixture, "unit", why, refused, other.id, {"unit": free})

    def _warnings(self, fixture: Fixture) -> Iterator[Finding]:
        mode = mode_of(fixture, self._profiles)
        for kept in self._reserved if mode else ():
            for start in starts_of(fixture):
                slots = mode.footprints.get(start.number, 0) if mode else 0
                if kept.holds(start.universe, start.address, start.address + slots - 1):
                    yield self._in_a_range(fixture, start, slots, kept)
        other = self._by_channel.get(fixture.channel)
        if fixture.channel is not None and other is not None and other.id != fixture.id:
            why = Said(
                "Channel {channel} is also {unit}. That may be meant; {free} is free.",
                channel=fixture.channel,
                unit=spoken(other),
                free=self._highest + 1,
            )
            instead = {"channel": self._highest + 1}
            yield Finding(fixture, "channel", why, refused=False, other=other.id, instead=instead)

    def _free(self, universe: int, slots: int, behind: int) -> int | None:
        return self._taken.free_start(universe, slots, behind)


def patch_problem(
    fixture: Fixture,
    profiles: Mapping[str, Profile],
    others: Iterable[Fixture],
    off_limits: Iterable[OffLimits],
) -> Said | None:
    """Why this one fixture cannot be patched so, in one sentence with what would do; None when it can.

    others: the fixtures already there; one of the same id is the fixture's own former self.
    """
    there = (other for other in others if other.id != fixture.id)
    found = Patch(there, profiles, off_limits).problem(fixture)
    return found.why if found else None


def _kind_problem(fixture: Fixture, profiles: Mapping[str, Profile]) -> Finding | None:
    profile = profiles.get(fixture.profile)
    if profile is None:
        why = Said(
            'There is no profile "{profile}". Choose one from the library or add it first.',
            profile=fixture.profile,
        )
        return Finding(fixture, "profile", why, instead=_near("profile", fixture.profile, profiles))
    if profile.kind in REFUSED_KINDS:
        why = Said(
            "{name} is {kind}. Leave it out: this tool never drives that, because DMX512 has no error "
            "checking.",
            name=profile.name,
            kind=profile.kind,
        )
        return Finding(fixture, "kind", why)
    if profile.mode(fixture.mode) is None:
        names = [m.name for m in profile.modes]
        why = Said(
            '{name} has no mode "{mode}". It has: {names}.',
            name=profile.name,
            mode=fixture.mode,
            names=", ".join(names),
        )
        return Finding(fixture, "mode", why, instead=_near("mode", fixture.mode, names))
    if not 0 <= fixture.cap <= 1:
        return Finding(fixture, "cap", Said("A level cap goes from 0 to 1, not {cap}.", cap=fixture.cap))
    return None


def _near(name: str, wrong: str, right: Iterable[str]) -> dict[str, str | int]:
    choices = list(right)
    near = choices if len(choices) == 1 else get_close_matches(wrong, choices, 1)
    return {name: near[0]} if near else {}


def _place(fixture: Fixture) -> tuple[str, str] | None:
    return (fixture.position, fixture.unit) if fixture.position and fixture.unit else None


def _next_units(unit: str) -> Iterator[str]:
    """3A, 3B, ... behind 3; B and C behind A."""
    stem, letter = (unit[:-1], unit[-1]) if re.search(r"[0-9][A-Y]$", unit) else (unit, "@")
    yield from (stem + chr(code) for code in range(ord(letter) + 1, ord("Z") + 1))
    number = 2
    while True:
        yield f"{unit}-{number}"
        number += 1


def _slots(first: int, last: int) -> Said:
    if first == last:
        return Said("slot {first}", first=first)
    return Said("slots {first}-{last}", first=first, last=last)


def _said(free: int | None) -> Said:
    if free is not None:
        return Said("The next free start is {start}.", start=free)
    return Said("Nothing that long is free here: choose another universe.")


def _as_field(start: Start, free: int | None) -> dict[str, str | int]:
    # Another of several start addresses is no field of its own.
    return {"address": free} if free is not None and start.number == 1 else {}
