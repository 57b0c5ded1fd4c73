"""Several phones at once: who drags, who has it, and that pages and wire say the same at the end."""

import json
import time
from typing import Any

import pytest
from playwright.sync_api import Page, WebSocket

from tests.servers import Server
from tests.web.phones import PhoneOf, Thumb, let_go_of_all, percent, reads, to_sheet
from tests.web.wires import Lit, answered, drawn

# Every text that a number shows from here on, in order.
RECORD = """() => {
  const node = document.querySelector('fc-fader .number');
  const seen = globalThis.seen = [parseFloat(node.textContent)];
  new MutationObserver(() => seen.push(parseFloat(node.textContent)))
    .observe(node, { subtree: true, characterData: true, childList: true });
}"""
LIGHT_UP = "() => document.querySelector('.hand-row .main').click()"
# A second press within 400 ms would be the same one.
RESTED = "() => performance.now() - (globalThis.pressed ?? -Infinity) > 400"
HAND = """() => {
  document.querySelector('.hand-row .hand').click();
  globalThis.pressed = performance.now();
}"""


def press_hand(page: Page) -> None:
    page.wait_for_function(RESTED)
    page.evaluate(HAND)


@pytest.fixture(autouse=True)
def nobody_holds_anything(server: Server) -> None:
    let_go_of_all(server)


def listened_to(page: Page) -> list[dict[str, Any]]:
    """Everything that a page sends from its next load on."""
    sent: list[dict[str, Any]] = []

    def hear(socket: WebSocket) -> None:
        socket.on("framesent", lambda text: sent.append(json.loads(text)))

    page.on("websocket", hear)
    page.reload()
    page.wait_for_selector("[data-link=live]")
    return sent


def height_of(page: Page) -> float:
    height: int = page.locator(".track").first.evaluate("node => node.clientHeight")
    return height


def test_who_is_taken_over_in_mid_drag_stops_at_once_and_sends_nothing_more(
    phone: PhoneOf, server: Server
) -> None:
    kit, mo = phone("Kit"), phone("Mo")
    sent = listened_to(kit)
    to_sheet(kit, 51, "Level")
    to_sheet(mo, 51, "Level")
    lit = Lit(server, 51)
    thumb = Thumb(kit).down(".track", 0.9).move(0, -100, 12)
    mo.wait_for_selector(".tag .who >> text=Kit has it")
    Thumb(mo).down(".track", 0.9).move(0, -60, 6).up()  # it asks, and moves nothing
    mo.wait_for_selector("#say >> text=Kit has 51. Take it?")
    before = answered(kit)
    reads(mo, f"{before:.0f}")
    lit.until(before)
    mo.tap("#say button >> text=Take it")
    kit.wait_for_selector(".tag .who >> text=Mo has it")
    sets = [one for one in sent if one["do"] == "set"]
    assert sets
    thumb.move(0, -100, 12)
    mo.tap(".rule >> text=25")
    reads(kit, "25")
    thumb.move(0, -60, 6).up()
    lit.until(25)
    assert [one for one in sent if one["do"] == "set"] == sets
    assert percent(kit) == answered(mo) == 25
    assert kit.locator("fc-fader").get_attribute("data-drive") == "other"


def test_two_drag_two_fixtures_at_once_and_each_ends_where_its_thumb_did(
    phone: PhoneOf, server: Server
) -> None:
    kit, mo = phone("Kit"), phone("Mo")
    pages = {52: kit, 53: mo}
    for channel, page in pages.items():
        to_sheet(page, channel, "Level")
        page.tap(".rule >> text=0")
        reads(page, "0")
        assert answered(page) == 0
    thumbs = [Thumb(page).down(".track", 0.9) for page in pages.values()]
    for _ in range(25):  # 8 px of slop are thrown away
        thumbs[0].move(0, -8, 1)
        thumbs[1].move(0, -5, 1)
    for thumb in thumbs:
        thumb.up()
    for (channel, page), way in zip(pages.items(), (200 - 8, 125 - 8), strict=True):
        reached = answered(page)
        assert reached == pytest.approx(100 * way / height_of(page), abs=1.5)
        Lit(server, channel).until(reached)
    levels = [page.locator("fc-fader .number").inner_text() for page in pages.values()]
    to_sheet(kit, 53, "Level")
    to_sheet(mo, 52, "Level")
    for page, level, name in zip((mo, kit), levels, ("Kit", "Mo"), strict=True):
        reads(page, level)
        page.wait_for_selector(f".tag .who >> text={name} has it")


