"""What papers and labels say of a rig, as plain rows that travel to the process that draws them."""

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, fields
from datetime import datetime
from typing import Any, NamedTuple, Self

from server.paperwork.printed.beam import BEAM, beam_of
from server.rig.patch import Fixture, spans, starts_of
from server.rig.plan import by_hanging
from server.rig.profile import Mode
from server.rig.universe import OffLimits, Reserved
from server.stage.cases import case_of
from server.stage.focus import Focus, FocusNote
from server.stage.state import State

__all__ = ["NOTES", "SAID", "Job", "Unit", "by_channel", "ranges_of", "rows", "snapshot"]


# Columns of papers that the rig knows only from the sheet it was read from, by the headings of such sheets.
SAID = {
    "circuit": ("circuit", "circuit number", "stromkreis", "kreis"),
    "dimmer": ("dimmer", "dimmer number"),
    "colour": ("colour", "color", "gel", "filter", "farbe"),
    "template": ("template", "gobo", "pattern"),
}


# What people have typed in the focus call, and by whom and when it was done.
NOTES = (*(each.name for each in fields(FocusNote)), "done")


class Unit(NamedTuple):
    """One fixture as it is printed. type: its profile's name.

    spans: universe, first and last slot of each run of slots it listens on, in the order of its start
    addresses; none while it is not patched. said: what its own paper says in the columns of `SAID`.
    fault, fault_by, out, out_by: what is wrong and who said so, why it is out of use and by whose word; ""
    for nothing. beam: by the names of `beam.BEAM`. focus: by those of `NOTES`. past: what
    became of its fault until it is over: date, who, which of stage.cases.STEPS, words.
    """

    id: str
    channel: int | None
    unit: str
    position: str
    purpose: str
    type: str
    mode: str
    spans: tuple[tuple[int, int, int], ...] = ()
    said: tuple[str, ...] = ("",) * len(SAID)
    notes: str = ""
    fault: str = ""
    fault_by: str = ""
    out: str = ""
    out_by: str = ""
    beam: tuple[str, ...] = ("",) * len(BEAM)
    focus: tuple[str, ...] = ("",) * len(NOTES)
    past: tuple[tuple[str, str, str, str], ...] = ()

    @property
    def universes(self) -> str:
        """The universes it listens on, a line for each start address."""
        return "\n".join(str(universe) for universe, _, _ in self.spans)

    @property
    def addresses(self) -> str:
        """Its start addresses, a line each."""
        return "\n".join(str(first) for _, first, _ in self.spans)


@dataclass(frozen=True, slots=True)
class Job:
    """One paper to draw. name: of `papers.PAPERS`, or "labels". printed: date and time as text.

    units: in the order in which they hang. off_limits, reserved: universe, first and last slot, why. page:
    where a label's code leads, such as "192.168.1.20:8010". width, height: of a label from a roll, in mm.
    skip: places of the first sheet that are used up. handed: what a hand-over says, as handed.Handed.
    """

    name: str
    size: str
    language: str
    show: str
    venue: str
    printed: str
    units: list[Unit]
    off_limits: list[tuple[int, int, int, str]] = field(default_factory=list)
    reserved: list[tuple[int, int, int, str]] = field(default_factory=list)
    page: str = ""
    stock: str = ""
    width: float = 0.0
    height: float = 0.0
    skip: int = 0
    handed: Mapping[str, Any] = field(default_factory=dict)

    def to_json(self) -> bytes:
        """As it travels to the process that draws."""
        return json.dumps({name: getattr(self, name) for name in self.__slots__}).encode()

    @classmethod
    def from_json(cls, data: bytes) -> Self:
        """What `to_json` made. Read from our own process only, so nothing is checked."""
        read: dict[str, Any] = json.loads(data)
        read["units"] = [Unit._make(map(_frozen, unit)) for unit in read["units"]]
        read |= {name: [tuple(each) for each in read[name]] for name in ("off_limits", "reserved")}
        return cls(**read)


def _frozen(value: Any) -> Any:
    return tuple(map(_frozen, value)) if isinstance(value, list) else value


