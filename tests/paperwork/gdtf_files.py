"""GDTF files made from a few words, for tests: elements as functions, the archive around them."""

import io
import zipfile
from xml.sax.saxutils import quoteattr

__all__ = ["MAIN", "channel", "fixture", "function", "gdtf", "mode", "ranged", "tag"]


def tag(name: str, /, *inside: str, **attributes: object) -> str:
    """An element: tag("Set", Name="Open") is <Set Name="Open"/>."""
    given = "".join(f" {key}={quoteattr(str(value))}" for key, value in attributes.items())
    return f"<{name}{given}>{''.join(inside)}</{name}>"


def ranged(name: str, first: str, **also: object) -> str:
    return tag("ChannelSet", Name=name, DMXFrom=first, **also)


def function(attribute: str, *sets: str, **also: object) -> str:
    names = {"Name": f"{attribute} 1", "Attribute": attribute, "DMXFrom": "0/1", "Default": "0/1"}
    return tag("ChannelFunction", *sets, **(names | also))


def channel(attribute: str, offset: object, *functions: str, geometry: str = "Main", **also: object) -> str:
    snap = also.pop("Snap", "No")
    functions = functions or (function(attribute),)
    logical = tag("LogicalChannel", *functions, Attribute=attribute, Snap=snap, Master="None")
    names = {"DMXBreak": 1, "Offset": offset, "Highlight": "None", "Geometry": geometry}
    return tag("DMXChannel", logical, **(names | also))


def mode(*channels: str, name: str = "one", geometry: str = "Main", relations: str = "") -> str:
    inside = tag("DMXChannels", *channels) + tag("Relations", relations) + tag("FTMacros")
    return tag("DMXMode", inside, Name=name, Geometry=geometry)


MAIN = tag("Geometry", Name="Main")


def fixture(*modes: str, geometries: str = MAIN, extra: str = "", **also: object) -> str:
    """A whole description.xml around some modes."""
    listed = [("Dimmer", "None"), ("Pan", "Angle"), ("Zoom", "Angle"), ("Shutter1Strobe", "Frequency")]
    attributes = [tag("Attribute", Name=n, Pretty=n, Feature="F.F", PhysicalUnit=u) for n, u in listed]
    feature = tag("FeatureGroups", tag("FeatureGroup", tag("Feature", Name="F"), Name="F", Pretty="F"))
    head = tag("AttributeDefinitions", tag("ActivationGroups"), feature, tag("Attributes", *attributes))
    names = {"Name": "Test light", "ShortName": "TL", "LongName": "Test light", "Manufacturer": "Nobody"}
    names |= {"Description": "Made for a test", "FixtureTypeID": "6F1D2C40-0000-4000-8000-0000000000AA"}
    body = head + extra + tag("Models") + tag("Geometries", geometries) + tag("DMXModes", *modes)
    return tag("GDTF", tag("FixtureType", body, **(names | also)), DataVersion="1.2")


def gdtf(description: str) -> bytes:
    """The archive around a description."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("description.xml", f'<?xml version="1.0" encoding="UTF-8"?>{description}')
    return out.getvalue()
