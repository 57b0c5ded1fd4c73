"""What a person on a ladder relies on: home and back, the feel of the ends, the next light, two thumbs."""

import math
import time
from typing import Any

import pytest
from playwright.sync_api import Page

from tests.servers import Server
from tests.web.phones import PhoneOf, Thumb, let_go_of_all, percent, reads, to_sheet
from tests.web.sheets import settle

BASE = "const base = document.querySelector('script[type=module]').src.replace('app.js', '');"
SHOWN = "async ([id, key]) => {" + BASE + "return (await import(base + 'state/asked.js')).shown(id, key) }"


@pytest.fixture(autouse=True)
def nobody_holds_anything(server: Server) -> None:
    """As other tests leave it, people who went away still have fixtures; the lead lets go for them."""
    let_go_of_all(server)


def shown(page: Page, channel: int, key: str) -> float:
    value: float = page.evaluate(SHOWN, [f"demo-{channel}", key])
    return value


def twice(page: Page, selector: str) -> None:
    """Two taps, 0.2 s apart by what the page is told, however long a busy machine takes to bring them."""
    thumb = Thumb(page)
    thumb.when = time.time() - 0.2
    thumb.down(selector).up()
    thumb.when += 0.2
    thumb.down(selector).up()


def at(page: Page, channel: int) -> None:
    page.wait_for_function(
        "n => document.querySelector('.tag .channel')?.textContent === n", arg=str(channel)
    )


def test_two_taps_bring_a_fader_home_and_undo_lies_under_the_thumb(phone: PhoneOf) -> None:
    page = phone("Rowan")
    to_sheet(page, 11, "Level")
    page.tap(".rule >> text=Half")
    reads(page, "50")
    twice(page, ".track")
    page.wait_for_selector("#say[data-brief] >> text=Level: home.")
    reads(page, "0")
    page.wait_for_timeout(450)  # a glove's third touch, sooner than this, is no answer
    page.tap("#say button >> text=Undo")
    reads(page, "50")
    assert page.locator("#say").is_hidden()


def test_two_taps_bring_aim_and_colour_home(phone: PhoneOf) -> None:
    page = phone("Rowan")
    to_sheet(page, 32, "Aim")
    Thumb(page).down(".floor").move(60, 40, 10).up()
    page.wait_for_selector("fc-aim:not([data-asked])")
    assert shown(page, 32, "Pan") > 0.55
    twice(page, ".floor")
    page.wait_for_selector("#say[data-brief] >> text=Aim: home.")
    assert abs(shown(page, 32, "Pan") - 0.5) < 0.001
    assert abs(shown(page, 32, "Tilt") - 0.5) < 0.001
    page.wait_for_timeout(450)  # as above
    to_sheet(page, 32, "Colour")
    page.tap(".chips >> text=Blue")
    page.wait_for_selector(".colour-words >> text=blue")
    twice(page, ".disc")
    page.wait_for_selector(".colour-words >> text=white")


def test_the_hand_feels_both_ends_and_home(phone: PhoneOf) -> None:
    page = phone("Rowan")
    page.evaluate("""() => {
      globalThis.ticks = 0;
      navigator.vibrate = () => (globalThis.ticks += 1);
    }""")
    to_sheet(page, 12, "Level")
    page.tap(".rule >> text=25")
    reads(page, "25")
    page.evaluate("globalThis.ticks = 0")
    thumb = Thumb(page).down(".track", 0.5).move(0, 60, 20)
    assert page.evaluate("ticks") == 0
    thumb.move(0, 200, 40)
    page.wait_for_function("() => ticks === 1")  # at 0, once, however far the thumb goes on
    thumb.move(0, -600, 60)
    page.wait_for_function("() => ticks === 2")  # at full
    thumb.up()
    to_sheet(page, 33, "Aim")
    Thumb(page).down(".floor").move(40, 0, 10).up()
    page.evaluate("globalThis.ticks = 0")
    Thumb(page).down(".floor").move(-80, 0, 16).up()
    page.wait_for_function("() => ticks === 1")  # through its home


