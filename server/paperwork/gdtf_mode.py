"""One DMXMode of a GDTF description as a mode of our profile file."""

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any
from xml.etree.ElementTree import Element

from server.paperwork.gdtf_functions import functions_of, values_of
from server.paperwork.gdtf_values import GdtfError, attribute_in, offset_in, whole_in
from server.paperwork.profile_file import CONTROLS_MOST, STARTS_MOST
from server.rig.profile import VIRTUAL_BYTES

__all__ = ["mode_of"]

DEEPEST = 32  # geometries inside geometries; also ends references that go round in circles
PLACES_MOST = 4096
GUARDED = {"Fog": "fog", "Haze": "haze", "Blower": "fan", "Fan": "fan"}


@dataclass(frozen=True, slots=True)
class Place:
    """A geometry where it stands in a mode: which cell, and how far its slots are shifted there.

    shifts: by DMXBreak; 0 where it has none. overwrite: the break and shift of channels whose break the
    reference decides.
    """

    cell: str | None
    shifts: Mapping[int, int] = field(default_factory=dict)
    overwrite: tuple[int, int] = (1, 0)


@dataclass(frozen=True, slots=True)
class Channel:
    """A DMXChannel with the names it is linked by and the places it stands at.

    start: its DMXBreak, None where the reference decides ("Overwrite").
    """

    element: Element
    name: str
    attribute: str
    offset: tuple[int, ...]
    start: int | None
    places: list[Place]


def mode_of(
    mode: Element, geometries: dict[str, Element], units: dict[str, str], room: int
) -> tuple[dict[str, Any], int, list[str]]:
    """The mode as our file format has it, what is left of `room` for functions and sets, what was left out.

    Raises GdtfError with a sentence: not to be read so.
    """
    places = _places(geometries, mode.get("Geometry") or "")
    channels = [_channel(element, places) for element in mode.iterfind("DMXChannels/DMXChannel")]
    if sum(len(c.places) for c in channels) > CONTROLS_MOST:
        raise GdtfError(f"more than {CONTROLS_MOST} controls")
    keys = _keys(channels)
    widths = {c.name: len(c.offset) or VIRTUAL_BYTES for c in channels}
    made = [functions_of(c.element, widths, units) for c in channels]
    room -= sum(len(c.places) * _size(functions) for c, functions in zip(channels, made, strict=True))
    if room < 0:
        raise GdtfError("its functions and sets are more than a fixture file may hold here")
    controls = [
        _control(channel, place, keys, functions)
        for channel, functions in zip(channels, made, strict=True)
        for place in channel.places
    ]
    multiply, lost = _multiply(mode, channels, keys)
    scaling = {m["master"] for m in multiply}
    idle = [c["key"] for c in controls if not c["offset"] and c["key"] not in scaling]
    lost += [f"{key} has no slots and scales nothing" for key in idle]
    controls = [c for c in controls if c["offset"] or c["key"] in scaling]
    _fill(controls)
    slots = {1: 0}
    for control in controls:
        start = control.get("start", 1)
        slots[start] = max([slots.get(start, 0), *control["offset"]])
    name = (mode.get("Name") or "Mode").strip()[:200] or "Mode"
    out = {"name": name, "footprint": slots.pop(1), "controls": controls}
    if slots:
        out["further"] = {str(number): slots[number] for number in sorted(slots)}
    return out | ({"multiply": multiply} if multiply else {}), room, lost


def _size(functions: list[dict[str, Any]]) -> int:
    return sum(1 + len(f.get("ranges", ())) for f in functions)


def _places(geometries: dict[str, Element], top: str) -> dict[str, list[Place]]:
    """Where each geometry stands below `top`, references followed. An unknown top means every geometry."""
    found: dict[str, list[Place]] = {}
    start = [geometries[top]] if top in geometries else list(geometries.values())
    todo = [(element, Place(None), 0) for element in reversed(start)]
    count = 0
    while todo:
        element, place, depth = todo.pop()
        count += 1
        if depth > DEEPEST or count > PLACES_MOST:
            raise GdtfError("its geometries are nested without end or repeat too often")
        if element.tag == "GeometryReference":
            name = element.get("Name") or element.get("Geometry") or ""
            target = geometries.get(element.get("Geometry") or "")
            if target is not None:
                todo.append((target, _inside(element, place, name), depth + 1))
            continue
        found.setdefault(element.get("Name") or "", []).append(place)
        todo += [(child, place, depth + 1) for child in reversed(element) if child.get("Name")]
    return found


def _inside(reference: Element, outer: Place, name: str) -> Place:
    # The first of each number holds for channels of that break, the last of all for those that leave it open.
    given = [
        (whole_in(b, "DMXBreak", 1, 1, STARTS_MOST), whole_in(b, "DMXOffset", 1, 1, 512) - 1)
        for b in reference.findall("Break")
    ]
    shifts = dict(outer.shifts)
    for number, shift in reversed(given):
        shifts[number] = outer.shifts.get(number, 0) + shift
    last, shift = given[-1] if given else outer.overwrite
    overwrite = (last, outer.shifts.get(last, 0) + shift) if given else outer.overwrite
    cell = re.sub(r"[/\x00-\x1f]", " ", f"{outer.cell} {name}" if outer.cell else name).strip()[:60]
    return Place(cell or "Cell", shifts, overwrite)


