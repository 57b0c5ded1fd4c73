"""Every profile of the library on a real page, and what its controls say against the slots really sent."""

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.servers import Server, serving
from tests.web.conftest import NAME, phones
from tests.web.phones import Thumb
from tests.web.sheets import (
    EVERY_PANE,
    LIBRARY,
    Unit,
    check,
    fader,
    press,
    rig_file,
    settle,
    turn_to,
    type_number,
    unit_of,
)


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
    client = server.client()
    modes = {}
    for profile in LIBRARY:
        for mode in client.get(f"/api/profiles/{profile['key']}").json()["modes"]:
            modes[profile["key"], mode["name"]] = mode
    guarded = {profile["key"] for profile in LIBRARY if profile.get("guarded")}
    fixtures = sorted(client.get("/api/fixtures").json(), key=lambda it: int(it["channel"]))
    return [
        Unit(
            it["id"],
            it["channel"],
            it["universe"],
            it["address"],
            it["profile"],
            it["profile"] in guarded,
            modes[it["profile"], it["mode"]]["footprint"],
            {control["key"]: control for control in modes[it["profile"], it["mode"]]["controls"]},
        )
        for it in fixtures
    ]


def test_every_control_of_every_mode_is_on_its_sheet(page: Page, rig: list[Unit]) -> None:
    answer = page.evaluate(EVERY_PANE, [unit.id for unit in rig])
    assert answer["lost"] == []
    assert len(rig) > 100
    for unit in rig:
        wanted = {key for key, control in unit.controls.items() if is_driven(control)}
        assert wanted <= set(answer["found"][unit.id]), unit


def is_driven(control: dict[str, Any]) -> bool:
    """Has a function that a value sets: not only filler and actions."""
    functions = control["functions"]
    return any(not one.get("action") and not one["attribute"].startswith("NoFeature") for one in functions)


# Where a column goes by keys: PageUp is a tenth, an arrow a hundredth (HTML's range with any step).
KEYS = [("End",), ("Home", "PageUp", "PageUp", "ArrowUp"), ("End", "PageDown", "ArrowDown")]


def test_each_column_of_one_mode_of_every_profile_sends_what_it_says(
    page: Page, server: Server, rig: list[Unit]
) -> None:
    driven = 0
    for at, profile in enumerate(LIBRARY):
        units = [unit for unit in rig if unit.profile == profile["key"]]
        unit = units[at % len(units)]
        if unit.guarded:
            continue
        turn_to(page, unit)
        for group in page.locator("#shelf button").all_inner_texts():
            press(page, f"#shelf button >> text=/^{group}$/")
            driven += drive_columns(page, server, unit, driven)
    assert driven > 60


def drive_columns(page: Page, server: Server, unit: Unit, count: int) -> int:
    """Drive the columns now on the page by keys and the first by thumb; returns how many were compared."""
    columns = page.locator(".pane fc-fader:not([data-locked])").all()
    for at, column in enumerate(columns):
        bar = column.locator("input")
        bar.focus()
        for key in KEYS[(count + at) % len(KEYS)]:
            page.keyboard.press(key)
    checked = 0
    for column in columns:
        label = column.locator(".name").inner_text()
        control = key_of(page, label)
        if control is None:
            continue  # the column for whiter and warmer drives several controls: test_ladder.py
        if not unit.controls[control]["offset"]:
            column.locator("input").press(
                "End"
            )  # it scales the emitters: full, so that they send what they say
            continue
        before = check(page, server, unit, control, column.locator(".number"))
        if not checked:  # and one of each page by thumb
            track = f"fc-fader:has(.name:text-is('{label}')) .track"
            Thumb(page).down(track, 0.5).move(0, 60 if before else -60, 8).up()
            assert check(page, server, unit, control, column.locator(".number")) != before, (unit, control)
        checked += 1
    return checked


