"""How each kind of control is driven by touch and by keys, and what it says compared with what is sent."""

import colorsys
from collections.abc import Callable
from dataclasses import dataclass
from itertools import cycle

import pytest
from playwright.sync_api import Locator, Page

from tests.servers import Server
from tests.web.phones import Thumb, held, press
from tests.web.plan import Pane
from tests.web.sheets import Unit, check, fader, said, settle, turn_to

__all__ = ["DRIVES", "Hand", "hold", "spans"]

SET = """async ([id, key, value]) => {
  const base = document.querySelector('script[type=module]').src.replace('app.js', '');
  (await import(base + 'state/asked.js')).set(id, { [key]: value }, { now: true });
}"""

# Keys on a column, and the place they leave it at: a page is a tenth, an arrow a hundredth (as browsers do it
# where HTML's range may have any step).
KEYS = [
    (("Home", "PageUp", "PageUp", "ArrowUp"), 0.21),
    (("End", "PageDown", "ArrowDown"), 0.89),
    (("End",), 1.0),
    (("Home", "PageUp", "ArrowLeft"), 0.09),
]


@dataclass(frozen=True, slots=True)
class Hand:
    """A person at a sheet of the rig."""

    page: Page
    server: Server
    unit: Unit

    def check(self, keys: list[str], number: Locator) -> int:
        return check(self.page, self.server, self.unit, keys, number)

    def raws(self, grip: dict[str, list[str]]) -> list[int]:
        return [self.unit.raw(self.server, key) for key in grip["keys"]]

    def until(self, true: Callable[[], object], why: str) -> None:
        where = f"{self.unit.profile}, {self.unit.mode}: {why}"
        self.server.sacn.until(true, where)

    def turn_to(self, pane: Pane) -> None:
        turn_to(self.page, self.unit, pane.group, pane.at)


def span_of(unit: Unit, key: str) -> tuple[int, int]:
    """Where a column works: in its only function, or in all of the control."""
    control = unit.controls[key]
    free = [
        function
        for function in control["functions"]
        if not function.get("action") and not function["attribute"].startswith("NoFeature")
    ]
    return tuple(free[0]["dmx"]) if len(free) == 1 else (0, unit.largest(key))


def spans(unit: Unit, key: str, step: dict[str, str]) -> list[tuple[int, int]]:
    """The raw spans of a control that carry a chip's name; where the profile gives none, its function's."""
    functions = unit.controls[key]["functions"]
    parts = [part for one in functions for part in (one, *(one.get("ranges") or []))]
    named = [tuple(part["dmx"]) for part in parts if part.get("name") == step["label"]]
    return named or [tuple(one["dmx"]) for one in functions if one["attribute"] == step["attribute"]]


def drag(page: Page, selector: str, dx: float, dy: float, high: float = 0.5) -> None:
    Thumb(page).down(selector, high).move(dx, dy, 6).up()


def is_between(raw: int, low: float, high: float) -> bool:
    return low <= raw <= high


def drive_column(hand: Hand, column: Locator, keys: list[str], span: tuple[int, int], at: int) -> None:
    """By keys, by thumb, and what is said aloud; `at` chooses the keys."""
    bar, number, track = column.locator("input"), column.locator(".number"), column.locator(".track")
    low, high = span
    presses, place = KEYS[at % len(KEYS)]
    bar.focus()
    for one in presses:
        hand.page.keyboard.press(one)
    raw = hand.check(keys, number)
    assert raw == pytest.approx(low + place * (high - low), abs=max(2, (high - low) / 250)), (
        hand.unit,
        keys,
        presses,
    )
    assert said(bar.get_attribute("aria-valuetext") or "") == said(number.inner_text())
    box = track.bounding_box()
    assert box is not None
    assert box["height"] >= 48
    way = -0.25 if place < 0.5 else 0.25
    slop = 8 if way > 0 else -8
    track.evaluate("node => node.setAttribute('data-drag', '')")
    drag(hand.page, "[data-drag]", 0, way * box["height"] + slop)
    track.evaluate("node => node.removeAttribute('data-drag')")
    raw = hand.check(keys, number)
    assert raw == pytest.approx(low + (place - way) * (high - low), abs=max(3, (high - low) / 40)), (
        hand.unit,
        keys,
    )


