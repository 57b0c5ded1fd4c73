"""Every screen, for every eye and thumb: axe, sizes, what fits, and no blue or green at night."""

import io
from contextlib import suppress
from importlib.resources import files

import pytest
from PIL import Image
from playwright.sync_api import TimeoutError as PlaywrightTimeout

from tests.web.phones import PhoneOf, to_sheet
from tests.web.places import places

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
AXE = "() => axe.run(document, { resultTypes: ['violations'] })"


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


@pytest.mark.parametrize("shade", ["dark", "day"])
def test_axe_finds_nothing(phone: PhoneOf, shade: str) -> None:
    page = phone("Kit", role="lead", shade=shade)
    page.evaluate((files("axe_playwright_python") / "axe.min.js").read_text())
    wrong = {}
    for place in places(page):
        found = page.evaluate(AXE)["violations"]
        if found:
            wrong[place] = [f"{one['id']}: {one['nodes'][0]['html'][:120]}" for one in found]
    assert not wrong


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
