"""The ChannelFunctions of one DMXChannel as functions of our profile file."""

import re
from collections import defaultdict
from typing import Any
from xml.etree.ElementTree import Element

from server.paperwork.gdtf_values import attribute_in, dmx_in, number_in, offset_in, whole_in
from server.rig.profile import VIRTUAL_BYTES, Function

__all__ = ["functions_of", "values_of"]

Made = dict[str, Any]
Master = tuple[str, int, int]  # link name of the channel it depends on, first and last value there
Member = tuple[int, Element, str]  # where it starts, the ChannelFunction, its attribute
NOTHING = "NoFeature"
ACTION = re.compile(r"(LampControl|\w*Reset)$")
HOLD_S = 5.0  # the files do not say; long enough for what is usually asked for (common practice, no source)
WORDS = {
    "reset": "The unit recalibrates: what it can move will run through its full travel.",
    "lamp_on": "The lamp is struck; the file does not say how long it takes.",
    "lamp_off": "The lamp goes out and may not strike again for several minutes.",
    "other": "The file does not say what happens.",
}


def functions_of(channel: Element, widths: dict[str, int], units: dict[str, str]) -> list[Made]:
    """What the channel does from 0 to its end; what no function describes is NoFeature.

    widths: bytes of each channel by its link name. units: PhysicalUnit by attribute.
    Raises GdtfError with element and attribute.
    """
    width = len(offset_in(channel)) or VIRTUAL_BYTES
    last = (1 << 8 * width) - 1
    out: list[Made] = []
    for master, members in _groups(channel, width, widths).items():
        # "Until the next one" is read inside the group that holds at the same time.
        ends = [*(start - 1 for start, _, _ in members[1:]), last]
        for (start, element, attribute), end in zip(members, ends, strict=True):
            if start <= end:  # an empty one says nothing
                made = _function(element, attribute, (start, end), width, units)
                out += _pieces(made | _mastered(master), dmx_in(element, "Default", width) or 0)
    if out and all(map(_strobes, out)):
        out[:1] = _calmed(out[0])
    first = min((f["dmx"][0] for f in out), default=last + 1)
    if first > 0:
        out.insert(0, {"attribute": NOTHING, "name": "Nothing", "dmx": [0, first - 1]})
    return out


def _groups(channel: Element, width: int, widths: dict[str, int]) -> dict[Master | None, list[Member]]:
    groups: dict[Master | None, list[Member]] = defaultdict(list)
    for logical in channel.iterfind("LogicalChannel"):
        for element in logical.iterfind("ChannelFunction"):
            attribute = attribute_in(element.get("Attribute") or logical.get("Attribute"))
            start = dmx_in(element, "DMXFrom", width) or 0
            groups[_master_of(element, widths)].append((start, element, attribute))
    return {master: sorted(members, key=lambda m: m[0]) for master, members in groups.items()}


def _master_of(element: Element, widths: dict[str, int]) -> Master | None:
    name = (element.get("ModeMaster") or "").split(".")[0]
    if not name:
        return None
    width = widths.get(name, 1)
    return name, dmx_in(element, "ModeFrom", width) or 0, dmx_in(element, "ModeTo", width) or 0


def _mastered(master: Master | None) -> Made:
    return {} if master is None else {"mode_master": {"control": master[0], "dmx": list(master[1:])}}


def _function(
    element: Element, attribute: str, reach: tuple[int, int], width: int, units: dict[str, str]
) -> Made:
    physical = (number_in(element, "PhysicalFrom", 0), number_in(element, "PhysicalTo", 1))
    name = (element.get("Name") or attribute).strip()[:200] or attribute
    out: Made = {"attribute": attribute, "name": name, "dmx": list(reach), "physical": list(physical)}
    out["unit"] = units.get(attribute, "None")
    for link in ("Wheel", "Emitter", "Filter"):
        if element.get(link):
            out[link.lower()] = element.get(link)
    if fade := number_in(element, "RealFade", 0):
        out["real_fade_s"] = min(max(fade, 0.0), 3600.0)
    return out | {"ranges": _ranges(element, reach, width, physical, "wheel" in out)}