def test_a_rising_drag_never_falls_back_on_its_own_page_nor_on_another(
    phone: PhoneOf, server: Server
) -> None:
    kit, mo = phone("Kit"), phone("Mo")
    others = server.phone("crew", "Sam")  # what others do makes changes arrive all the time
    for page in (kit, mo):
        to_sheet(page, 54, "Level")
    kit.tap(".rule >> text=0")
    reads(mo, "0")
    assert answered(kit) == 0
    for page in (kit, mo):
        page.evaluate(RECORD)
    thumb = Thumb(kit).down(".track", 0.95)
    for step in range(60):
        thumb.move(0, -4, 1)
        others.send("set", fixture="demo-61", values={"Dimmer": step / 100})
        if step % 10 == 9:  # and the other page keeps up, whatever stalls
            drawn(kit)
            reads(mo, kit.locator("fc-fader .number").inner_text())
    thumb.up()
    reached = answered(kit)
    reads(mo, kit.locator("fc-fader .number").inner_text())
    own, watched = kit.evaluate("seen"), mo.evaluate("seen")
    assert len(own) > 20
    assert len(watched) > 5
    assert own == sorted(own)
    assert watched == sorted(watched)
    assert own[-1] == watched[-1] == reached
    Lit(server, 54).until(reached)
    others.close()


def test_light_up_and_let_go_from_two_phones_at_once(phone: PhoneOf, server: Server) -> None:
    pages = {"Kit": phone("Kit"), "Mo": phone("Mo")}
    lit, lead = Lit(server, 55), server.phone("lead")
    for page in pages.values():
        to_sheet(page, 55, "Level")

    def holder() -> str | None:
        one = lead.rig["fixtures"]["demo-55"]["holder"]
        name: str | None = lead.rig["people"][one]["name"] if one else None
        return name

    for turn in range(3):
        order = list(pages) if turn % 2 else list(reversed(pages))
        for name in order:
            pages[name].evaluate(LIGHT_UP)
        for page in pages.values():
            page.wait_for_selector(".tag .who:not(:text-is('Nobody has it'))")
        lead.until(holder, "somebody has it")
        has = holder() or ""
        (other,) = set(pages) - {has}
        pages[has].wait_for_selector(".tag .who >> text=In your hand")
        pages[other].wait_for_selector(f".tag .who >> text={has} has it")
        pages[other].wait_for_selector(f"#say >> text={has}")  # it was refused, and says who has it
        lit.until(100)
        press_hand(pages[has])  # lets go, while the other one takes
        pages[other].tap("#say button >> text=Take it")
        pages[other].wait_for_selector(".tag .who >> text=In your hand")
        pages[has].wait_for_selector(f".tag .who >> text={other} has it")
        lead.until(lambda: holder() == other, f"{other} has it")  # noqa: B023
        press_hand(pages[other])
        for page in pages.values():
            page.wait_for_selector(".tag .who >> text=Nobody has it")
        lead.until(lambda: holder() is None, "nobody has it")
    lead.close()


def test_a_tab_that_is_closed_in_mid_drag_leaves_light_and_hand_to_the_other(
    phone: PhoneOf, server: Server
) -> None:
    first = phone("Kit")
    second = first.context.new_page()
    second.goto(first.url)
    second.wait_for_selector("[data-link=live]")
    second.bring_to_front()  # a browser draws only the tab in front
    to_sheet(second, 49, "Level")
    Thumb(second).down(".track", 0.9).move(0, -120, 12)
    reached = answered(second)
    assert reached > 10
    second.close()
    first.bring_to_front()
    to_sheet(first, 49, "Level")
    first.wait_for_selector(".tag .who >> text=In your hand")
    reads(first, f"{reached:.0f}")
    Lit(server, 49).until(reached)
    closed = time.monotonic()
    first.tap(".nudge.up")
    Lit(server, 49).until(answered(first))
    assert min(Lit(server, 49).since(closed)) >= reached - 0.6
