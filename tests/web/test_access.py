"""Every screen, for every eye and thumb: axe, sizes, what fits, and no blue or green at night."""

import io
from contextlib import suppress
from importlib.resources import files

import pytest
from PIL import Image
from playwright.sync_api import TimeoutError as PlaywrightTimeout

from tests.web.phones import PhoneOf, to_sheet
from tests.web.places import in_shade, places

# WCAG 2.2, 2.5.5 asks for 44 px; gloves for 48.
TOO_SMALL = """() => [...document.querySelectorAll(
    'button, a, input:not([type=range]), summary, .track, .floor, .disc')]
  .filter((node) => node.checkVisibility())
  .map((node) => [node.textContent.slice(0, 24) || node.className, node.getBoundingClientRect()])
  .filter(([, box]) => box.width < 48 || box.height < 48)
  .map(([words, box]) => `${words} ${Math.round(box.width)}x${Math.round(box.height)}`)"""
# A place that scrolls sideways hides what is in it; the aiming floor holds a mark as large as itself.
TOO_WIDE = """() => [...document.querySelectorAll('main, main *')]
  .filter((node) => node.checkVisibility() && node.clientWidth > 40)
  .filter((node) => node.scrollWidth > node.clientWidth + 1)
  .filter((node) => getComputedStyle(node).overflowX !== 'visible' && !node.matches('.floor, .round, .place'))
  .map((node) => `${node.tagName}.${node.className} ${node.scrollWidth} in ${node.clientWidth}`)"""
# Each thing to press, brought into sight, must be what a thumb in its middle meets.
COVERED = """() => [...document.querySelectorAll(
    'button, a, input:not([type=range]), summary, .track, .floor')]
  .filter((node) => node.checkVisibility() && !node.closest('.rows'))
  .filter((node) => {
    node.scrollIntoView({ block: 'nearest' });
    const { left, top, width, height } = node.getBoundingClientRect();
    const met = document.elementFromPoint(left + width / 2, top + height / 2);
    return !met || !(node.contains(met) || met.contains(node));
  })
  .map((node) => `covered: ${node.textContent.slice(0, 24) || node.className}`)"""
SHADES = ("dark", "day", "night", "sharp")
AXE = "() => axe.run(document, { resultTypes: ['violations'] })"
AXE_COLOURS = "() => axe.run(document, { resultTypes: ['violations'], runOnly: ['color-contrast'] })"
# What takes the focus and shows no ring of 2 px or more that stands out 3 to 1 (WCAG 2.2, 1.4.11 and 2.4.7).
FOCUS_UNSEEN = """() => {
  const light = (css) => {
    const parts = css.match(/[\\d.]+/g).slice(0, 3).map((one) => one / 255);
    const linear = parts.map((one) => (one <= 0.04045 ? one / 12.92 : ((one + 0.055) / 1.055) ** 2.4));
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2] + 0.05;
  };
  const ground = light(getComputedStyle(document.documentElement).backgroundColor);
  const unseen = [];
  for (const node of document.querySelectorAll('main :is(a, button, input, summary), #shelf *')) {
    if (!node.checkVisibility() || node.disabled) continue;
    node.focus({ preventScroll: true });
    if (document.activeElement !== node) continue;
    const ring = [node, node.closest('.track, .floor, .disc')].filter(Boolean).map(getComputedStyle)
      .filter((style) => style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2)
      .map((style) => light(style.outlineColor))
      .some((one) => Math.max(one, ground) / Math.min(one, ground) >= 3);
    if (!ring) unseen.push(node.ariaLabel || node.textContent.slice(0, 30) || node.className);
  }
  return unseen;
}"""
# A slider without a name or without its value in words; something to press that Tab does not reach.
MUTE = """() => {
  const seen = (what) => [...document.querySelectorAll(what)].filter((node) => node.checkVisibility());
  const inWords = (node) => node.ariaLabel && /\\D/.test(node.ariaValueText ?? '');
  const sliders = seen('input[type=range]').filter((node) => !inWords(node));
  const hands = seen('main :is(button, a, summary, input), #shelf *, .track, .floor, .disc');
  const reached = (node) => node.tabIndex >= 0 || node.querySelector('input') || node.ariaDisabled;
  const lost = hands.filter((node) => !reached(node));
  return [...sliders, ...lost].map((node) => `${node.tagName} ${node.ariaLabel || node.className}`);
}"""