def key_of(page: Page, label: str) -> str | None:
    """The control behind a column, from the page's own plan of the sheet."""
    key: str | None = page.evaluate(
        """async (label) => {
          const base = document.querySelector('script[type=module]').src.replace('app.js', '');
          const { fixture, modeOf } = await import(base + 'state/rig.js');
          const { sheetOf } = await import(base + 'state/sheet.js');
          const it = fixture(location.hash.split('/')[1]);
          for (const panes of sheetOf(modeOf(it), null, null).values()) for (const pane of panes)
            for (const grip of [...(pane.grips ?? []), ...(pane.beside ?? [])])
              if (grip.label === label) return grip.keys[0];
        }""",
        label,
    )
    return key


@pytest.mark.parametrize(
    ("profile", "group", "label", "key"),
    [
        ("dimmer", "Level", "Level", "Dimmer"),
        ("moving-spot-cmy", "Level", "Level", "Dimmer"),
        ("moving-spot-cmy", "Beam", "Zoom", "Zoom"),
        ("moving-spot-cmy", "Beam", "Frost", "Frost1"),
    ],
)
def test_a_column_by_thumb_key_nudge_and_number(
    page: Page, server: Server, rig: list[Unit], profile: str, group: str, label: str, key: str
) -> None:
    unit = unit_of(rig, profile, key)
    turn_to(page, unit, group)
    column = fader(page, label)
    number, bar = column.locator(".number"), column.locator("input")
    largest = 256 ** len(unit.controls[key]["offset"]) - 1
    bar.press("Home")
    assert check(page, server, unit, key, number) == 0
    Thumb(page).down(f"fc-fader:has(.name:text-is('{label}')) .track", 0.9).move(0, -90, 15).up()
    dragged = check(page, server, unit, key, number)
    assert 0.1 * largest < dragged < 0.9 * largest
    bar.press("PageUp")
    paged = check(page, server, unit, key, number)
    assert paged == pytest.approx(dragged + largest / 10, abs=largest / 500 + 1)
    bar.press("ArrowUp")
    assert check(page, server, unit, key, number) == pytest.approx(
        paged + largest / 100, abs=largest / 500 + 1
    )
    bar.press("End")
    assert check(page, server, unit, key, number) == largest
    column.locator(".nudge.down").click()
    assert check(page, server, unit, key, number) == pytest.approx(largest * 0.95, abs=1)
    type_number(page, number, "30", "Percent")
    assert check(page, server, unit, key, number) == int(0.3 * largest + 0.5)
    type_number(page, number, "77", f"0-{largest}")
    assert check(page, server, unit, key, number) == 77


def test_aim_by_thumb_key_and_degrees(page: Page, server: Server, rig: list[Unit]) -> None:
    unit = next(one for one in rig if one.profile == "moving-spot-cmy" and one.footprint == 26)
    turn_to(page, unit, "Aim")
    pan, tilt = page.locator(".numbers button").all()[:2]

    def both() -> tuple[int, int]:
        return check(page, server, unit, "Pan", pan), check(page, server, unit, "Tilt", tilt)

    before = both()
    Thumb(page).down(".floor").move(70, -60, 15).up()
    after = both()
    assert after[0] > before[0]
    assert after[1] > before[1]
    slider = page.get_by_role("slider", name="Pan")
    slider.press("PageDown")
    assert both()[0] < after[0]
    slider.press("Home")
    assert both()[0] == 0
    page.get_by_role("slider", name="Tilt").press("End")
    largest = 256 ** len(unit.controls["Tilt"]["offset"]) - 1
    assert both()[1] == largest
    type_number(page, pan, "\u221245")
    low, high = unit.controls["Pan"]["functions"][0]["physical"]
    assert both()[0] == pytest.approx((-45 - low) / (high - low) * largest, abs=1)
    assert pan.inner_text() == "Pan \u221245.0°"


