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
from tests.web.phones import press

__all__ = [
    "EVERY_PANE",
    "LIBRARY",
    "Unit",
    "agrees",
    "check",
    "fader",
    "meanings",
    "rig_file",
    "said",
    "settle",
    "turn_to",
    "type_number",
    "units_of",
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
    """One fixture of the rig under test; controls as the API tells them, cells expanded.

    followers: by the key of a virtual control, those that it scales. emitters: the profile's.
    """

    id: str
    channel: int
    universe: int
    address: int
    profile: str
    mode: str
    guarded: bool
    controls: dict[str, dict[str, Any]]
    followers: dict[str, list[str]]
    emitters: dict[str, Any]

    @property
    def cells(self) -> list[str]:
        """Their names, in order."""
        return list(dict.fromkeys(one["cell"] for one in self.controls.values() if one.get("cell")))

    def largest(self, key: str) -> int:
        """The largest raw value; a virtual control has 16 bits."""
        return int(256 ** (len(self.controls[key]["offset"]) or 2) - 1)

    def raw(self, server: Server, key: str) -> int:
        """What is really sent for a control, coarse slot first; -1 before anything was sent."""
        pictures = server.sacn.pictures(self.universe)
        return self._of(pictures[-1], key) if pictures else -1

    def raws(self, server: Server, key: str, since: float) -> list[int]:
        """The same of every packet that came after a monotonic time."""
        return [self._of(picture, key) for picture in server.sacn.pictures(self.universe, since)]

    def _of(self, picture: bytes, key: str) -> int:
        slots = [picture[self.address - 1 + offset - 1] for offset in self.controls[key]["offset"]]
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


def units_of(server: Server) -> list[Unit]:
    """The whole rig as the server tells it, by channel."""
    client = server.client()
    profiles = {one["key"]: client.get(f"/api/profiles/{one['key']}").json() for one in LIBRARY}
    units = []
    for it in sorted(client.get("/api/fixtures").json(), key=lambda it: int(it["channel"])):
        profile = profiles[it["profile"]]
        mode = next(one for one in profile["modes"] if one["name"] == it["mode"])
        controls = {control["key"]: control for control in mode["controls"]}
        followers = {one["master"]: one["followers"] for one in mode.get("multiply") or []}
        where = (it["id"], it["channel"], it["universe"], it["address"], it["profile"], it["mode"])
        guarded, emitters = bool(profile.get("guarded")), profile.get("emitters") or {}
        units.append(Unit(*where, guarded, controls, followers, emitters))
    return units


def turn_to(page: Page, unit: Unit, group: str | None = None, at: int = 0) -> None:
    """Turn to a unit's sheet, a group of it, and a pane of that by its number."""
    page.evaluate(f"() => {{ location.hash = '#fixture/{unit.id}' }}")
    page.wait_for_selector(f".tag .channel >> text=/^{unit.channel}$/")
    page.wait_for_selector(".pane > *")
    if group:
        press(page, f"#shelf button >> text=/^{group}$/")
    if at:
        press(page, f".picker button >> nth={at}")


def said(text: str) -> float:
    """The first number in what a control says."""
    found = re.search(r"[-\u2212]?\d+(\.\d+)?", text)
    assert found is not None, text
    return float(found[0].replace("\u2212", "-"))


# What the page writes after a number, and the unit of the profile's that it stands for.
UNITS = {
    "°": "Angle",
    "K": "Temperature",
    "Hz": "Frequency",
    "°/s": "AngularSpeed",
    "s": "Time",
    "m": "Length",
    "m/s": "Speed",
}


def meanings(control: dict[str, Any], raw: int, unit: str) -> list[float]:
    """What a raw value may be called in a unit, by each function that has it.

    Percent is of the function's span; a physical value lies on the line between the ends of the function or
    of its named range (GDTF: DIN SPEC 15800, ChannelFunction and ChannelSet, PhysicalFrom to PhysicalTo).
    """
    found = []
    for function in control["functions"]:
        for span in (function, *(function.get("ranges") or [])):
            low, high = span["dmx"]
            if not low <= raw <= high:
                continue
            along = (raw - low) / (high - low) if high > low else 0.0
            if unit == "%" and span is function:
                found.append(along * 100)
            elif unit != "%" and function.get("unit") == UNITS[unit] and span.get("physical"):
                start, end = span["physical"]
                found.append(start + along * (end - start))
    return found


def agrees(server: Server, unit: Unit, key: str, text: str) -> bool:
    """Whether a text such as "35 %" or "Pan 12.0°" is what is sent, to half of its last digit."""
    digits = re.search(r"\d(?:\.(\d+))?\D*$", text)
    assert digits is not None, text
    slack = 0.5 * 10.0 ** -len(digits[1] or "") + 1e-3
    sign = re.sub(r".*\d", "", text).strip()
    raw = unit.raw(server, key)
    return any(abs(said(text) - value) <= slack for value in meanings(unit.controls[key], raw, sign))


def check(page: Page, server: Server, unit: Unit, keys: list[str], number: Locator) -> int:
    """Wait until what a control says is what is sent for each of these keys; returns the raw value."""
    settle(page)
    text = number.inner_text()
    for key in keys:
        server.sacn.until(
            lambda key=key: agrees(server, unit, key, text),  # type: ignore[misc]
            f"{unit.profile}, {unit.mode}, {key}: says {text}, sends {unit.raw(server, key)}",
        )
    return unit.raw(server, keys[0])


def settle(page: Page) -> None:
    """Wait until what the hand did last is drawn and answered."""
    page.evaluate(
        "() => new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(() => drawn())))"
    )
    page.wait_for_function("() => !document.querySelector('.pane [data-asked], .pane [data-held]')")


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
