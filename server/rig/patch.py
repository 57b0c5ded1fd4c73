"""Where each fixture hangs and listens, and whether that can be."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from server.rig.profile import Mode, Profile
from server.rig.universe import UNIVERSE_LAST, OffLimits, last_start

__all__ = ["REFUSED_KINDS", "Fixture", "mode_of", "patch_problem", "spoken"]

# trade.md's list of what a lighting data line must not drive (E1.11: not for hazardous applications).
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
        return f"{profile.name} is {profile.kind}. This tool never drives that: DMX512 has no error checking."
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
    for limit in off_limits:
        if limit.holds(universe, first, last):
            return f"Universe {universe} slots {limit.first}-{limit.last} are off limits: {limit.why}."
    for other in others:
        shared = _shared_slots(universe, first, last, other, profiles)
        if shared is not None and other.id != fixture.id:
            return (
                f"{universe}.{first}-{last} overlaps {spoken(other)} on slots {shared[0]}-{shared[1]}. "
                f"The next free start behind it is {shared[2]}."
            )
    return None


def _shared_slots(
    universe: int, first: int, last: int, other: Fixture, profiles: Mapping[str, Profile]
) -> tuple[int, int, int] | None:
    mode = mode_of(other, profiles)
    if mode is None or other.universe != universe or other.address is None:
        return None
    end = other.address + mode.footprint - 1
    if first > end or last < other.address:
        return None
    return max(first, other.address), min(last, end), end + 1
