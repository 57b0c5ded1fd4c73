"""A profile as a GDTF file (DIN SPEC 15800:2022-02): as little as another program needs to patch it."""

import io
import re
import zipfile
from collections.abc import Mapping
from typing import Any
from xml.etree.ElementTree import Element, SubElement

from server.paperwork.identity import type_id
from server.paperwork.xml_out import put_xml
from server.rig.profile import INTENSITY, Control, Function, Mode, Profile

__all__ = ["gdtf_name", "write_gdtf"]

ROOT = "Body"
VERSION = "1.2"
UPRIGHT = "{1,0,0,0}{0,1,0,0}{0,0,1,0}{0,0,0,1}"
EPOCH = "2024-01-01T00:00:00"


def gdtf_name(profile: Profile) -> str:
    """The file's name: maker, type (DIN SPEC 15800, file format), without what a path would not take."""
    maker, name = (re.sub(r"[^A-Za-z0-9_. -]+", "_", text).strip() for text in (profile.maker, profile.name))
    return f"{maker or 'Unknown'}@{name or profile.key}.gdtf"


def write_gdtf(profile: Profile) -> bytes:
    """The archive. Geometry is one body and a beam for each cell: nothing here knows more of its shape."""
    root = Element("GDTF", DataVersion=VERSION)
    kind = SubElement(
        root,
        "FixtureType",
        Name=profile.name,
        ShortName=profile.short_name,
        LongName=profile.name,
        Manufacturer=profile.maker,
        Description=profile.notes,
        FixtureTypeID=type_id(profile),
        RefFT="",
    )
    _attributes(kind, profile)
    wheels = SubElement(kind, "Wheels")
    for name, slots in profile.wheels.items():
        wheel = SubElement(wheels, "Wheel", Name=name)
        for slot in slots:
            SubElement(wheel, "Slot", {"Name": slot.name, **_colour(slot.xyY)})
    physical = SubElement(kind, "PhysicalDescriptions")
    for group, lights in (("Emitter", profile.emitters), ("Filter", profile.filters)):
        listed = SubElement(physical, f"{group}s")
        for name, light in lights.items():
            wave = {} if light.dominant_nm is None else {"DominantWaveLength": f"{light.dominant_nm:g}"}
            SubElement(listed, group, {"Name": name, **_colour(light.xyY), **wave})
    SubElement(kind, "Models")
    body = SubElement(SubElement(kind, "Geometries"), "Geometry", Name=ROOT, Position=UPRIGHT)
    cells = dict.fromkeys(c.cell for mode in profile.modes for c in mode.controls if c.cell is not None)
    for cell in cells:
        SubElement(body, "Beam", Name=_geometry(cell))
    modes = SubElement(kind, "DMXModes")
    for mode in profile.modes:
        _mode(modes, mode)
    SubElement(SubElement(kind, "Revisions"), "Revision", Text="Written by focuscall", Date=EPOCH, UserID="0")
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        put_xml(archive, "description.xml", root)
    return out.getvalue()


def _colour(xyY: tuple[float, float, float] | None) -> dict[str, str]:  # noqa: N803 - CIE's spelling
    return {} if xyY is None else {"Color": ",".join(f"{n:.6g}" for n in xyY)}


def _geometry(cell: str | None) -> str:
    # A name is also part of links, where a point and an underscore divide (T1, Name and Node).
    return ROOT if cell is None else re.sub(r"[._]", " ", cell)


def _attributes(kind: Element, profile: Profile) -> None:
    definitions = SubElement(kind, "AttributeDefinitions")
    SubElement(definitions, "ActivationGroups")
    group = SubElement(
        SubElement(definitions, "FeatureGroups"), "FeatureGroup", Name="Control", Pretty="Control"
    )
    SubElement(group, "Feature", Name="Control")
    listed = SubElement(definitions, "Attributes")
    units: dict[str, str] = {}
    for function in (f for mode in profile.modes for c in mode.controls for f in c.functions):
        units.setdefault(function.attribute, function.unit)
    for control in (c for mode in profile.modes for c in mode.controls):
        units.setdefault(control.attribute, "None")
    for name, unit in units.items():
        SubElement(listed, "Attribute", Name=name, Pretty=name, Feature="Control.Control", PhysicalUnit=unit)


