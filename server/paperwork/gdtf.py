"""A GDTF file (DIN SPEC 15800:2022-02) as a profile: what fits is taken, what does not is said."""

import hashlib
from dataclasses import replace
from typing import Any
from xml.etree.ElementTree import Element

from server.paperwork.archive import xml_in_archive
from server.paperwork.gdtf_head import head_of
from server.paperwork.gdtf_left_out import left_out
from server.paperwork.gdtf_mode import mode_of
from server.paperwork.gdtf_values import GdtfError, attribute_in
from server.paperwork.problems import FileError, Problem
from server.paperwork.profiles import profile_from_json
from server.paperwork.refused import refusal
from server.rig.profile import Profile

__all__ = ["read_gdtf"]

MODES_MOST = 64
PIECES_MOST = 20_000  # functions and sets of all modes, cells expanded; some five times the largest seen
PROBLEMS_MOST = 100  # nobody reads more, and a file made to harm could list a hundred thousand
FOGGERS = {"fog": "fog", "haze": "haze", "fan": "fan"}


def read_gdtf(data: bytes) -> tuple[Profile | None, list[Problem]]:
    """The profile in a .gdtf file, and what could not be taken from it.

    A mode that cannot be read or that has faults is left out and named in the problems; without any
    mode there is no profile. Never raises, whatever the bytes.
    """
    try:
        root = xml_in_archive(data, "description.xml")
        kind = root.find("FixtureType")
        if root.tag != "GDTF" or kind is None:
            return None, [Problem("description.xml", "holds no FixtureType")]
        return _profile(kind, hashlib.sha256(data).hexdigest(), root.get("DataVersion") or "")
    except FileError as wrong:
        return None, list(wrong.problems)
    except GdtfError as wrong:
        return None, [Problem("description.xml", str(wrong))]


def _profile(kind: Element, sha256: str, version: str) -> tuple[Profile | None, list[Problem]]:
    names = " ".join(filter(None, (kind.get("Name"), kind.get("LongName"))))
    hazard = refusal(names)
    if hazard is None and kind.find("Geometries//Laser") is not None:
        hazard = f'"{names}" holds a laser, which this tool never drives.'
    if hazard:
        return None, [Problem("", hazard)]
    head, problems = head_of(kind, sha256, version)
    geometries = {g.get("Name") or "": g for g in kind.iterfind("Geometries/*")}
    units = _units(kind)
    made: list[Profile] = []
    room = PIECES_MOST
    listed = kind.findall("DMXModes/DMXMode")
    if len(listed) > MODES_MOST:
        problems.append(
            Problem("description.xml", f"has {len(listed)} modes; the first {MODES_MOST} are read")
        )
    for mode in listed[:MODES_MOST]:
        where = f"mode {mode.get('Name') or ''}"
        try:
            body, room, lost = mode_of(mode, geometries, units, room)
            problems += [Problem(where, why) for why in (*lost, *_unlinked(body, head))]
            made.append(profile_from_json(head | _guarded(body) | {"modes": [body]}))
        except FileError as wrong:
            problems += wrong.problems
        except GdtfError as wrong:
            problems.append(Problem(where, str(wrong)))
    problems = _shortened([*problems, *left_out(kind)])
    if not made:
        return None, problems or [Problem("description.xml", "holds no DMXMode")]
    modes = {profile.modes[0].name: profile.modes[0] for profile in made}
    guard = next((p.guard for p in made if p.guard), None)
    return replace(made[0], modes=tuple(modes.values()), guard=guard), problems


def _shortened(problems: list[Problem]) -> list[Problem]:
    each = list(dict.fromkeys(problems))
    more = len(each) - PROBLEMS_MOST
    return [*each[:PROBLEMS_MOST], Problem("", f"and {more} more")] if more > 0 else each


def _units(kind: Element) -> dict[str, str]:
    listed = kind.iterfind("AttributeDefinitions/Attributes/Attribute")
    units = {attribute_in(a.get("Name")): a.get("PhysicalUnit") or "None" for a in listed}
    return {name: "AngularAcc" if unit == "AngularAccc" else unit for name, unit in units.items()}


def _unlinked(mode: dict[str, Any], head: dict[str, Any]) -> list[str]:
    """Take out links to wheels, wheel places and emitters that the file does not hold, and say so."""
    found = []
    for function in (f for c in mode["controls"] for f in c["functions"]):
        for link in ("wheel", "emitter", "filter"):
            there = head[f"{link}s"]
            if function.get(link) and function[link] not in there:
                found.append(f"{function['name']} names the {link} {function.pop(link)}, which is not there")
        places = len(head["wheels"].get(function.get("wheel"), ()))
        lost = [piece for piece in function.get("ranges", ()) if piece.get("slot", 0) > places]
        found += [f"{p['name']} names place {p.pop('slot')} of a wheel without it" for p in lost]
    return found


def _guarded(mode: dict[str, Any]) -> dict[str, Any]:
    """A unit with fog, haze or a fan is guarded as a whole; each control is pinned at its own rest."""
    reasons = [c["guarded"]["reason"] for c in mode["controls"] if "guarded" in c]
    reason = next((FOGGERS[r] for r in reasons if r in FOGGERS), None)
    if reason is None:
        return {}
    for control in mode["controls"]:
        control.setdefault("guarded", {"reason": reason, "safe": control.get("home", control["default"])})
    return {"kind": "atmosphere", "guarded": {"reason": reason, "safe": 0}}
