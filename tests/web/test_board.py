"""The board: what the lead sees on a tablet or a laptop."""

import io
import re
from importlib.resources import files
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Page

from tests.consoles import console, drive
from tests.servers import Server
from tests.web.phones import PhoneOf, held, to_screen, to_sheet
from tests.web.places import in_shade
from tests.web.test_list import BIG_RIG

LAPTOP: dict[str, Any] = {
    "viewport": {"width": 1280, "height": 800},
    "has_touch": False,
    "is_mobile": False,
}
TABLET: dict[str, Any] = {"viewport": {"width": 1024, "height": 768}}
AXE = "() => axe.run(document, { resultTypes: ['violations'] })"
# Whatever scrolls sideways hides what is in it; the aiming floor holds a mark as large as itself.
TOO_WIDE = """() => [...document.querySelectorAll('body, main, main *')]
  .filter((node) => node.checkVisibility() && node.clientWidth > 40)
  .filter((node) => node.scrollWidth > node.clientWidth + 1)
  .filter((node) => getComputedStyle(node).overflowX !== 'visible')
  .filter((node) => !node.matches('.floor, .round, .place, .line, .slate h1'))
  .map((node) => `${node.tagName}.${node.className} ${node.scrollWidth} in ${node.clientWidth}`)"""


def tag(channel: int) -> str:
    return f".hung[data-id='demo-{channel}']"


def to_board(page: Page) -> None:
    to_screen(page, "board")
    page.wait_for_selector(".hung")


def shows(page: Page, selector: str, words: str) -> None:
    """Wait until the first that fits has these words in it."""
    found = "([where, text]) => document.querySelector(where)?.textContent.includes(text)"
    page.wait_for_function(found, arg=[selector, words])


def hold(page: Page, selector: str) -> None:
    page.locator(selector).hover()
    with held(page):
        page.mouse.down()
    page.mouse.up()


def person(page: Page, name: str) -> str:
    """What the board says about one person."""
    return page.locator(".crew > li", has_text=name).first.inner_text()


def test_a_wide_screen_opens_on_the_board_and_a_narrow_one_is_not_offered_it(phone: PhoneOf) -> None:
    page = phone("Kit", role="lead", **LAPTOP)
    page.wait_for_selector("main[data-screen=board] .hung")
    assert page.locator("#shelf [aria-current=page]").inner_text() == "Board"
    page.set_viewport_size({"width": 880, "height": 800})
    page.wait_for_selector("main[data-screen=fixtures] .row")
    assert page.locator("#shelf >> text=Board").count() == 0
    page.evaluate("() => { location.hash = '#board/demo-21' }")
    page.wait_for_selector("main[data-screen=fixture] .tag >> text=21")


def test_tags_hang_on_the_line_of_their_position_in_unit_order(phone: PhoneOf) -> None:
    page = phone("Kit", role="lead", **LAPTOP)
    page.wait_for_selector(".hung")
    assert page.locator(".position > h2").all_inner_texts()[:3] == ["Bridge", "LX 1", "LX 2"]
    lines = page.locator(".position").first
    units = [int(text) for text in lines.locator(".chalk").all_inner_texts()]
    assert units == sorted(units)
    assert len(units) == 16
    boxes = [box for box in (one.bounding_box() for one in lines.locator(".hung").all()) if box]
    row = [box["x"] for box in boxes if box["y"] == boxes[0]["y"]]
    assert len(row) > 5
    assert row == sorted(row)


