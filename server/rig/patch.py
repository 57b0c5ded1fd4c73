"""Where each fixture hangs and listens."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from server.rig.place import Placed, Start
from server.rig.profile import Control, Mode, Profile
from server.rig.said import Said

__all__ = ["MORE_MOST", "REFUSED_KINDS", "Fixture", "Span", "mode_of", "spans", "spoken", "starts_of"]

# What a lighting data line must not drive (E1.11: not for hazardous applications).
REFUSED_KINDS = frozenset({"flame", "pyro", "motion", "hoist", "laser", "confetti", "gas"})

MORE_MOST = 64  # further columns of one fixture; a schedule has some sixteen in all


@dataclass(frozen=True, slots=True)
class Fixture:
    """One unit of the rig. universe and address are None while it is not patched.

    cap: 0..1, what its intensities are limited to. starts: its further start addresses, where its mode has
    any. placed: what a drawing says of it. more: what else its paper says, by heading, in that order.
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
    more: dict[str, str] = field(default_factory=dict, hash=False)

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
    for start in starts_of(fixture):
        slots = footprints.get(start.number, 0)
        if slots:
            yield Span(start.number, start.universe, start.address, start.address + slots - 1)


def starts_of(fixture: Fixture) -> tuple[Start, ...]:
    """Its start addresses as far as it is patched, the first as number 1."""
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