def test_the_thumb_is_turned_and_the_fixture_is_not(phone: PhoneOf) -> None:
    page = phone("Rowan")
    to_sheet(page, 34, "Aim")
    page.wait_for_selector(".edge.right >> text=Pan 270")
    page.tap(".thumb")
    page.tap("text=Pan the other way")
    page.tap("text=Swap pan and tilt")
    page.tap(".types >> text=Done")
    page.wait_for_selector(".edge.top >> text=Pan \u2212270")
    page.wait_for_selector(".edge.right >> text=Tilt")
    assert "swapped" in page.locator(".thumb").inner_text()
    Thumb(page).down(".floor").move(0, -68, 10).up()  # up: pan, the other way
    page.wait_for_selector("fc-aim:not([data-asked])")
    assert shown(page, 34, "Pan") < 0.45
    assert abs(shown(page, 34, "Tilt") - 0.5) < 0.001
    assert page.locator(".arrows [aria-label='Tilt right']").count() == 1
    page.reload()
    to_sheet(page, 34, "Aim")
    page.wait_for_selector(".edge.top >> text=Pan \u2212270")
    to_sheet(page, 33, "Aim")
    page.wait_for_selector(".edge.right >> text=Pan 270")


def test_a_way_of_saying_numbers_is_chosen_once(phone: PhoneOf) -> None:
    page = phone("Rowan")
    to_sheet(page, 13, "Level")
    page.tap("fc-fader .number")
    page.tap(".keypad .choice >> text=0-255")
    for key in "128":
        page.tap(f".key[data-key='{key}']")
    page.tap(".ends >> text=Set")
    reads(page, "128")
    to_sheet(page, 34, "Aim")
    page.wait_for_selector(".numbers >> text=Tilt 127.5")  # half of a wide control, in the same scale
    page.tap(".numbers button >> nth=1")
    pressed = page.locator(".keypad .choice [aria-pressed=true]")
    assert pressed.inner_text() == "0-255"
    page.tap(".keypad .choice >> text=Degrees")
    page.tap(".ends >> text=Not now")
    page.wait_for_selector(".numbers >> text=Tilt 0.0\u00b0")


def test_white_goes_in_mired_and_says_kelvin(phone: PhoneOf) -> None:
    page = phone("Rowan")
    to_sheet(page, 55, "Colour")
    page.wait_for_selector(".whites")
    page.tap(".whites >> text=3200")
    reads(page, "32")
    settle(page)
    kelvin = float(page.locator("fc-fader .number").inner_text().rstrip("\u202fK"))
    page.tap(".nudge.up")
    page.wait_for_function(
        "was => document.querySelector('fc-fader .number').textContent !== was", arg=f"{kelvin:.0f}\u202fK"
    )
    settle(page)
    cooler = float(page.locator("fc-fader .number").inner_text().rstrip("\u202fK"))
    # Mired is a million by kelvin (ISO 80000-7, 7-59 gives the temperature; the name is common practice).
    assert 5 <= 1e6 / kelvin - 1e6 / cooler <= 40
    page.tap("text=Finest")
    page.tap(".nudge.up")
    page.wait_for_function(
        "was => document.querySelector('fc-fader .number').textContent !== was", arg=f"{cooler:.0f}\u202fK"
    )


def test_two_whites_mix_on_the_line_between_them(phone: PhoneOf) -> None:
    page = phone()
    found: dict[str, Any] = page.evaluate(
        "async () => {"
        + BASE
        + """
      const white = await import(base + 'state/white.js');
      const [warm, cool] = [[0.4599, 0.4106, 80], [0.3135, 0.3236, 90]];
      const rows = [160, 200, 250, 300, 350].map((mired) => {
        const [a, b] = white.mixOf(warm, cool, mired);
        return [mired, a, b, white.miredOfMix(warm, cool, a, b)];
      });
      return { a: white.kelvinOf(0.44757, 0.40745), d65: white.kelvinOf(0.31272, 0.32903), rows };
    }"""
    )
    # CIE 15: standard illuminant A is 2856 K, D65 about 6504 K, with these chromaticities (from memory).
    assert abs(found["a"] - 2856) < 10
    assert abs(found["d65"] - 6504) < 10
    for mired, warm, cool, back in found["rows"]:
        assert math.isclose(back, mired, abs_tol=0.5)
        assert max(warm, cool) == 1


