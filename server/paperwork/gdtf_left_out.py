"""What a GDTF description says that has no place in a profile here: named, never dropped in silence."""

from collections.abc import Iterator
from xml.etree.ElementTree import Element

from server.paperwork.problems import Problem

__all__ = ["left_out"]

# By element and attribute (DIN SPEC 15800:2022-02, T57, T58, T60): what it would have meant.
SAID = {
    ("DMXChannel/LogicalChannel", "MibFade"): "its fade time while dark (MibFade) is not kept",
    ("DMXChannel/LogicalChannel", "DMXChangeTimeLimit"): (
        "the least time between two changes (DMXChangeTimeLimit) is not kept: change it by hand, not by fades"
    ),
    ("DMXChannel/LogicalChannel/ChannelFunction", "RealAcceleration"): (
        "the acceleration (RealAcceleration) is not kept"
    ),
}


def left_out(kind: Element) -> Iterator[Problem]:
    """A problem for each such thing, by mode and channel where it belongs to one. kind: the FixtureType."""
    for mode in kind.iterfind("DMXModes/DMXMode"):
        yield from _of_mode(mode)
    for name in ("Emitter", "Filter"):
        for light in kind.iterfind(f"PhysicalDescriptions/{name}s/{name}"):
            if light.find("Measurement") is not None:
                yield Problem(
                    f"{name.lower()} {light.get('Name') or ''}", "its measured spectrum is not kept"
                )
    for profile in kind.iterfind("PhysicalDescriptions/DMXProfiles/DMXProfile"):
        yield Problem(f"DMX profile {profile.get('Name') or ''}", "a curve is not kept")


def _of_mode(mode: Element) -> Iterator[Problem]:
    here = f"mode {mode.get('Name') or ''}"
    for channel in mode.iterfind("DMXChannels/DMXChannel"):
        logical = channel.find("LogicalChannel")
        attribute = (logical.get("Attribute") if logical is not None else None) or "NoFeature"
        where = f"{here}, {attribute}"
        for (path, name), why in SAID.items():
            written = channel.iterfind(path.removeprefix("DMXChannel/"))
            if any((each.get(name) or "0").strip(" 0.") for each in written):
                yield Problem(where, why)
        for function in channel.iterfind("LogicalChannel/ChannelFunction"):
            named = f"{where}, {function.get('Name') or function.get('Attribute') or ''}"
            yield from (Problem(named, why) for why in _of_function(function))
    for macro in mode.iterfind("FTMacros/FTMacro"):
        yield Problem(here, f"the sequence {macro.get('Name') or 'without a name'} (FTMacro) is not kept")
    for relation in mode.iterfind("Relations/Relation"):
        if relation.get("Type") != "Multiply":
            pair = f"{relation.get('Master')} over {relation.get('Follower')}"
            yield Problem(here, f"the relation {pair} ({relation.get('Type')}) is not followed")


def _of_function(function: Element) -> Iterator[str]:
    if curve := function.get("DMXProfile"):
        yield f"follows the curve {curve}; here it is a straight line"
    if function.find("SubChannelSet") is not None:
        yield "its second physical unit (SubChannelSet) is not kept"
    if name := function.get("CustomName"):
        yield f"its own name {name} is not kept"