@pytest.mark.parametrize(
    ("profile", "keys", "pure"),
    [
        ("rgb-wash", ("ColorAdd_R", "ColorAdd_G", "ColorAdd_B"), (255, 0, 0)),
        ("moving-spot-cmy", ("ColorSub_C", "ColorSub_M", "ColorSub_Y"), (0, 255, 255)),
    ],
)
def test_the_disc_by_thumb_key_and_name(
    page: Page, server: Server, rig: list[Unit], profile: str, keys: tuple[str, ...], pure: tuple[int, ...]
) -> None:
    unit = unit_of(rig, profile, *keys, "Dimmer")
    turn_to(page, unit, "Level")
    page.click(".rule >> text=Full")  # a virtual intensity scales what the emitters send
    turn_to(page, unit, "Colour", "Disc")

    def sent() -> tuple[int | None, ...]:
        return tuple(unit.raw(server, key) for key in keys)

    page.click(".chips >> text=Red")
    server.sacn.until(lambda: sent() == pure, f"red, not {sent()}")
    settle(page)
    saturation = page.get_by_role("slider", name="Saturation")
    saturation.press("Home")
    white = tuple(255 if profile == "rgb-wash" else 0 for _ in keys)
    server.sacn.until(lambda: sent() == white, f"white, not {sent()}")
    settle(page)
    saturation.press("End")
    settle(page)
    page.get_by_role("slider", name="Hue").press("Home")
    server.sacn.until(lambda: sent() == pure, f"red by keys, not {sent()}")
    page.get_by_role("slider", name="Hue").press("PageUp")
    server.sacn.until(lambda: sent() != pure, "a tenth of the way round")
    Thumb(page).down(".disc").move(0, 300, 15).up()  # down is 90 degrees on: yellow to green
    settle(page)
    words = page.locator(".colour-words").inner_text()
    shown = page.evaluate(SHOWN, [unit.id, *keys])
    server.sacn.until(lambda: sent() == tuple(int(one * 255 + 0.5) for one in shown), f"{words}: {sent()}")
    assert any(word in words for word in ("yellow", "lime", "green", "amber"))


SHOWN = """async ([id, ...keys]) => {
  const base = document.querySelector('script[type=module]').src.replace('app.js', '');
  const { shown } = await import(base + 'state/asked.js');
  return keys.map((key) => shown(id, key));
}"""


def spans(unit: Unit, key: str, name: str) -> list[tuple[int, int]]:
    """The raw ranges that carry a name."""
    parts = [part for one in unit.controls[key]["functions"] for part in [one, *(one.get("ranges") or [])]]
    return [tuple(part["dmx"]) for part in parts if part.get("name") == name]


def test_chips_by_thumb_and_key_and_the_column_inside_one(
    page: Page, server: Server, rig: list[Unit]
) -> None:
    unit = unit_of(rig, "moving-spot-cmy", "Color1", "Gobo2")
    turn_to(page, unit, "Colour", "Colour wheel")

    def until_in(name: str) -> None:
        page.wait_for_selector(f".chips [aria-pressed=true] >> text={name}")
        ranges = spans(unit, "Color1", name)
        assert ranges
        server.sacn.until(
            lambda: any(low <= (unit.raw(server, "Color1") or 0) <= high for low, high in ranges), name
        )

    page.click(".chips button >> text=Green")
    until_in("Green")
    page.locator(".chips button", has_text="Lavender").press("Enter")
    until_in("Lavender")
    page.locator(".chips button", has_text="Forward").press(" ")
    until_in("Forward")
    column = page.locator(".inner fc-fader").first
    number, bar = column.locator(".number"), column.locator("input")
    (low, high) = spans(unit, "Color1", "Forward")[0]
    bar.press("End")
    assert check(page, server, unit, "Color1", number) == high
    bar.press("Home")
    assert check(page, server, unit, "Color1", number) == low
    Thumb(page).down(".inner .track", 0.9).move(0, -60, 12).up()
    assert low < check(page, server, unit, "Color1", number) < high
    type_number(page, number, str(low + 3), "0-255")
    assert check(page, server, unit, "Color1", number) == low + 3


