"""Fixtures of every profile, their sheets turned to, and what a sheet says against the slots really sent."""

import csv
import io
import json
import re
from dataclasses import dataclass
from typing import Any

from playwright.sync_api import Locator, Page

from server.places import package_folder
from tests.servers import Server

__all__ = [
    "EVERY_PANE",
    "LIBRARY",
    "Unit",
    "agrees",
    "check",
    "fader",
    "meanings",
    "press",
    "rig_file",
    "said",
    "settle",
    "turn_to",
    "type_number",
    "unit_of",
]

LIBRARY = [
    json.loads(path.read_text(encoding="utf-8"))
    for path in sorted((package_folder().parent / "profiles").glob("*.json"))
    if path.name != "schema.json"
]
OWN_UNITS = """async () => {
  const base = document.querySelector('script[type=module]').src.replace('app.js', '');
  (await import(base + 'state/prefs.js')).choose('numbers', 'own');
}"""
# Draws each pane of each fixture as a thumb would turn to it. Answers what is not to be seen, and the keys
# of all controls that have something on the page to drive them by.
EVERY_PANE = """async (ids) => {
  const base = document.querySelector('script[type=module]').src.replace('app.js', '');
  const { rig, modeOf, fixture } = await import(base + 'state/rig.js');
  const { sheetOf, stepsOf } = await import(base + 'state/sheet.js');
  const all = (what) => [...document.querySelectorAll(what)].filter((node) => node.checkVisibility());
  const until = async (true_, why) => {
    for (let n = 0; n < 400; n += 1) {
      if (true_()) return;
      await new Promise((drawn) => requestAnimationFrame(drawn));
    }
    throw new Error('never came: ' + why);
  };
  const lost = [];
  const found = {};
  for (const id of ids) {
    const it = fixture(id);
    const where = `${it.profile} ${it.mode}`;
    const reached = (found[id] = []);
    location.hash = '#fixture/' + id;
    await until(() => document.querySelector('.tag .channel')?.textContent === String(it.channel), where);
    const guard = rig.profiles.get(it.profile).guarded?.reason ?? null;
    const sheet = sheetOf(modeOf(it), null, guard);
    for (const [group, panes] of sheet) {
      for (const [at, pane] of panes.entries()) {
        const old = document.querySelector('.pane').firstChild;
        if (at > 0) all('.picker button')[at].click();
        else all('#shelf button').find((one) => one.textContent === group).click();
        const fresh = () => document.querySelector('.pane').firstChild !== old;
        await until(() => fresh() && all('.pane > *').length, where + pane.title);
        const high = (what, least, count) => {
          const tall = all(what).filter((node) => node.getBoundingClientRect().height >= least);
          if (tall.length < count) lost.push(`${where}, ${pane.title}: ${tall.length} of ${count} ${what}`);
        };
        const columns = [...(pane.grips ?? []), ...(pane.beside ?? [])];
        const { pan, tilt, red, green, blue, white, grip: wheel } = pane;
        const grips = [...columns, pan, tilt, red, green, blue, white, wheel];
        for (const grip of grips.filter(Boolean)) reached.push(...grip.keys);
        high('.pane fc-fader .track', 48, columns.length);
        const names = all('.pane fc-fader .name').map((node) => node.textContent);
        for (const { label } of columns) if (!names.includes(label)) lost.push(`${where}: no ${label}`);
        if (pane.kind === 'aim') high('.pane .floor', 120, 1);
        if (pane.kind === 'disc') high('.pane .disc', 120, 1);
        if (pane.kind === 'steps') {
          const words = document.querySelector('.pane .chips').textContent;
          const steps = stepsOf(pane.grip.control);
          for (const { label } of steps) if (!words.includes(label)) lost.push(`${where}: no ${label}`);
        }
        if (pane.kind === 'acts') high('.pane fc-hold', 48, pane.acts.length);
      }
    }
  }
  return { lost, found };
}"""


@dataclass(frozen=True, slots=True)
class Unit:
    """One fixture of the rig under test; controls as the API tells them, cells expanded."""

    id: str
    channel: int
    universe: int
    address: int
    profile: str
    guarded: bool
    footprint: int
    controls: dict[str, dict[str, Any]]

    def raw(self, server: Server, key: str) -> int | None:
        """What is really sent for a control, coarse slot first; None before anything was sent."""
        pictures = server.sacn.pictures(self.universe)
        if not pictures:
            return None
        slots = [pictures[-1][self.address - 1 + offset - 1] for offset in self.controls[key]["offset"]]
        return int.from_bytes(bytes(slots), "big")


