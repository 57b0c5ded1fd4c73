"""A profile file checked and expanded into a `Profile`."""

import json
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any

from pydantic import ValidationError

from server.paperwork.problems import FileError, Problem
from server.paperwork.profile_checks import problems_of
from server.paperwork.profile_file import (
    CONTROLS_MOST,
    PIECES_MOST,
    ControlFile,
    FunctionFile,
    GuardFile,
    ModeFile,
    ModeMasterFile,
    ProfileFile,
    RdmFile,
)
from server.paperwork.profile_json import profile_to_json
from server.rig.profile import (
    INTENSITY,
    Action,
    Control,
    Emitter,
    Function,
    Guard,
    Mode,
    ModeMaster,
    Profile,
    Range,
    RdmModel,
    Source,
    WheelSlot,
)

__all__ = ["profile_from_json", "profile_to_json"]

Keys = set[tuple[str, str | None]]  # attribute and cell
# Each may be a fault that costs a kilobyte and 10 µs. The largest profile that comes with this has 2,000.
COMMAS_MOST = 100_000
PROBLEMS_MOST = 100  # nobody reads more
EMPTY = "NoFeature"  # GDTF Annex A: slots that do nothing; the one attribute a mode may hold several times


def profile_from_json(data: bytes | str | dict[str, Any]) -> Profile:
    """The profile a file describes, cells expanded, guards of the unit laid on each control.

    A mode that mixes colour and has no intensity gets a virtual one that scales its emitters.
    Raises FileError with everything that is wrong, never another error for any bytes.
    """
    commas = data.count(",") if isinstance(data, str) else data.count(b",") if isinstance(data, bytes) else 0
    if commas > COMMAS_MOST:
        raise FileError([Problem("", f"There are more than {COMMAS_MOST} commas; is this a profile?")])
    try:
        written = ProfileFile.model_validate_json(json.dumps(data) if isinstance(data, dict) else data)
    except ValidationError as wrong:
        faults = wrong.errors(include_url=False, include_context=False, include_input=False)[:PROBLEMS_MOST]
        raise FileError([_problem(each["loc"], each["type"], each["msg"]) for each in faults]) from None
    _refuse_crowds(written)
    profile = _profile(written)
    found = problems_of(profile)
    if found:
        raise FileError(found)
    return profile


def _problem(place: Iterable[int | str], kind: str, message: str) -> Problem:
    where = " ".join(str(step + 1) if isinstance(step, int) else step for step in place)
    why = {"missing": "is missing", "extra_forbidden": "is not a word of the profile format"}.get(
        kind, message
    )
    return Problem(where, why)


def _refuse_crowds(file: ProfileFile) -> None:
    # Before anything is expanded: a few lines could otherwise ask for millions of controls.
    pieces = 0
    for mode in file.modes:
        times = [(c, 1) for c in mode.controls] + [(c, len(mode.cells)) for c in mode.cell_controls]
        pieces += sum(n * (1 + len(f.ranges)) for c, n in times for f in c.functions)
        if sum(n for _, n in times) > CONTROLS_MOST:
            raise FileError([Problem(f"mode {mode.name}", f"has more than {CONTROLS_MOST} controls")])
    if pieces > PIECES_MOST:
        raise FileError([Problem("", f"There are more than {PIECES_MOST} functions and ranges.")])


def _profile(file: ProfileFile) -> Profile:
    guard = _guard(file.guarded)
    return Profile(
        key=file.key,
        name=file.name,
        short_name=file.short_name,
        maker=file.maker,
        revision=file.revision,
        kind=file.kind,
        modes=tuple(_mode(mode, guard) for mode in file.modes),
        guard=guard,
        wheels={name: tuple(WheelSlot(s.name, s.xyY) for s in wheel) for name, wheel in file.wheels.items()},
        emitters={name: Emitter(e.xyY, e.dominant_nm) for name, e in file.emitters.items()},
        notes=file.notes,
        filters={name: Emitter(e.xyY, e.dominant_nm) for name, e in file.filters.items()},
        facts=dict(file.facts),
        rdm=tuple(_rdm(model) for model in file.rdm),
        manual_url=file.manual_url,
        source=Source(**file.source.model_dump()) if file.source else None,
    )


