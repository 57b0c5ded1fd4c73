"""What the page makes of every mode of the library: panes, kinds of control in them, and which to drive."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from playwright.sync_api import Page

from tests.web.sheets import Unit

__all__ = ["Pane", "chosen", "expected", "kinds", "plans_of", "things"]

PLAN = """async (ids) => {
  const base = document.querySelector('script[type=module]').src.replace('app.js', '');
  const { rig, modeOf, fixture } = await import(base + 'state/rig.js');
  const { sheetOf, stepsOf } = await import(base + 'state/sheet.js');
  const grip = ({ label, keys, locked }) => ({ label, keys, locked: locked !== null });
  const grips = (many) => many.filter(Boolean).map(grip);
  return ids.map((id) => {
    const guard = rig.profiles.get(fixture(id).profile).guarded?.reason ?? null;
    const sheet = sheetOf(modeOf(fixture(id)), null, guard);
    return [...sheet].flatMap(([group, panes]) => panes.map((pane, at) => {
      const { pan, tilt, red, green, blue, white, warm, cool, grip } = pane;
      return {
        group, at, kind: pane.kind, sub: pane.sub ?? false,
        columns: grips(pane.grips ?? pane.beside ?? []),
        parts: grips([pan, tilt, red, green, blue, white, warm, cool, grip]),
        steps: pane.kind === 'steps' ? stepsOf(pane.grip.control).map(({ fn, label, varies, strobe }) => ({
          label, varies, strobe, attribute: fn.attribute, master: fn.mode_master ?? null })) : [],
        acts: (pane.acts ?? []).map(({ control, fn }) => ({ key: control.key, name: fn.name })),
      };
    }));
  });
}"""


@dataclass(frozen=True, slots=True)
class Pane:
    """One pane of a sheet.

    kind: the page's word. columns, parts: {label, keys, locked}. steps, acts: its chips and buttons.
    """

    group: str
    at: int
    kind: str
    sub: bool
    columns: list[dict[str, Any]]
    parts: list[dict[str, Any]]
    steps: list[dict[str, Any]]
    acts: list[dict[str, Any]]

    @property
    def locked(self) -> bool:
        """Something on it may not be driven."""
        return any(grip["locked"] for grip in (*self.columns, *self.parts))


Thing = tuple[str, str]
Plans = dict[Unit, list[Pane]]


def plans_of(page: Page, units: list[Unit]) -> list[tuple[Unit, list[Pane]]]:
    """Each unit with the panes of its sheet, all cells together."""
    plans = page.evaluate(PLAN, [unit.id for unit in units])
    return [(unit, [Pane(**pane) for pane in panes]) for unit, panes in zip(units, plans, strict=True)]


def kinds(unit: Unit, pane: Pane) -> set[str]:
    """The kinds of control on a pane."""
    if pane.locked:
        return {"locked"}
    found = {"column" for grip in pane.columns if unit.controls[grip["keys"][0]]["offset"]}
    found |= {"virtual column" for grip in pane.columns if not unit.controls[grip["keys"][0]]["offset"]}
    if pane.kind == "steps":
        found |= {"strobe" if step["strobe"] else "chips" for step in pane.steps}
        found |= {"column in a step" for step in pane.steps if step["varies"] and not step["strobe"]}
    elif pane.kind == "disc":
        found.add("disc of filters" if pane.sub else "disc of emitters")
    elif pane.kind == "white":
        found.add("white of two" if len(pane.parts) > 1 else "white")
    elif pane.kind != "faders":
        found.add(pane.kind)
    if len(unit.cells) > 1 and any(len(grip["keys"]) > 1 for grip in (*pane.columns, *pane.parts)):
        found.add("cells")
    return found


def things(unit: Unit, pane: Pane) -> set[Thing]:
    """What there is to drive on a pane: each kind with each attribute, and with each width in slots."""
    if pane.kind in ("acts", "unit"):
        return {(pane.kind, "")}
    controls = [unit.controls[grip["keys"][0]] for grip in (*pane.columns, *pane.parts)]
    marks = {mark for one in controls for mark in (one["attribute"], f"{len(one['offset'])} slots")}
    return {(kind, mark) for kind in kinds(unit, pane) for mark in marks}


def chosen(plans: Iterable[tuple[Unit, list[Pane]]]) -> list[tuple[Unit, list[Pane]]]:
    """As few units as it takes, the richest first, and of each the panes that have something new."""
    left = [(unit, list(panes)) for unit, panes in plans]
    done: set[Thing] = set()
    taken = []
    while left:
        fresh = [
            (len(set().union(*(things(unit, pane) for pane in panes)) - done), at)
            for at, (unit, panes) in enumerate(left)
        ]
        most, at = max(fresh, key=lambda one: (one[0], -one[1]))
        if not most:
            break
        unit, panes = left.pop(at)
        mine = []
        for pane in panes:
            if things(unit, pane) - done:
                mine.append(pane)
                done |= things(unit, pane)
        taken.append((unit, mine))
    return taken


def expected(unit: Unit) -> set[str]:
    """The kinds that a mode must have on the page, read from its attributes alone (GDTF's names).

    Whether a control slides or has chips is the page's choice: it is not among these.
    """
    if unit.guarded:
        return {"locked", "unit"}
    controls = unit.controls.values()
    attributes = {control["attribute"] for control in controls}
    functions = [function for control in controls for function in control["functions"]]
    free = " ".join(one["attribute"] for one in functions if not one.get("action"))
    kelvin = any(one["attribute"] == "CTC" and one.get("unit") == "Temperature" for one in functions)
    there = {
        "unit": True,
        "aim": {"Pan", "Tilt"} <= attributes,
        "disc of emitters": {"ColorAdd_R", "ColorAdd_G", "ColorAdd_B"} <= attributes,
        "disc of filters": {"ColorSub_C", "ColorSub_M", "ColorSub_Y"} <= attributes,
        "white of two": {"ColorAdd_WW", "ColorAdd_CW"} <= attributes,
        "white": kelvin,
        "strobe": bool(re.search(r"Shutter\d+Strobe|IrisPulse", free)),
        "acts": any(one.get("action") for one in functions),
        "chips": bool(re.search(r"\b(Color|Gobo|Prism)\d+\b", free)),
        "virtual column": any(not control["offset"] for control in controls),
        "cells": len(unit.cells) > 1,
    }
    return {kind for kind, is_there in there.items() if is_there}
