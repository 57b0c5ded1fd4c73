"""The pieces of a control's range, as a chart has them, as functions that cover all of it."""

import re
from typing import Any

from server.paperwork.chart_rows import Row
from server.paperwork.chart_words import NOTHING, piece_of
from server.paperwork.problems import Problem
from server.rig.profile import Function

__all__ = ["MADE", "functions_of", "values_of"]

MADE = dict[str, Any]
HOLD_S = 5.0  # charts rarely say; long enough for what is usually asked for (common practice, no source)
WORDS = {
    "reset": "The unit recalibrates: what it can move will run through its full travel.",
    "lamp_on": "The lamp is struck; the chart does not say how long it takes.",
    "lamp_off": "The lamp goes out and may not strike again for several minutes.",
}
GUARDS = {"reset": "control", "lamp_on": "lamp", "lamp_off": "lamp"}
LIGHT = ("Dimmer", "ColorAdd_")
HERTZ = re.compile(r"(\d{1,2}(?:[.,]\d)?)\s*(?:hz)?\s*(?:-|–|to|bis|…)\s*(\d{1,2}(?:[.,]\d)?)\s*hz")
PIECES_MOST = 256  # of one control


def functions_of(
    attribute: str, name: str, pieces: list[Row], width: int, found: list[Problem]
) -> tuple[list[MADE], str | None]:
    """Functions from 0 to the end of a control of `width` slots, and why they must be guarded, if so."""
    last = (1 << 8 * width) - 1

    def say(row: Row, why: str) -> None:
        found.append(Problem(f"line {row.line}", why))

    placed = sorted(_placed(pieces[:PIECES_MOST], width, found), key=lambda each: each[:2])
    if len(pieces) > PIECES_MOST:
        found.append(
            Problem(f"line {pieces[PIECES_MOST].line}", f"A control has up to {PIECES_MOST} ranges.")
        )
    if not placed or (len(placed) == 1 and placed[0][:2] == (0, last)):
        text = f"{name} {placed[0][2].what}" if placed else name
        whole, kind = piece_of(attribute, placed[0][2].what) if placed else (attribute, None)
        return _alone(attribute if kind or whole == NOTHING else whole, text, last), GUARDS.get(kind or "")
    out: list[MADE] = []
    guard = None
    reach = -1
    for first, end, row in placed:
        what = row.what or row.name or "Not named"
        if first > reach + 1:
            say(row, f"Nothing says what {_span(reach + 1, first - 1, width)} does.")
            out.append(_nothing(reach + 1, first - 1))
        elif first <= reach:
            say(row, f"{_span(first, end, width)} is described twice.")
        _add(out, attribute, what[:200], first, end)
        guard = guard or GUARDS.get(out[-1].get("action", {}).get("kind", ""))
        reach = max(reach, end)
    if reach < last:
        say(placed[-1][2], f"Nothing says what {_span(reach + 1, last, width)} does.")
        out.append(_nothing(reach + 1, last))
    if all(_strobes(f["attribute"]) for f in out):
        out[:1] = _calmed(out[0])
    return out, guard


def _calmed(function: MADE) -> list[MADE]:
    """There must be a value that does not flash, to rest at."""
    first, last = function["dmx"]
    calm = _nothing(first, first, "No strobe")
    return [calm, function | {"dmx": [first + 1, last]}] if first < last else [calm]


