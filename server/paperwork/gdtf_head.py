"""What a GDTF description says of the fixture type as a whole: names, lights, body, RDM, where it is from."""

import re
from typing import Any
from xml.etree.ElementTree import Element

from server.paperwork.gdtf_values import GdtfError, colour_in, hex_in, number_in
from server.paperwork.problems import Problem

__all__ = ["head_of"]

Made = dict[str, Any]
LINK = re.compile(r"https?://[^\s<>\"]{1,400}")
MODELS_MOST = 256  # software versions of a unit
# Where a fact stands and what it is called here. T31 to T33 and the Beam geometry; SI units, degrees, kelvin.
BODY = {
    "weight_kg": ("Weight", "Value"),
    "leg_m": ("LegHeight", "Value"),
    "coldest_c": ("OperatingTemperature", "Low"),
    "warmest_c": ("OperatingTemperature", "High"),
}
LIGHT = {
    "flux_lm": "LuminousFlux",
    "colour_k": "ColorTemperature",
    "beam_deg": "BeamAngle",
    "field_deg": "FieldAngle",
    "cri": "ColorRenderingIndex",
}


def head_of(kind: Element, sha256: str, version: str) -> tuple[Made, list[Problem]]:
    """All of a profile but its modes, in the words of the profile file. kind: the FixtureType."""
    name = (kind.get("LongName") or kind.get("Name") or "").strip()[:200] or "Fixture without a name"
    maker = (kind.get("Manufacturer") or "").strip()[:200] or "Unknown"
    slug = re.sub(r"[^a-z0-9]+", "-", f"{maker} {name}".casefold()).strip("-")[:80].rstrip("-")
    description = (kind.get("Description") or "").strip()
    link = LINK.search(description)
    dates = [revision.get("Date") or "" for revision in kind.iterfind("Revisions/Revision")]
    problems: list[Problem] = []
    filters = {
        f.get("Name"): _light(f)
        for f in kind.iterfind("PhysicalDescriptions/Filters/Filter")
        if f.get("Name")
    }
    head = {
        "schema": 1,
        "key": slug or "fixture",
        "name": name,
        "short_name": (kind.get("ShortName") or name).strip()[:200] or name,
        "maker": maker,
        "revision": len(kind.findall("Revisions/Revision")),
        "kind": "light",
        "notes": description[:2000],
        "wheels": {
            w.get("Name"): _slots(w, filters)
            for w in kind.iterfind("Wheels/Wheel")
            if w.get("Name") and len(w)
        },
        "emitters": {
            e.get("Name"): _light(e)
            for e in kind.iterfind("PhysicalDescriptions/Emitters/Emitter")
            if e.get("Name")
        },
        "filters": filters,
        "facts": _facts(kind, problems),
        "rdm": _rdm(kind, problems),
        "manual_url": link[0] if link else "",
        "source": {
            "sha256": sha256,
            "version": version[:40],
            "revised": max(dates, default="")[:40],
            "type_id": (kind.get("FixtureTypeID") or "")[:40],
        },
    }
    return head, problems


def _slots(wheel: Element, filters: dict[str | None, Made]) -> list[Made]:
    out = []
    for number, slot in enumerate(wheel.iterfind("Slot"), 1):
        made: Made = {"name": (slot.get("Name") or "").strip()[:200] or f"Slot {number}"}
        # T12: a filter, where one is named, takes the place of the colour.
        colour = filters.get(slot.get("Filter"), {}).get("xyY") or colour_in(slot)
        out.append(made | ({"xyY": colour} if colour else {}))
    return out


def _light(element: Element) -> Made:
    colour = colour_in(element)
    wave = number_in(element, "DominantWaveLength", 0)
    return {"xyY": colour} if colour else {"dominant_nm": wave} if 200 <= wave <= 1100 else {}


def _facts(kind: Element, problems: list[Problem]) -> dict[str, float]:
    found: dict[str, float] = {}
    places = [(n, kind.find(f"PhysicalDescriptions/Properties/{e}"), a) for n, (e, a) in BODY.items()]
    beam = kind.find("Geometries//Beam")
    places += [(name, beam, attribute) for name, attribute in LIGHT.items()]
    for name, element, attribute in places:
        if element is not None and element.get(attribute):
            try:
                found[name] = number_in(element, attribute, 0)
            except GdtfError as wrong:
                problems.append(Problem("physical description", f"{wrong}, and is not kept"))
    return found


def _rdm(kind: Element, problems: list[Problem]) -> list[Made]:
    """T70 to T72, all numbers hexadecimal. An id of 0 says nothing."""
    out: list[Made] = []
    for protocol in (*kind.iterfind("Protocols/FTRDM"), *kind.iterfind("Protocols/RDM")):
        try:
            ids = {
                "manufacturer": hex_in(protocol, "ManufacturerID", 0xFFFF),
                "model": hex_in(protocol, "DeviceModelID", 0xFFFF),
            }
            if not ids["manufacturer"]:
                continue
            versions = protocol.findall("SoftwareVersionID")[:MODELS_MOST]
            out += [ids | _version(version) for version in versions] or [ids]
        except GdtfError as wrong:
            problems.append(Problem("RDM", f"{wrong}, and is not kept"))
    return out[:MODELS_MOST]


def _version(element: Element) -> Made:
    personalities = element.findall("DMXPersonality")[:255]
    modes = {str(hex_in(p, "Value", 255)): (p.get("DMXMode") or "").strip()[:200] for p in personalities}
    return {
        "software": hex_in(element, "Value", 0xFFFFFFFF),
        "personalities": {number: name for number, name in modes.items() if name and number != "0"},
    }