def _channel(element: Element, places: dict[str, list[Place]]) -> Channel:
    logical = element.find("LogicalChannel")
    written = (logical.get("Attribute") if logical is not None else None) or "NoFeature"
    geometry = element.get("Geometry") or ""
    offset = offset_in(element)
    here = places.get(geometry, [Place(None)])
    decided = (element.get("DMXBreak") or "1").strip() != "Overwrite"
    start = whole_in(element, "DMXBreak", 1, 1, STARTS_MOST) if decided else None
    return Channel(element, f"{geometry}_{written}", attribute_in(written), offset, start, here)


Keys = dict[tuple[str, str | None], str]  # channel name and cell: the key of the control


def _keys(channels: list[Channel]) -> Keys:
    """Keys as ours are made; parts that share an attribute without being cells are named by geometry."""
    placed = [(c, p.cell) for c in channels for p in c.places]
    shared = Counter((c.attribute, cell) for c, cell in placed if c.attribute != "NoFeature")
    keys: Keys = {}
    for channel, cell in placed:
        named = cell
        if shared[channel.attribute, cell] > 1:
            part = re.sub(r"[/\x00-\x1f]", " ", channel.element.get("Geometry") or "part")
            named = f"{cell} {part}"[:60] if cell else part[:60]
        keys[channel.name, cell] = f"{channel.attribute}/{named}" if named else channel.attribute
    return keys


def _control(channel: Channel, place: Place, keys: Keys, made: list[dict[str, Any]]) -> dict[str, Any]:
    attribute, _, cell = keys[channel.name, place.cell].partition("/")
    functions = [_linked(function, place.cell, keys) for function in made]
    start, shift = place.overwrite
    if channel.start is not None:
        start, shift = channel.start, place.shifts.get(channel.start, 0)
    offset = [slot + shift for slot in channel.offset]
    if max(offset, default=1) > 512:
        raise GdtfError(f"{attribute} reaches beyond slot 512")
    logical = channel.element.find("LogicalChannel")
    snap = logical is not None and (logical.get("Snap") or "No") in ("Yes", "On")
    out: dict[str, Any] = {"key": keys[channel.name, place.cell], "attribute": attribute, "offset": offset}
    if start != 1 and offset:
        out["start"] = start
    if cell:
        out["cell"] = cell
    out |= values_of(channel.element, functions)
    out |= {"snap": snap, "functions": functions}
    reason = GUARDED.get(attribute.rstrip("0123456789"))
    if reason:
        out["guarded"] = {"reason": reason, "safe": 0}
    elif any("action" in f for f in functions):
        lamp = any(f["attribute"] == "LampControl" for f in functions)
        out["guarded"] = {"reason": "lamp" if lamp else "control", "safe": out["home"]}
    return out


def _linked(function: dict[str, Any], cell: str | None, keys: Keys) -> dict[str, Any]:
    master = function.get("mode_master")
    if master is None:
        return dict(function)
    key = keys.get((master["control"], cell)) or keys.get((master["control"], None)) or master["control"]
    return function | {"mode_master": master | {"control": key}}


def _multiply(mode: Element, channels: list[Channel], keys: Keys) -> tuple[list[dict[str, Any]], list[str]]:
    """Relations of type Multiply whose master is virtual, and a sentence for each that leads nowhere."""
    lost: list[str] = []
    by_name = {c.name: c for c in channels}
    out: dict[str, list[str]] = {}
    taken: set[str] = set()
    for relation in mode.iterfind("Relations/Relation"):
        master = by_name.get((relation.get("Master") or "").split(".")[0])
        follower = by_name.get((relation.get("Follower") or "").split(".")[0])
        if relation.get("Type") != "Multiply":
            continue
        if master is None or follower is None or master.offset:
            why = "it has slots of its own" if master is not None and master.offset else "one is not there"
            lost.append(f"{relation.get('Master')} does not scale {relation.get('Follower')}: {why}")
            continue
        for place in follower.places:
            key = keys.get((master.name, place.cell)) or keys.get((master.name, None))
            scaled = keys[follower.name, place.cell]
            if key and follower.offset and scaled not in taken:
                out.setdefault(key, []).append(scaled)
                taken.add(scaled)
    return [{"master": master, "followers": followers} for master, followers in out.items()], lost


def _fill(controls: list[dict[str, Any]]) -> None:
    # Old files leave gaps; every slot must be described.
    used: dict[int, set[int]] = {}
    for control in controls:
        used.setdefault(control.get("start", 1), set()).update(control["offset"])
    nothing = {"attribute": "NoFeature", "name": "Unused", "dmx": [0, 255]}
    for control in controls:
        del control["key"]
    controls += [
        {"attribute": "NoFeature", "start": start, "offset": [slot], "default": 0, "functions": [nothing]}
        for start, slots in sorted(used.items())
        for slot in sorted(set(range(1, max(slots, default=0))) - slots)
    ]