def _rdm(file: RdmFile) -> RdmModel:
    modes = {int(number): name for number, name in file.personalities.items()}
    return RdmModel(file.manufacturer, file.model, file.software, modes)


def _guard(file: GuardFile | None) -> Guard | None:
    return Guard(file.reason, file.safe) if file else None


def _mode(file: ModeFile, guard: Guard | None) -> Mode:
    whole = {c.attribute for c in file.controls if c.cell is None}
    placed = [(c, c.cell, c.offset) for c in file.controls]
    for part in file.cells:
        placed += [
            (c, part.name, tuple(slot + part.offset - 1 for slot in c.offset)) for c in file.cell_controls
        ]
    siblings = {(c.attribute, cell) for c, cell, _ in placed}
    fillers = sum(c.attribute == EMPTY and cell is None for c, cell, _ in placed)
    controls: list[Control] = []
    filled = 0
    for control, cell, offsets in placed:
        key = f"{control.attribute}/{cell}" if cell else control.attribute
        if key == EMPTY and fillers > 1:
            filled += 1
            key = f"{EMPTY}{filled}"
        controls.append(_control(control, key, cell, offsets, guard, siblings))
    multiply = {m.master: tuple(_followers(m.followers, controls, whole)) for m in file.multiply}
    further = {int(number): slots for number, slots in file.further.items()}
    return _with_intensity(Mode(file.name, file.footprint, tuple(controls), multiply, further))


def _followers(named: Iterable[str], controls: list[Control], whole: set[str]) -> Iterator[str]:
    for name in named:
        of_cells = [c.key for c in controls if c.attribute == name and c.cell is not None]
        yield from of_cells if of_cells and name not in whole else [name]


def _control(
    file: ControlFile,
    key: str,
    cell: str | None,
    offsets: tuple[int, ...],
    unit_guard: Guard | None,
    siblings: Keys,
) -> Control:
    return Control(
        key=key,
        attribute=file.attribute,
        offsets=offsets,
        default=file.default,
        home=file.default if file.home is None else file.home,
        functions=tuple(_function(f, cell, siblings) for f in file.functions),
        highlight=file.highlight,
        cell=cell,
        snap=file.snap,
        invert=file.invert,
        mastered=file.attribute == INTENSITY if file.master is None else file.master == "Grand",
        guard=_guard(file.guarded) or unit_guard,
        start=file.start,
    )


def _function(file: FunctionFile, cell: str | None, siblings: Keys) -> Function:
    return Function(
        attribute=file.attribute,
        name=file.name or file.attribute,
        first=file.dmx[0],
        last=file.dmx[1],
        physical=file.physical,
        unit=file.unit,
        ranges=tuple(Range(r.name, *r.dmx, r.physical, r.slot) for r in file.ranges),
        wheel=file.wheel,
        emitter=file.emitter,
        mode_master=_mode_master(file.mode_master, cell, siblings) if file.mode_master else None,
        action=Action(**file.action.model_dump()) if file.action else None,
        filter=file.filter,
        real_fade_s=file.real_fade_s,
    )


def _mode_master(file: ModeMasterFile, cell: str | None, siblings: Keys) -> ModeMaster:
    # In a cell a bare name means the cell's own control, where it has one.
    beside = cell is not None and (file.control, cell) in siblings
    return ModeMaster(f"{file.control}/{cell}" if beside else file.control, *file.dmx)


def _with_intensity(mode: Mode) -> Mode:
    # Without an intensity neither master nor blackout could take the light away.
    emitters = tuple(c.key for c in mode.controls if c.attribute.startswith("ColorAdd_"))
    scaled = {key for followers in mode.multiply.values() for key in followers}
    free = tuple(key for key in emitters if key not in scaled)
    if not free or any(c.attribute == INTENSITY for c in mode.controls):
        return mode
    full = Function(INTENSITY, INTENSITY, 0, 65535)
    virtual = Control(INTENSITY, INTENSITY, (), 0, 0, (full,), mastered=True)
    return replace(mode, controls=(virtual, *mode.controls), multiply=mode.multiply | {INTENSITY: free})