def test_a_level_and_a_colour_set_on_a_phone_are_seen_at_once(phone: PhoneOf, server: Server) -> None:
    page = phone("Kit", role="lead", **TABLET)
    page.wait_for_selector(".hung")
    mo = server.phone("crew", "Moira")
    red = {"ColorAdd_R": 1.0, "ColorAdd_G": 0.0, "ColorAdd_B": 0.0, "ColorAdd_W": 0.0}
    mo.ask("set", fixture="demo-26", values={**red, "Dimmer": 0.4})
    page.click(f"{tag(26)}")
    shows(page, f"{tag(26)} .level", "40")
    assert page.locator(tag(26)).get_attribute("data-drive") == "other"
    assert page.locator(f"{tag(26)} .who").inner_text().startswith("MO")
    moved = page.locator(f"{tag(26)} .fill").evaluate("node => node.style.transform")
    assert float(re.findall(r"[\d.]+", moved)[0]) == pytest.approx(60, abs=0.3)
    assert page.locator(f"{tag(26)} .word").inner_text() == "red"
    shows(page, ".panel .tag .who", "Moira has it")
    hold(page, '.panel fc-hold[label="Let go of Moira\'s 26"] button')
    page.wait_for_selector(f"{tag(26)} .who", state="hidden")
    mo.until(lambda: mo.rig["fixtures"]["demo-26"]["holder"] is None, "let go by the lead")


def test_people_with_place_signal_and_holds_and_the_lead_lets_go_for_who_left(
    phone: PhoneOf, server: Server
) -> None:
    page = phone("Kit", role="lead", **LAPTOP)
    page.wait_for_selector(".crew >> text=Kit (you)")
    mo = server.phone("crew", "Noah Quay")
    mo.ask("take", fixture="demo-55")
    mo.ask("take", fixture="demo-61")
    mo.ask("signal", rtt_ms=310)
    shows(page, ".crew", "has 55, 61")
    shows(page, ".crew", "310 ms")
    said = person(page, "Noah Quay")
    assert "crew" in said
    assert "at Boom right, channel 61" in said
    assert "310 ms, very slow" in said
    mo.close()
    shows(page, ".crew", "away since")
    hold(page, '.crew fc-hold[label="Let go of Noah Quay\'s 2"] button')
    page.wait_for_selector(".crew >> text=Noah Quay", state="detached")


def test_a_phone_reports_how_long_it_waits(phone: PhoneOf, server: Server) -> None:
    phone("Pip")
    lead = server.phone("lead")
    pip = next(who for who, known in lead.rig["people"].items() if known["name"] == "Pip")
    lead.until(lambda: isinstance(lead.rig["people"][pip]["rtt_ms"], int), "a round trip")
    assert 0 <= lead.rig["people"][pip]["rtt_ms"] < 15_000


def test_faults_and_hands_on_written_on_a_phone_hang_under_the_tag(phone: PhoneOf) -> None:
    board = phone("Kit", role="lead", **LAPTOP)
    board.wait_for_selector(".hung")
    mo = phone("Mo")
    to_sheet(mo, 32, "More")
    mo.tap(".unit .hands")
    mo.tap(".unit >> text=Does not move")
    shows(mo, ".tag .marks", "You have hands on it")
    assert "pan, tilt" in mo.locator(".unit .hands").inner_text()
    shows(board, tag(32), "Hands on: Mo")
    shows(board, tag(32), "Fault: Does not move")
    board.click(".counts >> text=Faults")
    assert board.evaluate("document.activeElement.dataset.id") == "demo-32"
    to_screen(mo, "fixtures")
    mo.fill("input[type=search]", "32")
    shows(mo, ".rows", "Fault: Does not move")
    to_sheet(mo, 32, "More")
    mo.tap(".unit .hands")
    mo.tap(".unit >> text=Works again")
    board.wait_for_selector(f"{tag(32)} .slip", state="hidden")
    mo.tap(".hand-row >> text=Undo")  # it did not, after all
    shows(board, tag(32), "Fault: Does not move")
    mo.fill(".unit input", "Colour drifts to green")
    mo.tap(".unit >> text=Write it down")
    shows(board, tag(32), "Fault: Colour drifts to green")
    mo.wait_for_timeout(400)  # a glove fires twice: within that time a second press is the same one
    mo.tap(".unit >> text=Works again")
    board.wait_for_selector(f"{tag(32)} .slip", state="hidden")


