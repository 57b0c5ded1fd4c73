"""Every kind of control of every profile on a real page, and what it says against the slots really sent.

Drawn, dragged, operated by keys. Nothing is listed here: a new profile, or a new kind, is driven or fails.
"""

import re
import time
from collections.abc import Iterator
from itertools import groupby
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.servers import Server, serving
from tests.web.conftest import NAME, phones
from tests.web.drives import DRIVES, Hand, hold, spans
from tests.web.phones import Thumb
from tests.web.plan import Pane, chosen, expected, kinds, plans_of, things
from tests.web.sheets import (
    EVERY_PANE,
    LIBRARY,
    Unit,
    fader,
    rig_file,
    said,
    settle,
    turn_to,
    type_number,
    units_of,
)

Plans = dict[str, list[tuple[Unit, list[Pane]]]]
NAMES = [profile["key"] for profile in LIBRARY]


def with_(what: str) -> list[str]:
    """The profiles with a function of that attribute, or with such a field, as their files have it."""
    return [
        profile["key"]
        for profile in LIBRARY
        if any(
            re.search(what, one["attribute"]) or what in one
            for mode in profile["modes"]
            for control in (*mode.get("controls", []), *mode.get("cell_controls", []))
            for one in control["functions"]
        )
    ]


STROBES, ACTIONS = with_(r"r\d+Strobe|Pulse"), with_("action")


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A server of its own, whose rig is one of each mode of the library."""
    with serving(tmp_path_factory.mktemp("library") / "data", name=NAME) as running:
        files = {"file": ("rig.csv", rig_file())}
        running.client().post("/api/rig/import", files=files).raise_for_status()
        yield running


@pytest.fixture(scope="module")
def page(chromium: Browser, server: Server) -> Iterator[Page]:
    """One phone for all of it: it has in hand whatever it touched before."""
    with phones(chromium, server) as phone:
        yield phone("Kit", role="lead")


@pytest.fixture(scope="module")
def rig(server: Server) -> list[Unit]:
    return units_of(server)


@pytest.fixture(scope="module")
def plans(page: Page, rig: list[Unit]) -> Plans:
    """By profile, each mode with its panes."""
    found = plans_of(page, rig)
    return {key: list(some) for key, some in groupby(found, key=lambda one: one[0].profile)}


def test_every_control_of_every_mode_is_on_its_sheet(page: Page, rig: list[Unit]) -> None:
    answer = page.evaluate(EVERY_PANE, [unit.id for unit in rig])
    assert answer["lost"] == []
    assert len(rig) > 100
    for unit in rig:
        wanted = {key for key, control in unit.controls.items() if is_driven(control)} | masters(unit)
        assert wanted <= set(answer["found"][unit.id]), unit


def is_driven(control: dict[str, Any]) -> bool:
    """Has a function that a value sets: not only filler and actions."""
    functions = control["functions"]
    return any(not one.get("action") and not one["attribute"].startswith("NoFeature") for one in functions)


def masters(unit: Unit) -> set[str]:
    """The controls that say what another one does: without them half of that one is out of reach."""
    functions = [one for control in unit.controls.values() for one in control["functions"]]
    return {one["mode_master"]["control"] for one in functions if one.get("mode_master")}


def test_no_kind_of_control_on_any_profile_is_left_out(plans: Plans) -> None:
    assert sorted(plans) == sorted(NAMES)
    for modes in plans.values():
        for unit, panes in modes:
            there = set().union(*(kinds(unit, pane) for pane in panes))
            assert expected(unit) <= there, (unit.profile, unit.mode, expected(unit) - there)
            assert {pane.kind for pane in panes} <= set(DRIVES), unit
        every = {thing for unit, panes in modes for pane in panes for thing in things(unit, pane)}
        driven = {thing for unit, panes in chosen(modes) for pane in panes for thing in things(unit, pane)}
        assert driven == every
    strobes = {profile for profile in NAMES if any("strobe" in expected(unit) for unit, _ in plans[profile])}
    actions = {profile for profile in NAMES if any("acts" in expected(unit) for unit, _ in plans[profile])}
    assert strobes == set(STROBES)
    assert actions == set(ACTIONS)


@pytest.mark.parametrize("profile", NAMES)
def test_every_kind_of_control_sends_what_it_says(
    page: Page, server: Server, plans: Plans, profile: str
) -> None:
    for unit, panes in chosen(plans[profile]):
        hand = Hand(page, server, unit)
        if unit.followers and not any("virtual column" in kinds(unit, pane) for pane in panes):
            turn_to(page, unit, "Level")
            fader(page, "Level").locator("input").press("End")  # it scales the emitters
            settle(page)
        for pane in panes:
            hand.turn_to(pane)
            of = kinds(unit, pane)
            DRIVES["locked" if "locked" in of else pane.kind](hand, pane)
            if "cells" in of:
                DRIVES["cells"](hand, pane)


def test_a_number_is_typed_in_percent_raw_and_degrees(page: Page, server: Server, plans: Plans) -> None:
    unit, _ = plans["moving-spot-cmy"][0]
    hand = Hand(page, server, unit)
    turn_to(page, unit, "Level")
    level = fader(page, "Level")
    type_number(page, level.locator(".number"), "30", "Percent")
    assert hand.check(["Dimmer"], level.locator(".number")) == int(0.3 * 255 + 0.5)
    type_number(page, level.locator(".number"), "77", "0-255")
    assert hand.check(["Dimmer"], level.locator(".number")) == 77
    level.locator(".nudge.down").click()  # 77 counts as 30 %: to the next five below that
    assert hand.check(["Dimmer"], level.locator(".number")) == int(0.25 * 255 + 0.5)
    turn_to(page, unit, "Aim")
    pan = page.locator(".numbers button").first
    type_number(page, pan, "\u221245")
    low, high = unit.controls["Pan"]["functions"][0]["physical"]
    raw = hand.check(["Pan"], pan)
    assert raw == pytest.approx((-45 - low) / (high - low) * unit.largest("Pan"), abs=1)
    assert said(pan.inner_text()) == pytest.approx(-45, abs=(high - low) / unit.largest("Pan"))


def test_a_tap_right_after_a_flick_is_heard(page: Page, server: Server, plans: Plans) -> None:
    unit, _ = plans["dimmer"][0]
    turn_to(page, unit, "Level")
    fader(page, "Level").locator("input").press("Home")
    Thumb(page).down(".track", 0.8).move(0, -120, 5).up()
    page.locator(".rule button", has_text="25").tap()
    server.sacn.until(lambda: unit.raw(server, "Dimmer") == int(0.25 * 255 + 0.5), "the tapped quarter")


# Strobes are entered at their slowest and go one small step up from there, well below three flashes a second.
@pytest.mark.parametrize("profile", STROBES)
def test_a_strobe_is_held_and_its_column_says_what_is_sent(
    page: Page, server: Server, plans: Plans, profile: str
) -> None:
    at = STROBES.index(profile)
    unit, pane = next(
        (unit, pane)
        for unit, panes in reversed(plans[profile])
        for pane in panes
        if "strobe" in kinds(unit, pane)
    )
    hand, key = Hand(page, server, unit), pane.parts[0]["keys"][0]
    hand.turn_to(pane)
    flashing = [one for one in pane.steps if one["strobe"]]
    step = flashing[at % len(flashing)]
    before = unit.raw(server, key)
    button = page.locator(".chips fc-hold").nth(flashing.index(step)).locator("button")
    assert "seizures" in button.inner_text()
    button.click()
    assert button.get_attribute("aria-pressed") == "false"
    assert unit.raw(server, key) == before
    hold(page, button, by_key=bool(at % 2))
    number = page.locator(".inner .number").first
    number.wait_for()
    places = spans(unit, key, step)
    assert hand.check([key], number) == places[0][0]
    assert "Hz" in number.inner_text()
    page.locator(".inner .nudge.up").first.click()
    raw = hand.check([key], number)
    assert places[0][0] < raw <= places[0][1]
    assert said(number.inner_text()) <= 3
    steady = next(at for at, one in enumerate(pane.steps) if not one["strobe"])
    page.locator(".pane .chips > *").nth(steady).tap()
    still = spans(unit, key, pane.steps[steady])
    hand.until(lambda: any(low <= unit.raw(server, key) <= high for low, high in still), "steady again")


def test_recalibrating_on_every_profile_is_held_sent_and_taken_back(
    page: Page, server: Server, plans: Plans
) -> None:
    asked = []
    for at, (hand, acts) in enumerate(acting(page, server, plans)):
        number, act = next((n, one) for n, one in enumerate(acts) if one["action"]["kind"] == "reset")
        button = page.locator(".pane fc-hold button").nth(number)
        assert act["action"]["words"] in button.inner_text()
        low, high = act["dmx"]
        began = time.monotonic()
        hold(page, button, by_key=bool(at % 2))

        # It lasts some seconds, and may be over when a slow machine looks.
        hand.until(
            lambda: any(low <= raw <= high for raw in hand.unit.raws(server, act["key"], began)),  # noqa: B023
            act["name"],
        )
        page.wait_for_selector("#say >> text=asked of")
        asked.append((hand, act))
    for hand, act in asked:  # they last some seconds each, at the same time
        rest = act["action"]["release"]
        hand.until(lambda: hand.unit.raw(server, act["key"]) == rest, f"{act['name']} taken back")  # noqa: B023


def test_a_lamp_that_is_not_armed_cannot_be_pressed_and_says_why_on_every_profile(
    page: Page, server: Server, plans: Plans
) -> None:
    seen = 0
    for hand, acts in acting(page, server, plans):
        for number, act in enumerate(acts):
            if not act["action"]["kind"].startswith("lamp"):
                continue
            button = page.locator(".pane fc-hold button").nth(number)
            assert button.is_disabled(), (hand.unit, act["name"])
            assert "Not armed. Say what for, then hold." in button.inner_text()  # this phone is the lead's
            seen += 1
    assert seen


def acting(page: Page, server: Server, plans: Plans) -> Iterator[tuple[Hand, list[dict[str, Any]]]]:
    """Turned to the actions of a mode of each profile that has any; with what the file says of each."""
    for profile in ACTIONS:
        unit, pane = next(
            (unit, pane) for unit, panes in reversed(plans[profile]) for pane in panes if pane.kind == "acts"
        )
        hand = Hand(page, server, unit)
        hand.turn_to(pane)
        functions = [(key, one) for key, it in unit.controls.items() for one in it["functions"]]
        of = {(key, one["name"]): {**one, "key": key} for key, one in functions if one.get("action")}
        yield hand, [of[act["key"], act["name"]] for act in pane.acts]