def _ranges(
    element: Element, reach: tuple[int, int], width: int, physical: tuple[float, float], wheel: bool
) -> list[Made]:
    """Named sets, cut to their function; one ends where the next begins, and the empty are left out."""
    sets = [(dmx_in(piece, "DMXFrom", width) or 0, piece) for piece in element.iterfind("ChannelSet")]
    sets.sort(key=lambda each: each[0])
    ends = [*(start - 1 for start, _ in sets[1:]), reach[1]][: len(sets)]
    out: list[Made] = []
    for (start, piece), end in zip(sets, ends, strict=True):
        first, last = max(start, reach[0]), min(end, reach[1])
        name = (piece.get("Name") or "").strip()[:200]
        if not name or first > last:
            continue
        made: Made = {"name": name, "dmx": [first, last]}
        if piece.get("PhysicalFrom") or piece.get("PhysicalTo"):
            own = zip(("PhysicalFrom", "PhysicalTo"), physical, strict=True)
            made["physical"] = [number_in(piece, end_name, whole) for end_name, whole in own]
        slot = whole_in(piece, "WheelSlotIndex", 0, 0, 256)
        out.append(made | ({"slot": slot} if slot and wheel else {}))
    return out


def _pieces(function: Made, rest: int) -> list[Made]:
    """The function; a reset or lamp function cut into its sets.

    What holds its default `rest`, or has no name, does nothing.
    """
    first, last = function["dmx"]
    if not ACTION.match(function["attribute"]):
        return [function]
    names = {r["dmx"][0]: r["name"] for r in function["ranges"]}
    cuts = sorted({first, *names, *(r["dmx"][1] + 1 for r in function["ranges"])} - {last + 1})
    out = []
    for start, after in zip(cuts, [*cuts[1:], last + 1], strict=True):
        idle = start <= rest < after or (len(cuts) > 1 and start not in names)
        piece: Made = {"attribute": NOTHING if idle else function["attribute"]}
        piece |= {"name": names.get(start, function["name"]), "dmx": [start, after - 1]}
        out.append(
            piece | _only_master(function) | ({} if idle else _action(piece["attribute"], piece["name"]))
        )
    return out


def _calmed(function: Made) -> list[Made]:
    """A strobe that begins at 0 Hz gives up that one value, so that there is one to rest at."""
    first, last = function["dmx"]
    if function["physical"][0] != 0 or first == last:
        return [function]
    calm = {"attribute": NOTHING, "name": "No strobe", "dmx": [first, first]} | _only_master(function)
    cut = [
        r | {"dmx": [max(r["dmx"][0], first + 1), r["dmx"][1]]}
        for r in function["ranges"]
        if r["dmx"][1] > first
    ]
    return [calm, function | {"dmx": [first + 1, last], "ranges": cut}]


def _strobes(function: Made) -> bool:
    return Function(function["attribute"], "", 0, 0).strobes


def _only_master(function: Made) -> Made:
    return {key: value for key, value in function.items() if key == "mode_master"}


def _action(attribute: str, name: str) -> Made:
    kind = "reset"
    if attribute == "LampControl":
        said = set(re.findall(r"[a-z]+", name.casefold()))
        kind = "lamp_off" if "off" in said else "lamp_on" if said & {"on", "strike"} else "other"
    more = {"reset": {"busy_s": 60}, "lamp_off": {"lockout_s": 300}}.get(kind, {})
    return {"action": {"kind": kind, "hold_s": HOLD_S, "release": 0, "words": WORDS[kind]} | more}


def values_of(channel: Element, functions: list[Made]) -> Made:
    """Default, home and highlight. Home is the default unless that would strobe or set something off.

    The actions of `functions` are told to be released to home.
    """
    width = len(offset_in(channel)) or VIRTUAL_BYTES
    acting = [f for f in functions if "action" in f]
    calm = [f for f in functions if f not in acting and not _strobes(f)]
    default = _default(channel, width)
    if _lies_in(default, acting) and calm:
        default = calm[0]["dmx"][0]
    home = default if _lies_in(default, calm) or not calm else calm[0]["dmx"][0]
    for function in acting:
        function["action"] = function["action"] | {"release": home}
    return {"default": default, "home": home, "highlight": dmx_in(channel, "Highlight", width)}


def _lies_in(raw: int, functions: list[Made]) -> bool:
    return any(f["dmx"][0] <= raw <= f["dmx"][1] for f in functions)


def _default(channel: Element, width: int) -> int:
    elements = channel.findall("LogicalChannel/ChannelFunction")
    initial = (channel.get("InitialFunction") or "").split(".")[-1]
    chosen = [e for e in elements if initial and e.get("Name") == initial]
    # The channel's own Default is that of files up to DataVersion 1.0.
    given = (dmx_in(e, "Default", width) for e in (*chosen[:1], channel, *elements[:1]))
    return next((value for value in given if value is not None), 0)