def _placed(pieces: list[Row], width: int, found: list[Problem]) -> list[tuple[int, int, Row]]:
    """Raw first and last of each piece, at the control's full resolution."""
    spans = [piece for piece in pieces if piece.span is not None]
    highest = max((p.span[1] for p in spans if p.span and not p.is_percent), default=0)
    full = highest > 255 and width > 1
    shift = 1 if full else 256 ** (width - 1)
    last = (1 << 8 * width) - 1
    out: list[tuple[int, int, Row]] = []
    for piece in spans:
        assert piece.span is not None  # noqa: S101 - those without are left out above
        first, end = piece.span
        if piece.is_percent:
            if end > 100:
                found.append(Problem(f"line {piece.line}", f"{end} % is more than all of it; left out."))
                continue
            first, end = first * 256 // 101, (end + 1) * 256 // 101 - 1
        elif (end if full else end // 256 and 2**32) > last:
            found.append(Problem(f"line {piece.line}", f"{end} is more than a slot can carry; left out."))
            continue
        scale = 256 ** (width - 1) if piece.is_percent else shift
        raws = first * scale, end * scale + scale - 1
        if out and raws[0] == out[-1][1] - scale + 1 and raws[0] < raws[1] and out[-1][0] < raws[0]:
            raws = (
                raws[0] + scale,
                raws[1],
            )  # "0-10, 10-20": one ends where the next begins
        if raws[0] <= raws[1]:
            out.append((*raws, piece))
    return out


def _add(out: list[MADE], attribute: str, what: str, first: int, end: int) -> None:
    inside, kind = piece_of(attribute, what)
    piece: MADE = {"name": what, "dmx": [first, end]}
    if inside.startswith("Shutter") and inside[-1].isdigit():
        if re.search(r"open|offen|auf\b|full on", what.casefold()):
            piece["physical"] = [1, 1]
        elif re.search(r"clos|zu\b|geschlossen|black|dunkel", what.casefold()):
            piece["physical"] = [0, 0]
    last = out[-1] if out else None
    same = (
        last is not None
        and last["attribute"] == inside
        and "action" not in last
        and last["dmx"][1] == first - 1
    )
    if kind is not None:
        action: MADE = {"kind": kind, "hold_s": HOLD_S, "release": 0, "words": WORDS[kind]}
        action |= {"reset": {"busy_s": 60.0}, "lamp_off": {"lockout_s": 300.0}}.get(kind, {})
        out.append({"attribute": inside, "name": what, "dmx": [first, end], "action": action})
    elif same and last is not None and not _moves_on(inside):
        last["dmx"][1] = end
        last.setdefault("ranges", []).append(piece)
    elif _moves_on(inside):
        out.append({"attribute": inside, "name": what, "dmx": [first, end]} | _rate(what))
    else:
        out.append({"attribute": inside, "name": inside, "dmx": [first, end], "ranges": [piece]})


def _moves_on(attribute: str) -> bool:
    """What has a value of its own at each step, not a name."""
    return attribute == NOTHING or _strobes(attribute) or attribute.endswith(("Spin", "Shake", "Rotate"))


def _alone(attribute: str, text: str, last: int) -> list[MADE]:
    """A control that does one thing from end to end."""
    whole: MADE = {"attribute": attribute, "name": text.strip()[:200] or attribute, "dmx": [0, last]}
    if attribute in ("Pan", "Tilt") and (turn := re.search(r"(\d{2,4})\s*(?:°|deg|grad)", text.casefold())):
        half = int(turn[1]) / 2
        whole |= {"physical": [-half, half], "unit": "Angle"}
    if attribute.startswith(LIGHT):
        whole["name"] = attribute
    if _strobes(attribute):
        return _calmed(whole | _rate(text))
    return [whole]


def _rate(text: str) -> MADE:
    found = re.search(
        r"(\d{1,2}(?:[.,]\d)?)\s*(?:hz)?\s*(?:-|–|to|bis|…)\s*(\d{1,2}(?:[.,]\d)?)\s*hz", text.casefold()
    )
    if not found:
        return {}
    return {"physical": [float(found[n].replace(",", ".")) for n in (1, 2)], "unit": "Frequency"}


def values_of(attribute: str, functions: list[MADE], width: int) -> MADE:
    """Default, home and highlight: at rest nothing strobes, nothing is set off, and light is out.

    The actions of `functions` are told to be released to home.
    """
    last = (1 << 8 * width) - 1
    calm = [f for f in functions if "action" not in f and not _strobes(f["attribute"])]
    opened = [
        (r["dmx"][0] + r["dmx"][1]) // 2
        for f in calm
        for r in f.get("ranges", ())
        if r.get("physical") == [1, 1] and f["attribute"].startswith("Shutter")
    ]
    home = calm[0]["dmx"][0] if calm else functions[0]["dmx"][0]
    highlight = None
    if attribute in ("Pan", "Tilt"):
        home = (last + 1) // 2 if len(functions) == 1 else home
    elif opened:
        home = highlight = opened[0]
    elif attribute.startswith(LIGHT):
        highlight = next((f["dmx"][1] for f in calm if f["attribute"] == attribute), None)
    for function in functions:
        if "action" in function:
            function["action"]["release"] = home
    return {"default": home, "home": home, "highlight": highlight}


def _nothing(first: int, last: int, name: str = "Not described") -> MADE:
    return {"attribute": NOTHING, "name": name, "dmx": [first, last]}


def _strobes(attribute: str) -> bool:
    return Function(attribute, "", 0, 0).strobes


def _span(first: int, last: int, width: int) -> str:
    """As the chart has it: by the coarse slot."""
    scale = 256 ** (width - 1)
    low, high = first // scale, last // scale
    return f"{low}" if low == high else f"{low} to {high}"