def test_keys_walk_find_open_and_close(phone: PhoneOf) -> None:
    page = phone("Kit", role="lead", **LAPTOP)
    page.wait_for_selector(".hung")
    at = "document.activeElement.dataset.id"
    page.keyboard.press("ArrowRight")
    first = page.evaluate(at)
    page.keyboard.press("ArrowRight")
    assert page.evaluate(at) != first
    page.keyboard.press("Home")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowUp")
    assert page.evaluate(at) == "demo-1"
    page.keyboard.type("42")
    assert page.evaluate(at) == "demo-42"
    page.keyboard.press("Enter")
    shows(page, ".panel .tag .channel", "42")
    assert page.evaluate("document.activeElement.className") == "panel"
    page.click(".panel .hand-row [aria-label^=Next]")
    shows(page, ".panel .tag .channel", "43")
    assert page.evaluate("location.hash") == "#board/demo-43"
    assert page.locator(tag(43)).get_attribute("aria-current") == "true"
    page.keyboard.press("Escape")
    assert not page.locator(".panel").is_visible()
    assert page.evaluate(at) == "demo-43"
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "beside"  # one stop for all tags
    page.keyboard.press("Shift+Tab")
    assert page.evaluate(at) == "demo-43"


@pytest.mark.parametrize("size", [LAPTOP, TABLET], ids=["laptop", "tablet"])
def test_every_shade_is_readable_and_nothing_is_cut_off(phone: PhoneOf, size: dict[str, Any]) -> None:
    page = phone("A rather long name to be shown", role="lead", **size)
    page.wait_for_selector(".hung")
    page.evaluate((files("axe_playwright_python") / "axe.min.js").read_text())
    page.wait_for_selector(".beside tbody tr")
    wrong: dict[str, Any] = {}
    for place in ("board", "board/demo-21"):
        if "/" in place:
            page.click(tag(21))
            page.wait_for_selector(".panel .pane > *")
        wrong[place] = page.evaluate(TOO_WIDE)
        for shade in ("dark", "day"):
            in_shade(page, shade)
            found = page.evaluate(AXE)["violations"]
            wrong[f"{place} {shade}"] = [f"{one['id']}: {one['nodes'][0]['html'][:120]}" for one in found]
        in_shade(page, "night")
        picture = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
        wrong[f"{place} night"] = [c for c in (1, 2) if picture.getchannel(c).getextrema() != (0, 0)]
    assert not {place: found for place, found in wrong.items() if found}


def test_two_thousand_fixtures_make_few_nodes_and_all_can_be_reached(phone: PhoneOf) -> None:
    page = phone("Kit", role="lead", **LAPTOP)
    page.wait_for_selector(".hung")
    page.evaluate(BIG_RIG)
    shows(page, ".slate .total", "2000 fixtures")
    assert page.locator(".hung").count() < 400
    page.locator(".lines").focus()
    page.keyboard.type("1999")
    page.wait_for_selector(".hung[data-id=x1999]:focus")
    page.wait_for_function("() => document.querySelectorAll('.hung').length < 400")


def test_who_else_sends_is_told_to_the_lead_and_beside_the_slots(phone: PhoneOf, server: Server) -> None:
    lead, crew = phone("Kit", role="lead", **LAPTOP), phone("Mo", "#slots/1/1", locale="de-DE")
    lead.wait_for_selector(".hung")
    assert not lead.locator("#heard").is_visible()
    with console(server.sacn_in) as desk:
        for universe in (1, 2):
            drive(desk, universe, (255,), priority=150)
        shows(lead, ".alerts", "Front desk also sends on universe 1, 2, with priority 150, above our 100")
        shows(lead, "[aria-labelledby=heard] li", "Front desk, priority 150")
        shows(lead, "[aria-labelledby=heard] li", "universe 1, 2")
        shows(lead, "[aria-labelledby=heard] li", "nodes follow it")
        assert lead.evaluate(TOO_WIDE) == []
        shows(crew, "main .hint", "Auch zu hören: Front desk, Priorität 150.")
        assert crew.locator("#status >> text=Front desk").count() == 0, "the lead settles it"
    lead.wait_for_function("() => !document.querySelector('.alerts').textContent.includes('Front desk')")
    crew.wait_for_selector("main .hint", state="hidden")
