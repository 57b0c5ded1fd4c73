"""What lies where in one universe: what a plan would put there, what is there, what is kept free."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from server.rig.patch import Fixture, mode_of, spans
from server.rig.profile import Profile
from server.rig.universe import SLOTS, OffLimits, Reserved

__all__ = ["Stretch", "What", "stretches"]

What = Literal["planned", "taken", "off_limits", "reserved"]


@dataclass(frozen=True, slots=True)
class Stretch:
    """Slots first to last, both included. fixture: its id. why: in the words of who keeps them."""

    first: int
    last: int
    what: What
    why: str = ""
    fixture: str | None = None


def stretches(
    universe: int,
    planned: Iterable[Fixture],
    there: Iterable[Fixture],
    profiles: Mapping[str, Profile],
    kept: Iterable[OffLimits | Reserved],
) -> list[Stretch]:
    """Everything in that universe by its first slot; what is kept comes before what lies on it.

    Of what does not fit into a universe, the slots that do. Slots in no stretch are free.
    """
    found = [
        Stretch(max(1, k.first), min(SLOTS, k.last), _kind(k), k.why)
        for k in kept
        if k.holds(universe, 1, SLOTS)
    ]
    found += _spans(universe, there, profiles, "taken")
    found += _spans(universe, planned, profiles, "planned")
    return sorted(found, key=lambda each: each.first)


def _kind(kept: OffLimits | Reserved) -> What:
    return "reserved" if isinstance(kept, Reserved) else "off_limits"


def _spans(
    universe: int, fixtures: Iterable[Fixture], profiles: Mapping[str, Profile], what: What
) -> Iterator[Stretch]:
    for fixture in fixtures:
        mode = mode_of(fixture, profiles) if universe in fixture.universes else None
        for span in spans(fixture, mode) if mode is not None else ():
            first, last = max(1, span.first), min(SLOTS, span.last)
            if span.universe == universe and first <= last:
                yield Stretch(first, last, what, fixture=fixture.id)
