"""Where each fixture hangs and listens, and whether that can be."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from server.rig.profile import Control, Mode, Profile
from server.rig.universe import UNIVERSE_LAST, OffLimits, last_start

__all__ = ["REFUSED_KINDS", "Fixture", "mode_of", "patch_problem", "spoken"]

# What a lighting data line must not drive (E1.11: not for hazardous applications).
REFUSED_KINDS = frozenset({"flame", "pyro", "motion", "hoist", "laser", "confetti", "gas"})


@dataclass(frozen=True, slots=True)
class Fixture:
    """One unit of the rig. universe and address are None while it is not patched.

    cap: 0..1, what its intensities are limited to.
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
    inverted: tuple[str, ...] = field(default=())

    def turns(self, control: Control) -> bool:
        """Whether raw counts down in that control's slots: by its profile or for this unit, not by both."""
        return control.invert != (control.key in self.inverted)


def mode_of(fixture: Fixture, profiles: Mapping[str, Profile]) -> Mode | None:
    """The mode the fixture is set to, or None when the profile or the mode is unknown."""
    profile = profiles.get(fixture.profile)
    return profile.mode(fixture.mode) if profile else None


def spoken(fixture: Fixture) -> str:
    """What a person calls it: "21 (Bridge 1 unit 3)"."""
    place = " ".join(part for part in (fixture.position, fixture.unit and f"unit {fixture.unit}") if part)
    if fixture.channel is None:
        return place or "a fixture without a channel"
    return f"{fixture.channel} ({place})" if place else str(fixture.channel)


def patch_problem(
    fixture: Fixture,
    profiles: Mapping[str, Profile],
    others: Iterable[Fixture],
    off_limits: Iterable[OffLimits],
) -> str | None:
    """Why this fixture cannot be patched so, in one sentence with what would do; None when it can.

    others: the fixtures already there; one of the same id is the fixture's own former self.
    """
    profile = profiles.get(fixture.profile)
    if profile is None:
        return f'There is no profile "{fixture.profile}". Choose one from the library or add it first.'
    if profile.kind in REFUSED_KINDS:
        return (
            f"{profile.name} is {profile.kind}. Leave it out: this tool never drives that, because DMX512 "
            "has no error checking."
        )
    mode = profile.mode(fixture.mode)
    if mode is None:
        names = ", ".join(m.name for m in profile.modes)
        return f'{profile.name} has no mode "{fixture.mode}". It has: {names}.'
    if not 0 <= fixture.cap <= 1:
        return f"A level cap goes from 0 to 1, not {fixture.cap:g}."
    if fixture.universe is None and fixture.address is None:
        return None
    return _place_problem(fixture, mode, profiles, others, off_limits)


def _place_problem(
    fixture: Fixture,
    mode: Mode,
    profiles: Mapping[str, Profile],
    others: Iterable[Fixture],
    off_limits: Iterable[OffLimits],
) -> str | None:
    universe, first = fixture.universe, fixture.address
    if universe is None or first is None:
        return "Universe and address go together: give both, or neither for a unit that is not patched."
    if not 1 <= universe <= UNIVERSE_LAST:
        return f"Universe {universe} does not exist: 1 to {UNIVERSE_LAST}."
    last = first + mode.footprint - 1
    if not 1 <= first <= last_start(mode.footprint):
        return (
            f"{mode.footprint} slots from {first} do not fit into a universe: the last start address of "
            f'"{mode.name}" is {last_start(mode.footprint)}.'
        )
    limits = [limit for limit in off_limits if limit.universe == universe]
    near = list(_near(fixture, others, profiles))
    taken = [(limit.first, limit.last) for limit in limits] + [(start, end) for _, start, end in near]
    for limit in limits:
        if limit.holds(universe, first, last):
            return (
                f"Universe {universe}: {_slots(limit.first, limit.last)} off limits: {limit.why}. "
                f"{_what_would_do(mode.footprint, limit.last, taken)}"
            )
    for other, start, end in near:
        if first <= end and last >= start:
            return (
                f"{universe}.{first}-{last} overlaps {spoken(other)} on "
                f"{_slots(max(first, start), min(last, end))}. {_what_would_do(mode.footprint, end, taken)}"
            )
    return None


def _near(
    fixture: Fixture, others: Iterable[Fixture], profiles: Mapping[str, Profile]
) -> Iterator[tuple[Fixture, int, int]]:
    """The others in its universe, with their first and last slot."""
    for other in others:
        if other.universe == fixture.universe and other.id != fixture.id and other.address is not None:
            mode = mode_of(other, profiles)
            if mode is not None:
                yield other, other.address, other.address + mode.footprint - 1


def _slots(first: int, last: int) -> str:
    return f"slot {first}" if first == last else f"slots {first}-{last}"


def _what_would_do(footprint: int, behind: int, taken: Iterable[tuple[int, int]]) -> str:
    used = {slot for first, last in taken for slot in range(first, last + 1)}
    starts = range(1, last_start(footprint) + 1)
    for start in (*starts[behind:], *starts[:behind]):
        if used.isdisjoint(range(start, start + footprint)):
            return f"The next free start is {start}."
    return "Nothing that long is free here: choose another universe."