@pytest.mark.parametrize("size", [(390, 844), (320, 568), (844, 390)], ids=str)
def test_everything_is_large_enough_and_nothing_is_cut_off(phone: PhoneOf, size: tuple[int, int]) -> None:
    page = phone("Kit", role="lead", viewport={"width": size[0], "height": size[1]})
    wrong = {}
    for place in places(page):
        # A pane may still be drawing itself on a busy machine: what is wrong must stay wrong.
        for look in (TOO_SMALL, TOO_WIDE, COVERED):
            with suppress(PlaywrightTimeout):
                page.wait_for_function(f"() => !({look})().length", timeout=2000)
        if found := [words for look in (TOO_SMALL, TOO_WIDE, COVERED) for words in page.evaluate(look)]:
            wrong[place] = found
    assert not wrong


def test_axe_finds_nothing_in_any_shade(phone: PhoneOf) -> None:
    page = phone("Kit", role="lead")
    page.evaluate((files("axe_playwright_python") / "axe.min.js").read_text())
    wrong = {}
    for place in places(page):
        for shade in SHADES:
            in_shade(page, shade)
            # A shade changes colours and nothing else.
            found = page.evaluate(AXE if shade == SHADES[0] else AXE_COLOURS)["violations"]
            if found:
                wrong[place, shade] = [f"{one['id']}: {one['nodes'][0]['html'][:120]}" for one in found]
    assert not wrong


def test_the_focus_is_seen_in_every_shade(phone: PhoneOf) -> None:
    page = phone("Kit", role="lead")
    wrong = {}
    for place in places(page):
        page.keyboard.press("Tab")  # from here on the browser takes it that somebody uses keys
        for shade in SHADES:
            in_shade(page, shade)
            if found := page.evaluate(FOCUS_UNSEEN):
                wrong[place, shade] = found
    assert not wrong


def test_what_slides_says_its_value_in_words_and_all_of_it_is_reached_by_tab(phone: PhoneOf) -> None:
    page = phone("Kit", role="lead")
    wrong = {place: found for place in places(page) if (found := page.evaluate(MUTE))}
    assert not wrong


def test_tab_walks_a_sheet_from_its_controls_to_the_shelf(phone: PhoneOf) -> None:
    page = phone("Kit")
    to_sheet(page, 3, "Level")
    page.locator("#screen").focus()
    met = []
    for _ in range(40):
        page.keyboard.press("Tab")
        met.append(
            page.evaluate("() => document.activeElement.ariaLabel ?? document.activeElement.textContent")
        )
        if met[-1] == "List":
            break
    for name in (
        "Level: type a value",
        "Level up",
        "Level",
        "Level down",
        "Level 50 percent",
        "Take",
        "List",
    ):
        assert name in met, met


def test_a_refusal_is_told_by_a_live_region_that_was_there_before(phone: PhoneOf) -> None:
    page = phone("Kit")
    assert page.evaluate("() => document.getElementById('say').role") == "alert"
    assert page.evaluate("() => document.getElementById('status').role") == "status"
    page.evaluate("""async () => {
      const base = document.querySelector('script[type=module]').src.replace('app.js', '');
      const { command } = await import(base + 'state/asked.js');
      await command({ do: 'take', fixture: 'no such one' });
    }""")
    page.wait_for_selector("#say[role=alert] p")


def test_night_has_no_green_and_no_blue(phone: PhoneOf) -> None:
    page = phone("Kit", role="lead", shade="night", device_scale_factor=1)
    for place in places(page):
        picture = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
        for colour in (1, 2):
            assert picture.getchannel(colour).getextrema() == (0, 0), place


def test_forced_colours_still_show_where_one_is(phone: PhoneOf) -> None:
    page = phone("Kit", forced_colors="active")
    style = "node => getComputedStyle(node).borderTopWidth"
    assert page.locator("#shelf [aria-current=page]").evaluate(style) == "3px"


def test_large_text_leaves_nothing_out_of_reach(phone: PhoneOf) -> None:
    page = phone("Kit")
    to_sheet(page, 21, "Beam")
    page.evaluate("() => { document.documentElement.style.fontSize = '200%' }")
    for selector in (".nudge.down", ".hand-row .main", "#shelf > :last-child"):
        node = page.locator(selector).last
        node.scroll_into_view_if_needed()
        box = node.bounding_box()
        assert box is not None
        assert box["x"] >= 0, selector
        assert box["x"] + box["width"] <= 390, selector
    assert not page.evaluate(TOO_WIDE)