def _mode(modes: Element, mode: Mode) -> None:
    element = SubElement(modes, "DMXMode", Name=mode.name, Geometry=ROOT)
    channels = SubElement(element, "DMXChannels")
    names = {control.key: f"{_geometry(control.cell)}_{control.attribute}" for control in mode.controls}
    for control in mode.controls:
        _channel(channels, control, mode, names)
    relations = SubElement(element, "Relations")
    pairs = ((master, mode.control(key)) for master, keys in mode.multiply.items() for key in keys)
    for number, (master, follower) in enumerate(pairs, 1):
        if follower is not None:
            name = f"{names[follower.key]}.{follower.attribute}.{_named(follower)[0]}"
            given = {
                "Name": f"Relation {number}",
                "Master": names[master],
                "Follower": name,
                "Type": "Multiply",
            }
            SubElement(relations, "Relation", given)
    SubElement(element, "FTMacros")


def _channel(channels: Element, control: Control, mode: Mode, names: Mapping[str, str]) -> None:
    width = control.width
    channel = SubElement(
        channels,
        "DMXChannel",
        DMXBreak=str(control.start),
        Offset=",".join(map(str, control.offsets)) or "None",
        Highlight="None" if control.highlight is None else f"{control.highlight}/{width}",
        Geometry=_geometry(control.cell),
        InitialFunction=f"{names[control.key]}.{control.attribute}.{_initial(control)}",
    )
    logical = SubElement(
        channel,
        "LogicalChannel",
        Attribute=control.attribute,
        Snap="Yes" if control.snap else "No",
        Master="Grand" if control.attribute == INTENSITY and control.mastered else "None",
    )
    for function, name in zip(control.functions, _named(control), strict=True):
        element = _function(logical, function, name, control)
        master = None if function.mode_master is None else mode.control(function.mode_master.control)
        if master is not None and function.mode_master is not None:
            element.set("ModeMaster", names[master.key])
            element.set("ModeFrom", f"{function.mode_master.first}/{master.width}")
            element.set("ModeTo", f"{function.mode_master.last}/{master.width}")


def _initial(control: Control) -> str:
    places = (n for n, f in enumerate(control.functions) if f.first <= control.default <= f.last)
    return _named(control)[next(places, 0)]


def _named(control: Control) -> list[str]:
    """A name for each function, different from the others, without what divides a link."""
    plain = [re.sub(r"[.]", " ", function.name) for function in control.functions]
    return [name if plain.count(name) == 1 else f"{name} {n}" for n, name in enumerate(plain, 1)]


def _function(logical: Element, function: Function, name: str, control: Control) -> Element:
    width = control.width
    inside = function.first <= control.default <= function.last
    given: dict[str, Any] = {
        "Name": name,
        "Attribute": function.attribute,
        "OriginalAttribute": "",
        "DMXFrom": f"{function.first}/{width}",
        "Default": f"{control.default if inside else function.first}/{width}",
        "PhysicalFrom": f"{function.physical[0]:.6f}",
        "PhysicalTo": f"{function.physical[1]:.6f}",
        "RealFade": f"{function.real_fade_s:.3f}",
    }
    links = {"Wheel": function.wheel, "Emitter": function.emitter, "Filter": function.filter}
    given |= {link: target for link, target in links.items() if target}
    element = SubElement(logical, "ChannelFunction", given)
    for piece in function.ranges:
        own: dict[str, str] = {}
        if piece.physical is not None:
            own = {"PhysicalFrom": f"{piece.physical[0]:.6f}", "PhysicalTo": f"{piece.physical[1]:.6f}"}
        given = {"Name": piece.name, "DMXFrom": f"{piece.first}/{width}"}
        SubElement(element, "ChannelSet", given | {"WheelSlotIndex": str(piece.slot or 0)} | own)
    _gaps(element, function, width)
    return element


def _gaps(element: Element, function: Function, width: int) -> None:
    # A set ends where the next begins: one without a name ends what would otherwise go on.
    starts = {piece.first for piece in function.ranges}
    for piece in function.ranges:
        if piece.last < function.last and piece.last + 1 not in starts:
            SubElement(
                element, "ChannelSet", Name="", DMXFrom=f"{piece.last + 1}/{width}", WheelSlotIndex="0"
            )
