"""Where each fixture hangs and listens, and whether that can be."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

from server.rig.place import Placed, Start
from server.rig.profile import Control, Mode, Profile
from server.rig.said import Said
from server.rig.universe import UNIVERSE_LAST, OffLimits, last_start

__all__ = ["REFUSED_KINDS", "Fixture", "Span", "mode_of", "patch_problem", "spans", "spoken"]

# What a lighting data line must not drive (E1.11: not for hazardous applications).
REFUSED_KINDS = frozenset({"flame", "pyro", "motion", "hoist", "laser", "confetti", "gas"})


@dataclass(frozen=True, slots=True)
class Fixture:
    """One unit of the rig. universe and address are None while it is not patched.

    cap: 0..1, what its intensities are limited to. starts: its further start addresses, where its mode has
    any. placed: what a drawing says of it.
    """

    id: str
    channel: int | None
    unit: str
    position: str
    purpose: str
    profile: str
    mode: str
    universe: int | None
    address: int | None
    house: bool = False
    guarded: bool = False
    work_light: bool = False
    notes: str = ""
    cap: float = 1.0
    inverted: tuple[str, ...] = ()
    starts: tuple[Start, ...] = ()
    placed: Placed | None = None

    @property
    def universes(self) -> set[int]:
        """Those it listens on."""
        first = set() if self.universe is None else {self.universe}
        return first | {start.universe for start in self.starts}

    def turns(self, control: Control) -> bool:
        """Whether raw counts down in that control's slots: by its profile or for this unit, not by both."""
        return control.invert != (control.key in self.inverted)


@dataclass(frozen=True, slots=True)
class Span:
    """The slots of one start address of a unit, both ends included."""

    start: int
    universe: int
    first: int
    last: int

    def holds(self, slot: int) -> bool:
        """Whether that slot of the universe is one of them."""
        return self.first <= slot <= self.last


def spans(fixture: Fixture, mode: Mode) -> Iterator[Span]:
    """Where it listens: one for each start address that is patched."""
    footprints = mode.footprints
    for start in _starts(fixture):
        slots = footprints.get(start.number, 0)
        if slots:
            yield Span(start.number, start.universe, start.address, start.address + slots - 1)


def _starts(fixture: Fixture) -> tuple[Start, ...]:
    if fixture.universe is None or fixture.address is None:
        return fixture.starts
    return Start(1, fixture.universe, fixture.address), *fixture.starts


def mode_of(fixture: Fixture, profiles: Mapping[str, Profile]) -> Mode | None:
    """The mode the fixture is set to, or None when the profile or the mode is unknown."""
    profile = profiles.get(fixture.profile)
    return profile.mode(fixture.mode) if profile else None


def spoken(fixture: Fixture) -> Said:
    """What a person calls it: "21 (Bridge 1 unit 3)"."""
    place = _place(fixture)
    if fixture.channel is None:
        return place or Said("a fixture without a channel")
    if place is None:
        return Said("{channel}", channel=fixture.channel)
    return Said("{channel} ({place})", channel=fixture.channel, place=place)


def _place(fixture: Fixture) -> Said | None:
    if fixture.position and fixture.unit:
        return Said("{position} unit {unit}", position=fixture.position, unit=fixture.unit)
    if fixture.unit:
        return Said("unit {unit}", unit=fixture.unit)
    return Said("{position}", position=fixture.position) if fixture.position else None


def patch_problem(
    fixture: Fixture,
    profiles: Mapping[str, Profile],
    others: Iterable[Fixture],
    off_limits: Iterable[OffLimits],
) -> Said | None:
    """Why this fixture cannot be patched so, in one sentence with what would do; None when it can.

    others: the fixtures already there; one of the same id is the fixture's own former self.
    """
    profile = profiles.get(fixture.profile)
    if profile is None:
        return Said(
            'There is no profile "{profile}". Choose one from the library or add it first.',
            profile=fixture.profile,
        )
    if profile.kind in REFUSED_KINDS:
        return Said(
            "{name} is {kind}. Leave it out: this tool never drives that, because DMX512 has no error "
            "checking.",
            name=profile.name,
            kind=profile.kind,
        )
    mode = profile.mode(fixture.mode)
    if mode is None:
        names = ", ".join(m.name for m in profile.modes)
        return Said(
            '{name} has no mode "{mode}". It has: {names}.', name=profile.name, mode=fixture.mode, names=names
        )
    if not 0 <= fixture.cap <= 1:
        return Said("A level cap goes from 0 to 1, not {cap}.", cap=fixture.cap)
    if (fixture.universe is None) != (fixture.address is None):
        return Said("Universe and address go together: give both, or neither for a unit that is not patched.")
    return _places_problem(fixture, mode, profiles, tuple(others), tuple(off_limits))