def test_next_brings_the_light_along_when_asked_to(phone: PhoneOf) -> None:
    page = phone("Rowan")
    to_sheet(page, 26, "Level")
    assert page.get_by_role("switch").get_attribute("aria-checked") == "false"
    page.tap("text=Light up")
    page.wait_for_selector(".tag .who >> text=In your hand")
    page.get_by_role("switch").tap()
    page.evaluate("""() => {
      globalThis.asks = [];
      const send = WebSocket.prototype.send;
      WebSocket.prototype.send = function (text) { asks.push(text); send.call(this, text) };
    }""")
    page.tap(".hand-row >> text=Next")
    at(page, 27)
    page.wait_for_selector(".tag .who >> text=In your hand")
    # Between them it may tell how long it waits for an answer.
    asked = """() => asks.map((text) => JSON.parse(text)).filter(({ do: it }) => it !== 'signal')
      .map(({ do: it, fixture }) => `${it} ${fixture}`)"""
    page.wait_for_function(f"() => ({asked})().length >= 2")
    assert page.evaluate(asked) == ["light_up demo-27", "let_go demo-26"]
    to_sheet(page, 26, "Level")
    page.wait_for_selector(".tag .who >> text=Nobody has it")
    page.get_by_role("switch").tap()
    page.wait_for_selector("[role=switch][aria-checked=false]")


def test_a_second_press_of_next_within_400_ms_is_the_same_one(phone: PhoneOf) -> None:
    page = phone("Rowan")
    to_sheet(page, 1)
    page.evaluate("""() => {
      document.querySelector('.hand-row .step:last-child').click();
      setTimeout(() => document.querySelector('.hand-row .step:last-child').click(), 150);
    }""")
    page.wait_for_timeout(600)  # more than both presses took
    at(page, 2)
    page.tap(".hand-row >> text=Next")
    at(page, 3)


def test_a_second_press_of_take_within_400_ms_is_the_same_one(phone: PhoneOf) -> None:
    page = phone("Rowan")
    to_sheet(page, 81)
    page.evaluate("""() => {
      const hand = document.querySelector('.hand-row .hand');
      hand.click();
      setTimeout(() => hand.click(), 200);
    }""")
    page.wait_for_selector(".tag .who >> text=In your hand")
    page.wait_for_timeout(400)  # it would have been let go of by now
    assert page.locator(".tag .who").inner_text() == "In your hand"


def test_a_remote_s_keys_turn_to_the_next_and_back(phone: PhoneOf) -> None:
    page = phone("Rowan")
    to_sheet(page, 1)
    page.keyboard.press("PageDown")
    at(page, 2)
    page.wait_for_timeout(450)  # a press sooner than this is the same one
    page.keyboard.press("Enter")
    at(page, 3)
    page.wait_for_timeout(450)
    page.keyboard.press("PageUp")
    at(page, 2)
    page.wait_for_timeout(450)
    page.locator(".hand-row .step").last.focus()
    page.keyboard.press("Enter")
    at(page, 3)
    page.wait_for_timeout(450)
    page.locator(".hand-row .hand").focus()
    page.keyboard.press("PageDown")
    at(page, 4)


def test_two_thumbs_move_two_faders_at_once(phone: PhoneOf) -> None:
    page = phone("Rowan")
    to_sheet(page, 6, "Colour")
    page.tap(".picker >> text=Each")
    page.wait_for_selector("fc-fader >> nth=2")
    boxes = [page.locator(".track").nth(n).bounding_box() for n in (0, 2)]
    points = [
        {"x": box["x"] + box["width"] / 2, "y": box["y"] + 20, "id": n} for n, box in enumerate(boxes) if box
    ]
    before = percent(page, "fc-fader:nth-of-type(2) .number")
    cdp = page.context.new_cdp_session(page)
    cdp.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": points})
    for _ in range(12):
        points[0]["y"] += 6
        points[1]["y"] += 3
        cdp.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": points})
    cdp.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    settle(page)
    first, third = (percent(page, f"fc-fader:nth-of-type({n}) .number") for n in (1, 3))
    assert first < third < 100
    assert percent(page, "fc-fader:nth-of-type(2) .number") == before