def rig_file() -> str:
    """Every mode once, one after the other; a unit does not lie across two universes."""
    text = io.StringIO()
    rows = csv.writer(text)
    rows.writerow(["Position", "Unit", "Channel", "Profile", "Mode", "Universe", "Address"])
    universe, address, channel = 1, 1, 0
    for profile in LIBRARY:
        for mode in profile["modes"]:
            channel += 1
            if address + mode["footprint"] > 513:
                universe, address = universe + 1, 1
            rows.writerow(
                [profile["name"], channel, channel, profile["key"], mode["name"], universe, address]
            )
            address += mode["footprint"]
    return text.getvalue()


def unit_of(rig: list[Unit], profile: str, *keys: str) -> Unit:
    """The first mode of a profile that has these controls."""
    return next(unit for unit in rig if unit.profile == profile and all(key in unit.controls for key in keys))


def turn_to(page: Page, unit: Unit, group: str | None = None, pane: str | None = None) -> None:
    page.evaluate(f"() => {{ location.hash = '#fixture/{unit.id}' }}")
    page.wait_for_selector(f".tag .channel >> text=/^{unit.channel}$/")
    page.wait_for_selector(".pane > *")
    if group:
        press(page, f"#shelf >> text={group}")
    if pane:
        press(page, f".picker >> text=/^{pane}$/")


def said(text: str) -> float:
    """The first number in what a control says."""
    found = re.search(r"[-\u2212]?\d+(\.\d+)?", text)
    assert found is not None, text
    return float(found[0].replace("\u2212", "-"))


def meanings(control: dict[str, Any], raw: int) -> list[tuple[float, float]]:
    """What a raw value may be called: (number, half of the last digit shown), by each function that has it.

    Its share of 255, where the phone shows that; percent of the function's span; where it has a unit, the
    physical value on the line between its ends (GDTF: DIN SPEC 15800, ChannelFunction and ChannelSet,
    PhysicalFrom to PhysicalTo).
    """
    found = [(raw / (256 ** len(control["offset"]) - 1) * 255, 0.51)] if control["offset"] else []
    for function in control["functions"]:
        spans = [function, *(function.get("ranges") or [])]
        for span in spans:
            low, high = span["dmx"]
            if not low <= raw <= high or high == low:
                continue
            along = (raw - low) / (high - low)
            found.append((along * 100, 0.51))
            if span.get("physical"):
                start, end = span["physical"]
                value = start + along * (end - start)
                found.append((value, 0.51 if abs(value) >= 10 else 0.051))
    return found


def agrees(server: Server, unit: Unit, key: str, text: str) -> bool:
    raw = unit.raw(server, key)
    control = unit.controls[key]
    return raw is not None and any(
        abs(said(text) - value) <= slack for value, slack in meanings(control, raw)
    )


def check(page: Page, server: Server, unit: Unit, key: str, number: Locator) -> int:
    """Wait until what a control says is what is sent; returns the raw value."""
    settle(page)
    server.sacn.until(
        lambda: agrees(server, unit, key, number.inner_text()),
        f"{unit.profile} {key}: says {number.inner_text()}, sends {unit.raw(server, key)}",
    )
    raw = unit.raw(server, key)
    assert raw is not None
    return raw


def settle(page: Page) -> None:
    """Wait until what the hand did last is drawn and answered."""
    page.evaluate(
        "() => new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(() => drawn())))"
    )
    page.wait_for_function("() => !document.querySelector('.pane [data-asked], .pane [data-held]')")


def press(page: Page, selector: str) -> None:
    """Press what draws another pane, and wait for that."""
    page.evaluate("() => document.querySelector('.pane > *')?.setAttribute('data-old', '')")
    page.click(selector)
    page.wait_for_selector(".pane > :not([data-old])")


def type_number(page: Page, number: Locator, digits: str, scale: str | None = None) -> None:
    number.click()
    page.wait_for_selector("dialog[open]")
    if scale:
        page.click(f"dialog .choice >> text=/^{scale}$/")
    for digit in digits:
        page.keyboard.press("-" if digit == "\u2212" else digit)
    page.keyboard.press("Enter")
    page.wait_for_selector("dialog", state="detached")
    if scale:  # the phone keeps the unit it was given last; what comes next is read in the control's own
        page.evaluate(OWN_UNITS)


def fader(page: Page, label: str) -> Locator:
    return page.locator("fc-fader").filter(has=page.locator(f".name >> text=/^{re.escape(label)}$/"))