def test_a_strobe_is_held_and_its_column_says_what_is_sent(
    page: Page, server: Server, rig: list[Unit]
) -> None:
    unit = unit_of(rig, "moving-spot-cmy", "Shutter1", "Gobo2")
    turn_to(page, unit, "Beam", "Shutter")
    Thumb(page).hold("fc-hold[label^=Strobe] button", 1400)
    number = page.locator(".inner .number").first
    number.wait_for()
    check(page, server, unit, "Shutter1", number)
    page.locator(".inner input").first.press("PageUp")
    assert "Hz" in number.inner_text()
    check(page, server, unit, "Shutter1", number)
    page.click(".chips >> text=/^Open$/")
    server.sacn.until(lambda: any(a <= (unit.raw(server, "Shutter1") or 0) <= b for a, b in opened(unit)))


def opened(unit: Unit) -> list[tuple[int, int]]:
    return spans(unit, "Shutter1", "Open")


def test_an_action_is_sent_while_it_lasts_and_taken_back(page: Page, server: Server, rig: list[Unit]) -> None:
    unit = unit_of(rig, "moving-spot-cmy", "Control1", "Gobo2")
    action = next(one for one in unit.controls["Control1"]["functions"] if one.get("action"))
    low, high = action["dmx"]
    turn_to(page, unit, "More", "Actions")
    Thumb(page).hold(f"fc-hold[label^='{action['name']}'] button", 1400)
    server.sacn.until(lambda: low <= (unit.raw(server, "Control1") or 0) <= high, action["name"])
    page.wait_for_selector("#say >> text=asked of")
    server.sacn.until(
        lambda: unit.raw(server, "Control1") == action["action"]["release"], f"released after {action}"
    )


def test_one_cell_alone_and_then_all_of_them(page: Page, server: Server, rig: list[Unit]) -> None:
    unit = next(one for one in rig if one.profile == "batten-8" and one.footprint == 34)
    reds = [key for key in unit.controls if key.startswith("ColorAdd_R/")]
    turn_to(page, unit, "Colour", "Each")
    fader(page, "Red").locator("input").press("Home")
    for key in reds:
        server.sacn.until(lambda key=key: unit.raw(server, key) == 0, key)  # type: ignore[misc]
    press(page, ".cells >> text=/^3$/")
    number = fader(page, "Red").locator(".number")
    Thumb(page).down("fc-fader:has(.name:text-is('Red')) .track", 0.9).move(0, -90, 15).up()
    assert check(page, server, unit, reds[2], number) > 0
    type_number(page, number, "200", "0-255")
    assert check(page, server, unit, reds[2], number) == 200
    assert [unit.raw(server, key) for key in reds] == [0, 0, 200, 0, 0, 0, 0, 0]
    press(page, ".cells >> text=/^All$/")
    fader(page, "Red").locator("input").press("End")
    for key in reds:
        server.sacn.until(lambda key=key: unit.raw(server, key) == 255, key)  # type: ignore[misc]


def test_what_is_guarded_is_shown_locked_and_stays_at_its_safe_value(
    page: Page, server: Server, rig: list[Unit]
) -> None:
    driven = ".pane:is([data-kind=faders], [data-kind=steps])"
    for unit in (one for one in rig if one.guarded):
        turn_to(
            page, unit, "More" if "Dimmer" not in unit.controls and unit.profile != "relay-pack" else "Level"
        )
        hands = page.locator(f"{driven} :is(fc-fader, .chips) :is(input, button)").all()
        assert hands, unit.profile
        assert all(hand.is_disabled() for hand in hands), unit.profile
        for key, control in unit.controls.items():
            if control["offset"]:
                assert unit.raw(server, key) == 0, key
