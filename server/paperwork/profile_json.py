"""A `Profile` written out as JSON: the file format with its cells expanded and its defaults left out."""

import hashlib
import json
from dataclasses import asdict
from typing import Any

from server.rig.profile import (
    INTENSITY,
    Control,
    Emitter,
    Function,
    Guard,
    Mode,
    Profile,
    Range,
    RdmModel,
)

__all__ = ["digest_of", "profile_to_json"]


def profile_to_json(profile: Profile) -> dict[str, Any]:
    """What GET /api/profiles/{key} answers: the file format, cells expanded, defaults left out.

    `profile_from_json` reads it back to the same profile.
    """
    out: dict[str, Any] = {
        "schema": 1,
        "key": profile.key,
        "name": profile.name,
        "short_name": profile.short_name,
        "maker": profile.maker,
        "revision": profile.revision,
        "kind": profile.kind,
    }
    if profile.guard:
        out["guarded"] = _guard_to_json(profile.guard)
    if profile.notes:
        out["notes"] = profile.notes
    if profile.wheels:
        out["wheels"] = {n: [_colour(s.name, s.xyY) for s in w] for n, w in profile.wheels.items()}
    if profile.emitters:
        out["emitters"] = {n: _emitter_to_json(e) for n, e in profile.emitters.items()}
    if profile.filters:
        out["filters"] = {n: _emitter_to_json(e) for n, e in profile.filters.items()}
    if profile.facts:
        out["facts"] = dict(profile.facts)
    if profile.rdm:
        out["rdm"] = [_rdm_to_json(model) for model in profile.rdm]
    if profile.manual_url:
        out["manual_url"] = profile.manual_url
    if profile.source:
        out["source"] = {name: text for name, text in asdict(profile.source).items() if text}
    return out | {"modes": [_mode_to_json(mode) for mode in profile.modes]}


def digest_of(profile: Profile) -> str:
    """The same for two profiles only if they say the same."""
    return hashlib.sha256(json.dumps(profile_to_json(profile), sort_keys=True).encode()).hexdigest()


def _rdm_to_json(model: RdmModel) -> dict[str, Any]:
    out: dict[str, Any] = {"manufacturer": model.manufacturer, "model": model.model}
    if model.software is not None:
        out["software"] = model.software
    return out | {"personalities": {str(n): name for n, name in model.personalities.items()}}


def _mode_to_json(mode: Mode) -> dict[str, Any]:
    out: dict[str, Any] = {
        "name": mode.name,
        "footprint": mode.footprint,
        "controls": [_control_to_json(c) for c in mode.controls],
    }
    if mode.further:
        out["further"] = {str(number): slots for number, slots in mode.further.items()}
    if mode.multiply:
        out["multiply"] = [{"master": m, "followers": list(f)} for m, f in mode.multiply.items()]
    return out


def _control_to_json(control: Control) -> dict[str, Any]:
    out: dict[str, Any] = {
        "key": control.key,
        "attribute": control.attribute,
        "offset": list(control.offsets),
        "default": control.default,
        "home": control.home,
        "highlight": control.highlight,
    }
    if control.start != 1:
        out["start"] = control.start
    if control.cell is not None:
        out["cell"] = control.cell
    if control.snap:
        out["snap"] = True
    if control.invert:
        out["invert"] = True
    if control.mastered != (control.attribute == INTENSITY):
        out["master"] = "Grand" if control.mastered else "None"
    if control.guard:
        out["guarded"] = _guard_to_json(control.guard)
    return out | {"functions": [_function_to_json(f) for f in control.functions]}


def _function_to_json(function: Function) -> dict[str, Any]:
    out: dict[str, Any] = {
        "attribute": function.attribute,
        "name": function.name,
        "dmx": [function.first, function.last],
    }
    if function.physical != (0.0, 1.0):
        out["physical"] = _numbers(function.physical)
    if function.unit != "None":
        out["unit"] = function.unit
    if function.strobes:
        out["strobes"] = True
    if function.ranges:
        out["ranges"] = [_range_to_json(r) for r in function.ranges]
    known = {name: getattr(function, name) for name in ("wheel", "emitter", "filter", "real_fade_s")}
    out |= {name: value for name, value in known.items() if value}
    if (m := function.mode_master) is not None:
        out["mode_master"] = {"control": m.control, "dmx": [m.first, m.last]}
    if (action := function.action) is not None:
        out["action"] = {"kind": action.kind, "hold_s": action.hold_s, "release": action.release}
        out["action"] |= {"words": action.words}
        out["action"] |= {n: v for n in ("busy_s", "lockout_s") if (v := getattr(action, n))}
    return out


def _range_to_json(piece: Range) -> dict[str, Any]:
    out: dict[str, Any] = {"name": piece.name, "dmx": [piece.first, piece.last]}
    if piece.physical is not None:
        out["physical"] = _numbers(piece.physical)
    return out if piece.slot is None else out | {"slot": piece.slot}


def _guard_to_json(guard: Guard) -> dict[str, Any]:
    return {"reason": guard.reason, "safe": guard.safe}


def _emitter_to_json(emitter: Emitter) -> dict[str, Any]:
    out: dict[str, Any] = {} if emitter.dominant_nm is None else {"dominant_nm": emitter.dominant_nm}
    return out if emitter.xyY is None else {"xyY": list(emitter.xyY)} | out


def _colour(name: str, xyY: tuple[float, float, float] | None) -> dict[str, Any]:  # noqa: N803 - CIE's spelling
    return {"name": name} if xyY is None else {"name": name, "xyY": list(xyY)}


def _numbers(pair: tuple[float, float]) -> list[float]:
    return [int(x) if x.is_integer() else x for x in map(float, pair)]