def snapshot(state: State) -> State:
    """As much of the state as papers ask for, as it is now: the state may go on changing."""
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
        cases=dict(state.cases),
        out_of_use=dict(state.out_of_use),
        focus=dict(state.focus),
        beside={fixture: dict(raws) for fixture, raws in state.beside.items()},
        order=state.order,
        changes=dict(state.changes),
        photos=dict(state.photos),
        rounds=dict(state.rounds),
        verdicts={number: dict(seen) for number, seen in state.verdicts.items()},
    )


def rows(state: State, wanted: Callable[[Fixture], bool], beams: bool = False) -> list[Unit]:
    """The fixtures that are wanted, in the order in which they hang. beams: also what each is asked to do."""
    return [_row(state, fixture, beams) for fixture in by_hanging(state.fixtures.values()) if wanted(fixture)]


def _row(state: State, fixture: Fixture, beams: bool) -> Unit:
    profile, mode = state.profiles.get(fixture.profile), state.mode(fixture.id)
    fault, out = state.faults.get(fixture.id), state.out_of_use.get(fixture.id)

    said, rest = _said(fixture.more)

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
        spans=_listens(fixture, mode),
        said=said,
        notes="\n".join(text for text in (fixture.notes, *rest) if text),
        fault=fault.words if fault else "",
        fault_by=called(fault.person) if fault else "",
        out=out.reason if out else "",
        out_by=called(out.person) if out else "",
        past=_past(state, fixture.id),
        beam=beam_of(mode, _as_focused(state, fixture.id, mode)) if beams and mode else ("",) * len(BEAM),
        focus=_noted(state.focus.get(fixture.id, Focus())),
    )


def _as_focused(state: State, fixture: str, mode: Mode) -> dict[str, int]:
    """What it is asked now; what is done already as it was then."""
    asked, focus = state.asked(fixture, mode), state.focus.get(fixture, Focus())
    then = focus.values if focus.mark == "done" and fixture not in state.holders else {}
    return asked | {key: raw for key, raw in then.items() if key in asked}


def _noted(focus: Focus) -> tuple[str, ...]:
    at = datetime.fromtimestamp(focus.at).strftime("%H:%M") if focus.mark == "done" and focus.at else ""
    done = ", ".join(text for text in (focus.name, at) if text) if focus.mark == "done" else ""
    return (*(getattr(focus.note, each.name) for each in fields(FocusNote)), done)


def _past(state: State, fixture: str) -> tuple[tuple[str, str, str, str], ...]:
    case = case_of(state, fixture)
    if case is None:
        return ()
    day = (datetime.fromtimestamp(s.at).astimezone().strftime("%Y-%m-%d %H:%M") for s in case.steps)
    return tuple((date, s.name, s.what, s.words) for date, s in zip(day, case.steps, strict=True))


def _listens(fixture: Fixture, mode: Mode | None) -> tuple[tuple[int, int, int], ...]:
    if mode is not None:
        return tuple((span.universe, span.first, span.last) for span in spans(fixture, mode))
    # How long a unit of an unknown mode is nobody knows.
    return tuple((start.universe, start.address, start.address) for start in starts_of(fixture))


def _said(more: Mapping[str, str]) -> tuple[tuple[str, ...], list[str]]:
    """What stands in the columns of SAID, and everything else with its heading before it."""
    found, rest = dict.fromkeys(SAID, ""), []
    for heading, text in more.items():
        name = next((name for name, called in SAID.items() if heading.strip().casefold() in called), None)
        if name and not found[name]:
            found[name] = text
        elif text.strip():
            rest.append(f"{heading}: {text}")
    return tuple(found.values()), rest


def by_channel(units: Iterable[Unit]) -> list[Unit]:
    """As the hookup has them: channels upwards, then those without one, each as they hang."""
    return sorted(units, key=lambda unit: (unit.channel is None, unit.channel or 0))


def ranges_of(kept: Iterable[OffLimits | Reserved]) -> list[tuple[int, int, int, str]]:
    """Slots that are off limits or kept for something, as a job has them."""
    return [(each.universe, each.first, each.last, each.why) for each in kept]
