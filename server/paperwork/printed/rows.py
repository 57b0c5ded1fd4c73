"""What papers and labels say of a rig, as plain rows that travel to the process that draws them."""

import json
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any, NamedTuple, Self

from server.paperwork.printed.beam import BEAM, beam_of
from server.rig.patch import Fixture
from server.rig.universe import OffLimits
from server.stage.state import State

__all__ = ["Job", "Unit", "by_channel", "by_hanging", "limits_of", "rows", "snapshot"]


class Unit(NamedTuple):
    """One fixture as it is printed. type: its profile's name. slots: its footprint, 0 where that is unknown.

    fault, fault_by, out, out_by: what is wrong and who said so, why it is out of use and by whose word; ""
    for nothing. beam: by the names of `beam.BEAM`.
    """

    id: str
    channel: int | None
    unit: str
    position: str
    purpose: str
    type: str
    mode: str
    slots: int
    universe: int | None
    address: int | None
    notes: str = ""
    fault: str = ""
    fault_by: str = ""
    out: str = ""
    out_by: str = ""
    beam: tuple[str, ...] = ("",) * len(BEAM)

    @property
    def last(self) -> int | None:
        """Its last slot; None while it is not patched."""
        return None if self.address is None else self.address + max(1, self.slots) - 1


@dataclass(frozen=True, slots=True)
class Job:
    """One paper to draw. name: of `papers.PAPERS`, or "labels". printed: date and time as text.

    units: in the order of the rig. off_limits: universe, first and last slot, why. page: where a label's
    code leads, such as "192.168.1.20:8010". width, height: of a label from a roll, in mm. skip: places of
    the first sheet that are used up.
    """

    name: str
    size: str
    language: str
    show: str
    venue: str
    printed: str
    units: list[Unit]
    off_limits: list[tuple[int, int, int, str]] = field(default_factory=list)
    page: str = ""
    stock: str = ""
    width: float = 0.0
    height: float = 0.0
    skip: int = 0

    def to_json(self) -> bytes:
        """As it travels to the process that draws."""
        return json.dumps({name: getattr(self, name) for name in self.__slots__}).encode()

    @classmethod
    def from_json(cls, data: bytes) -> Self:
        """What `to_json` made. Read from our own process only, so nothing is checked."""
        read: dict[str, Any] = json.loads(data)
        units = [Unit._make([*unit[:-1], tuple(unit[-1])]) for unit in read.pop("units")]
        limits = [tuple(limit) for limit in read.pop("off_limits")]
        return cls(**read, units=units, off_limits=limits)


def snapshot(state: State) -> State:
    """As much of the state as `rows` asks for, as it is now: the state may go on changing."""
    return State(
        show=state.show,
        profiles=dict(state.profiles),
        fixtures=dict(state.fixtures),
        people=dict(state.people),
        looks=dict(state.looks),
        baseline=state.baseline,
        recalled={fixture: dict(raws) for fixture, raws in state.recalled.items()},
        hand={fixture: dict(raws) for fixture, raws in state.hand.items()},
        faults=dict(state.faults),
        out_of_use=dict(state.out_of_use),
    )


def rows(state: State, wanted: Callable[[Fixture], bool], beams: bool = False) -> list[Unit]:
    """The fixtures that are wanted, in the order of the rig. beams: also what each is asked to do now."""
    return [_row(state, fixture, beams) for fixture in state.fixtures.values() if wanted(fixture)]


def _row(state: State, fixture: Fixture, beams: bool) -> Unit:
    profile, mode = state.profiles.get(fixture.profile), state.mode(fixture.id)
    fault, out = state.faults.get(fixture.id), state.out_of_use.get(fixture.id)

    def called(person: str) -> str:
        return state.people[person].name if person in state.people else ""

    return Unit(
        id=fixture.id,
        channel=fixture.channel,
        unit=fixture.unit,
        position=fixture.position,
        purpose=fixture.purpose,
        type=profile.name if profile else fixture.profile,
        mode=fixture.mode,
        slots=mode.footprint if mode else 0,
        universe=fixture.universe,
        address=fixture.address,
        notes=fixture.notes,
        fault=fault.words if fault else "",
        fault_by=called(fault.person) if fault else "",
        out=out.reason if out else "",
        out_by=called(out.person) if out else "",
        beam=beam_of(mode, state.asked(fixture.id, mode)) if beams and mode else ("",) * len(BEAM),
    )


def by_channel(units: Iterable[Unit]) -> list[Unit]:
    """As the hookup has them: channels upwards, then those without one, each as they hang."""
    return sorted(by_hanging(units), key=lambda u: (u.channel is None, u.channel or 0))


def by_hanging(units: Iterable[Unit]) -> list[Unit]:
    """Position by position as the rig first names them, units in the order of their numbers: 2, 3, 3A, 10."""
    there = list(units)
    places = {position: at for at, position in enumerate(dict.fromkeys(u.position for u in there))}
    return sorted(there, key=lambda u: (places[u.position], _counted(u.unit)))


def _counted(unit: str) -> list[tuple[int, str]]:
    # Digits by what they count, and only those that int() reads; no unit has a number of more than 18 digits.
    parts = re.split(r"([0-9]+)", unit.strip().casefold())
    return [(int(part[:18]), "") if at % 2 else (-1, part) for at, part in enumerate(parts)]


def limits_of(off_limits: Iterable[OffLimits]) -> list[tuple[int, int, int, str]]:
    """Off-limits slots as a job has them."""
    return [(each.universe, each.first, each.last, each.why) for each in off_limits]