def drive_columns(hand: Hand, pane: Pane) -> None:
    for at, grip in enumerate(pane.columns):
        column = fader(hand.page, grip["label"])
        if hand.unit.controls[grip["keys"][0]]["offset"]:
            drive_column(hand, column, grip["keys"], span_of(hand.unit, grip["keys"][0]), at)
        else:
            drive_virtual(hand, column, grip["keys"][0])


def drive_virtual(hand: Hand, column: Locator, key: str) -> None:
    """It has no slot and scales others: by half of what they send at full, and full is where it is left."""
    bar, followers = column.locator("input"), {"keys": hand.unit.followers[key]}
    bar.press("End")
    settle(hand.page)
    hand.until(lambda: max(hand.raws(followers)) > 0, "something at full")
    full = hand.raws(followers)
    before = said(column.locator(".number").inner_text())
    drag(hand.page, "fc-fader .track", 0, 90, 0.2)
    settle(hand.page)
    share = said(column.locator(".number").inner_text())
    assert 0 < share < before == 100
    assert said(bar.get_attribute("aria-valuetext") or "") == share

    def scaled() -> bool:
        now = hand.raws(followers)
        slack = [1 + 0.006 * raw for raw in full]
        return all(
            abs(raw - whole * share / 100) <= much for raw, whole, much in zip(now, full, slack, strict=True)
        )

    hand.until(scaled, f"{share} % of {full}, not {hand.raws(followers)}")
    bar.press("End")
    settle(hand.page)
    hand.until(lambda: hand.raws(followers) == full, "full again")


def drive_aim(hand: Hand, pane: Pane) -> None:
    page, (pan, tilt) = hand.page, pane.parts
    numbers = page.locator(".numbers button")
    sliders = page.get_by_role("slider", name="Pan"), page.get_by_role("slider", name="Tilt")

    def both() -> tuple[int, int]:
        raws = hand.check(pan["keys"], numbers.nth(0)), hand.check(tilt["keys"], numbers.nth(1))
        for slider, number in zip(sliders, numbers.all(), strict=False):
            assert said(slider.get_attribute("aria-valuetext") or "") == said(number.inner_text())
        return raws

    for slider, key in zip(sliders, ("Home", "End"), strict=True):
        slider.press(key)
    low, high = span_of(hand.unit, pan["keys"][0])[0], span_of(hand.unit, tilt["keys"][0])[1]
    before = both()
    assert before == (low, high)
    drag(page, ".floor", 70, 60)
    after = both()
    assert after[0] > before[0]
    assert after[1] < before[1]
    page.locator(".arrows button").nth(1).click()
    nudged = both()
    assert nudged[0] > after[0]
    assert nudged[1] == after[1]


def drive_disc(hand: Hand, pane: Pane) -> None:
    page, unit = hand.page, hand.unit
    hue, saturation = (page.get_by_role("slider", name=name) for name in ("Hue", "Saturation"))

    def mixed() -> tuple[float, float]:
        """Hue in degrees and saturation of what is sent, by the standard library."""
        red, green, blue = (
            unit.raw(hand.server, one["keys"][0]) / unit.largest(one["keys"][0]) for one in pane.parts[:3]
        )
        parts = (1 - red, 1 - green, 1 - blue) if pane.sub else (red, green, blue)
        turn, deep, _ = colorsys.rgb_to_hsv(*parts)
        return turn * 360, deep

    def agrees() -> bool:
        turn, deep = mixed()
        percent = said(saturation.get_attribute("aria-valuetext") or "")
        round_ = abs((turn - float(hue.input_value()) + 180) % 360 - 180)
        cells = all(len(set(hand.raws(one))) == 1 for one in pane.parts)
        white = pane.parts[3:]
        whites = all(
            abs(hand.raws(one)[0] / unit.largest(one["keys"][0]) - (1 - deep)) < 0.01 for one in white
        )
        return cells and whites and round_ < 1.5 and abs(percent - deep * 100) <= 1

    def sends() -> tuple[float, float]:
        settle(page)
        hand.until(agrees, f"{hue.input_value()}, sent {mixed()}")
        return mixed()

    def until(turn: float, deep: float) -> None:
        hand.until(lambda: mixed() == pytest.approx((turn, deep)), f"{turn}, {deep}, not {mixed()}")
        assert sends() == pytest.approx((turn, deep))

    page.locator(".chips button", has_text="Green").tap()
    until(120, 1)
    assert page.locator(".colour-words").inner_text().startswith("green, 100")
    assert hue.get_attribute("aria-valuetext") == "green"
    page.locator(".chips button", has_text="Blue").press("Enter")
    until(240, 1)
    drag(page, ".disc", 200, 0)  # from blue, at the upper left, past the right end
    turned = sends()
    assert turned[0] > 270
    saturation.press("PageDown")
    assert sends()[1] < turned[1]
    saturation.press("End")
    hue.press("Home")
    until(0, 1)