def _places_problem(
    fixture: Fixture,
    mode: Mode,
    profiles: Mapping[str, Profile],
    others: tuple[Fixture, ...],
    off_limits: tuple[OffLimits, ...],
) -> Said | None:
    numbers = [start.number for start in fixture.starts]
    for number in numbers:
        if number not in mode.further or numbers.count(number) > 1:
            return Said('"{mode}" has no start address {number}.', mode=mode.name, number=number)
    for start in _starts(fixture):
        if problem := _place_problem(fixture, start, mode, profiles, others, off_limits):
            return problem
    for one, two in combinations(spans(fixture, mode), 2):
        if one.universe == two.universe and one.first <= two.last and two.first <= one.last:
            return Said(
                "Two start addresses of the unit overlap on {slots}.",
                slots=_slots(max(one.first, two.first), min(one.last, two.last)),
            )
    return None


def _place_problem(
    fixture: Fixture,
    start: Start,
    mode: Mode,
    profiles: Mapping[str, Profile],
    others: Iterable[Fixture],
    off_limits: Iterable[OffLimits],
) -> Said | None:
    universe, first, slots = start.universe, start.address, mode.footprints[start.number]
    if not 1 <= universe <= UNIVERSE_LAST:
        return Said("Universe {universe} does not exist: 1 to {last}.", universe=universe, last=UNIVERSE_LAST)
    last = first + slots - 1
    if not 1 <= first <= last_start(slots):
        return Said(
            "{slots} slots from {first} do not fit into a universe: the last start address of "
            '"{mode}" is {last}.',
            slots=slots,
            first=first,
            mode=mode.name,
            last=last_start(slots),
        )
    limits = [limit for limit in off_limits if limit.universe == universe]
    near = list(_near(fixture, universe, others, profiles))
    taken = [(limit.first, limit.last) for limit in limits] + [(low, high) for _, low, high in near]
    for limit in limits:
        if limit.holds(universe, first, last):
            return Said(
                "Universe {universe}: {slots} off limits: {why}. {instead}",
                universe=universe,
                slots=_slots(limit.first, limit.last),
                why=limit.why,
                instead=_what_would_do(slots, limit.last, taken),
            )
    for other, low, high in near:
        if first <= high and last >= low:
            return Said(
                "{place} overlaps {unit} on {slots}. {instead}",
                place=f"{universe}.{first}-{last}",
                unit=spoken(other),
                slots=_slots(max(first, low), min(last, high)),
                instead=_what_would_do(slots, high, taken),
            )
    return None


def _near(
    fixture: Fixture, universe: int, others: Iterable[Fixture], profiles: Mapping[str, Profile]
) -> Iterator[tuple[Fixture, int, int]]:
    """The others in that universe, with their first and last slot."""
    for other in others:
        if other.id != fixture.id and (other.universe == universe or other.starts):
            mode = mode_of(other, profiles)
            if mode is not None:
                yield from ((other, s.first, s.last) for s in spans(other, mode) if s.universe == universe)


def _slots(first: int, last: int) -> Said:
    if first == last:
        return Said("slot {first}", first=first)
    return Said("slots {first}-{last}", first=first, last=last)


def _what_would_do(footprint: int, behind: int, taken: Iterable[tuple[int, int]]) -> Said:
    used = {slot for low, high in taken for slot in range(low, high + 1)}
    firsts = range(1, last_start(footprint) + 1)
    for first in (*firsts[behind:], *firsts[:behind]):
        if used.isdisjoint(range(first, first + footprint)):
            return Said("The next free start is {start}.", start=first)
    return Said("Nothing that long is free here: choose another universe.")