def drive_white(hand: Hand, pane: Pane) -> None:
    page, column = hand.page, fader(hand.page, "White")
    bar, number = column.locator("input"), column.locator(".number")
    keys = [key for part in pane.parts for key in part["keys"]]

    def sends() -> float:
        if len(pane.parts) == 1:
            hand.check(keys, number)
        else:
            settle(page)
            kelvin = said(number.inner_text())
            hand.until(lambda: abs(kelvin - kelvin_of_two(hand, pane)) < 0.01 * kelvin, f"{kelvin} K of two")
        spoken = bar.get_attribute("aria-valuetext") or ""
        assert said(spoken) == said(number.inner_text())
        return said(spoken)

    bar.press("End")  # a white that is off stands at the lower end
    bar.press("Home")
    warmest = sends()
    bar.press("PageUp")
    warm = sends()
    assert warm > warmest
    box = column.locator(".track").bounding_box()
    assert box is not None
    drag(page, "fc-fader .track", 0, -0.4 * box["height"], 0.8)
    assert sends() > warm
    named = page.locator(".whites .rule button", has_text="4300")
    if named.count():
        named.press("Enter")
        assert sends() == pytest.approx(4300, abs=30)
    bar.press("End")
    assert sends() > 5000


def kelvin_of_two(hand: Hand, pane: Pane) -> float:
    """Of the mix that is sent: mixed by X + Y + Z (CIE 15), and CCT by the cubic of McCamy (1992)."""
    x = y = whole = 0.0
    for part in pane.parts:
        control = hand.unit.controls[part["keys"][0]]
        u, v, bright = hand.unit.emitters[control["functions"][0]["emitter"]]["xyY"]
        weight = hand.unit.raw(hand.server, part["keys"][0]) * bright / v
        x, y, whole = x + weight * u, y + weight * v, whole + weight
    if not whole:
        return 0.0
    n = (x / whole - 0.3320) / (0.1858 - y / whole)
    return 449 * n**3 + 3525 * n**2 + 6823.3 * n + 5520.33


def drive_steps(hand: Hand, pane: Pane) -> None:
    """Chips by thumb, Enter and Space, the column inside one, and those beside. Strobes: another test."""
    page, key = hand.page, pane.parts[0]["keys"][0]
    steps = [(at, step) for at, step in enumerate(pane.steps) if not step["strobe"]]
    varied = next((one for one in steps if one[1]["varies"]), None)
    some = steps if len(steps) < 4 else [steps[1], steps[len(steps) // 2], steps[-1]]
    if varied and varied not in some:
        some.append(varied)
    for (at, step), how in zip(some, cycle(("thumb", "Enter", " ")), strict=False):
        chip = page.locator(".pane .chips > *").nth(at)
        if master := step["master"]:
            low, high = master["dmx"]
            middle = (low + high) // 2 / hand.unit.largest(master["control"])
            page.evaluate(SET, [hand.unit.id, master["control"], middle])
            page.wait_for_selector(f".pane .chips > * >> nth={at}")
        assert step["label"] in chip.inner_text()
        if how == "thumb":
            chip.tap()
        else:
            chip.press(how)
        page.wait_for_selector(f".pane .chips > [aria-pressed=true] >> text={step['label']}")
        places = spans(hand.unit, key, step)
        hand.until(
            lambda places=places: any(is_between(hand.unit.raw(hand.server, key), *one) for one in places),  # type: ignore[misc]
            f"{step['label']}: {places}, not {hand.unit.raw(hand.server, key)}",
        )
        if step["varies"]:
            raw = hand.unit.raw(hand.server, key)
            inside = next(one for one in places if is_between(raw, *one))
            drive_column(hand, page.locator(".inner fc-fader").first, pane.parts[0]["keys"], inside, at)
    drive_columns(hand, pane)


def drive_cells(hand: Hand, pane: Pane) -> None:
    """The strip: one cell alone by thumb, its neighbours stay; then all of them by keys."""
    page = hand.page
    names = hand.unit.cells
    at = len(names) - 1 if len(names) < 6 else 2
    grip = next(one for one in (*pane.columns, *pane.parts) if len(one["keys"]) == len(names))
    strip = page.locator(".cells button")
    assert strip.count() == len(names) + 1
    others = [key for key in grip["keys"] if key != grip["keys"][at]]

    def at_rest() -> list[int]:
        settle(page)
        return [hand.unit.raw(hand.server, key) for key in others]

    if pane.kind == "faders":
        column = fader(page, grip["label"])
        before = at_rest()
        press(page, f".cells button >> nth={at + 1}")
        drive_column(hand, column, [grip["keys"][at]], span_of(hand.unit, grip["keys"][at]), 0)
        assert at_rest() == before, "its neighbours stay"
        press(page, ".cells button >> nth=0")
        drive_column(hand, column, grip["keys"], span_of(hand.unit, grip["keys"][0]), 1)
    else:
        page.locator(".chips button", has_text="Blue").tap()
        hand.until(lambda: set(hand.raws(grip)) == {0}, "blue, so no red in any")
        press(page, f".cells button >> nth={at + 1}")
        page.locator(".chips button", has_text="Red").tap()
        hand.until(lambda: hand.raws(grip)[at] > 0, "red in one")
        assert set(at_rest()) == {0}, "its neighbours stay"
        press(page, ".cells button >> nth=0")
        page.locator(".chips button", has_text="Blue").tap()
        hand.until(lambda: set(hand.raws(grip)) == {0}, "blue again")


def see_locked(hand: Hand, pane: Pane) -> None:
    """It says so, nothing of it can be operated, and a drag across it moves nothing."""
    page = hand.page
    before = {key: hand.unit.raw(hand.server, key) for key in hand.unit.controls}
    hands = page.locator(".pane :is(fc-fader, .chips, .rule, .steps) :is(input, button)").all()
    assert hands
    assert all(one.is_disabled() for one in hands), hand.unit
    place = ".pane fc-fader .track" if pane.kind == "faders" else ".pane .chips > *"
    drag(page, place, 0, -60, 0.8)
    settle(page)
    assert hand.unit.raw(hand.server, next(iter(before))) >= 0
    for key, control in hand.unit.controls.items():
        if control["offset"]:
            assert hand.unit.raw(hand.server, key) == before[key] == 0, key


def hold(page: Page, button: Locator, by_key: bool) -> None:
    """Press and hold by thumb, or by the space bar, until it has been understood."""
    if by_key:
        button.focus()
        with held(page):
            page.keyboard.down(" ")
        page.keyboard.up(" ")
    else:
        button.evaluate("node => node.setAttribute('data-hold', '')")
        Thumb(page).hold("[data-hold]")
        page.evaluate("() => document.querySelector('[data-hold]')?.removeAttribute('data-hold')")


def leave(hand: Hand, pane: Pane) -> None:
    """Actions have a test of their own; what is written down about a unit is not sent."""


# By the page's word for a pane.
DRIVES: dict[str, Callable[[Hand, Pane], None]] = {
    "faders": drive_columns,
    "aim": drive_aim,
    "disc": drive_disc,
    "white": drive_white,
    "steps": drive_steps,
    "cells": drive_cells,
    "locked": see_locked,
    "acts": leave,
    "unit": leave,
}
