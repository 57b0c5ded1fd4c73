"""What the page shows of the link, and that it never shows a value that is not so."""

import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.servers import Server, serving
from tests.web.conftest import NAME, phones
from tests.web.phones import PhoneOf, Thumb, percent, reads, to_sheet, whole
from tests.web.wires import Line, Lit, answered, drawn, line_to

RECORD = """() => {
  const node = document.querySelector('fc-fader .number');
  const seen = globalThis.seen = [];
  new MutationObserver(() => seen.push(parseFloat(node.textContent)))
    .observe(node, { subtree: true, characterData: true, childList: true });
}"""
# When the page said what about its link, in milliseconds since 1970; what it said first when there was none;
# and how late its timers were at the worst, no fault of its own.
WATCH = """() => {
  const root = document.documentElement;
  const said = globalThis.said = { none: 0, waiting: 0, live: 0, late: 0, first: '' };
  let before = performance.now();
  setInterval(() => {
    said.late = Math.max(said.late, performance.now() - before - 50);
    before = performance.now();
  }, 50);
  new MutationObserver(() => {
    const link = root.dataset.link;
    said[link] ||= performance.timeOrigin + performance.now();
    if (link === 'none') said.first ||= document.getElementById('status').textContent;
  }).observe(root, { attributeFilter: ['data-link'] });
}"""


def test_a_rising_number_never_falls_back(phone: PhoneOf) -> None:
    page = phone("Kit")
    to_sheet(page, 54, "Level")
    page.tap(".rule >> text=0")
    answered(page)
    page.evaluate(RECORD)
    for _ in range(8):
        page.tap(".nudge.up")
    reads(page, "40")
    answered(page)
    seen = page.evaluate("globalThis.seen")
    assert seen == sorted(seen)


def test_a_lost_link_is_said_in_words_and_comes_back_by_itself(phone: PhoneOf) -> None:
    page = phone("Kit")
    whole(page)
    page.evaluate(WATCH)
    page.context.set_offline(True)
    page.wait_for_function("() => said.none")
    said = page.evaluate("said")
    assert said["waiting"] or said["late"] > 200  # a page that stalls then may pass it over
    assert "Your light stays as it is" in page.locator("#status").inner_text()
    page.context.set_offline(False)
    page.wait_for_selector("[data-link=live]")


TOLD_A_NAME = """async () => {
  const base = document.querySelector('script[type=module]').src.replace('app.js', '');
  const { rig } = await import(base + 'state/rig.js');
  rig.laptop.value = { pages: ['http://10.0.0.5:8010/'], name: 'http://focuscall.local:8010/' };
}"""


def test_after_five_seconds_without_a_link_the_ways_back_are_said(phone: PhoneOf) -> None:
    page = phone("Kit")
    whole(page)
    page.evaluate(TOLD_A_NAME)  # what a server on a network tells; this one is on loopback and has no name
    page.evaluate(WATCH)
    page.context.set_offline(True)
    page.wait_for_function("() => said.none")
    status = page.locator("#status")
    assert "new address" not in page.evaluate("said.first")
    page.evaluate(TOLD_A_NAME)  # again: a link that came back in between has told of none
    page.wait_for_selector("#status >> text=open http://focuscall.local:8010/ or scan the code")
    assert "Your light stays as it is" in status.inner_text()
    box = status.bounding_box()
    assert box is not None
    assert box["width"] <= 390
    assert status.evaluate("node => node.scrollWidth <= node.clientWidth"), "all of it can be read"
    page.context.set_offline(False)
    page.wait_for_selector("[data-link=live]")
    assert "new address" not in status.inner_text()


def test_without_a_name_the_code_is_the_way_back(phone: PhoneOf) -> None:
    page = phone("Kit")
    whole(page)
    page.context.set_offline(True)
    page.wait_for_selector(
        "#status >> text=The laptop may have a new address: scan the code on the laptop again."
    )
    page.context.set_offline(False)
    page.wait_for_selector("[data-link=live]")


def test_the_rig_screen_says_where_other_phones_find_the_page(phone: PhoneOf) -> None:
    page = phone("Kit", "#rig")
    whole(page)
    home = page.evaluate("location.origin")
    assert page.locator(".others").inner_text() == f"Other phones open {home}/"
    page.evaluate(TOLD_A_NAME)
    both = "Other phones open http://10.0.0.5:8010/ or http://focuscall.local:8010/"
    page.wait_for_selector(f".others:text-is('{both}')")


def test_what_did_not_arrive_is_told_and_only_sent_when_asked(phone: PhoneOf) -> None:
    page = phone("Kit")
    to_sheet(page, 61, "Level")
    before = percent(page)
    whole(page)
    page.context.set_offline(True)
    page.wait_for_selector("[data-link=none]")
    page.tap(".rule >> text=Full")
    page.context.set_offline(False)
    page.wait_for_selector("#say >> text=1 change did not arrive: 61 level.")
    reads(page, f"{before:.0f}\u202f%")
    page.tap("text=Send again")
    reads(page, "100")
    answered(page)


def test_two_tabs_of_one_phone_are_one_person_with_one_hand(phone: PhoneOf) -> None:
    first = phone("Kit")
    second = first.context.new_page()
    second.goto(first.url)
    second.wait_for_selector("[data-link=live]")
    to_sheet(first, 62, "Level")
    to_sheet(second, 62, "Level")
    first.bring_to_front()  # a browser draws only the tab in front
    first.tap(".nudge.up")
    answered(first)
    reached = first.locator("fc-fader .number").inner_text()
    second.bring_to_front()
    second.wait_for_selector(".tag .who >> text=In your hand")
    reads(second, reached)
    second.tap(".nudge.up")
    answered(second)
    reached = second.locator("fc-fader .number").inner_text()
    second.close()
    first.bring_to_front()
    reads(first, reached)
    first.tap(".nudge.up")  # a tab that is closed takes nothing along
    answered(first)
    assert first.locator(".tag .who").inner_text() == "In your hand"


IN_TIME_MS = 2000


@pytest.fixture
def line(server: Server) -> Iterator[Line]:
    with line_to(server) as line:
        yield line


@pytest.fixture
def far(chromium: Browser, server: Server, line: Line) -> Iterator[PhoneOf]:
    """Phones whose link goes through a line that can be cut."""
    with phones(chromium, server, line.port) as one:
        yield one


def count_from_now(page: Page) -> None:
    """What happens to its link follows."""
    page.evaluate("() => Object.assign(said, { none: 0, waiting: 0, live: 0 })")


def assert_said_in_time(page: Page, happened: float) -> None:
    """happened: when it had, in seconds since 1970."""
    said = page.evaluate("said")
    first = min(said[link] for link in ("waiting", "none") if said[link])
    assert first <= happened * 1000 + IN_TIME_MS + said["late"], said


def test_a_reset_in_mid_drag_comes_back_and_the_thumb_goes_on(
    far: PhoneOf, server: Server, line: Line
) -> None:
    page = far("Kit")
    to_sheet(page, 1, "Level")
    page.tap(".rule >> text=0")
    answered(page)
    page.evaluate(WATCH)
    thumb = Thumb(page).down(".track", 0.9).move(0, -80, 10)
    line.reset()
    page.wait_for_function("() => said.none && document.documentElement.dataset.link === 'live'")
    thumb.move(0, -80, 10).up()
    answered(page)
    height = page.locator(".track").evaluate("node => node.clientHeight")
    assert percent(page) == pytest.approx(100 * 152 / height, abs=1.5)  # 8 px of slop are thrown away
    Lit(server, 1).until(percent(page))
    assert page.locator(".tag .who").inner_text() == "In your hand"


def test_what_a_thumb_asked_while_cut_off_is_listed_and_never_sent_by_itself(
    far: PhoneOf, phone: PhoneOf, server: Server, line: Line
) -> None:
    page, mo = far("Kit"), phone("Mo")
    for one in (page, mo):
        to_sheet(one, 2, "Level")
    lit = Lit(server, 2)
    page.tap(".rule >> text=25")
    answered(page)
    lit.until(25)
    page.evaluate(WATCH)
    thumb = Thumb(page).down(".track", 0.9).move(0, -60, 8)
    reached = answered(page)
    lit.until(reached)
    count_from_now(page)
    line.cut()
    cut, happened = time.monotonic(), time.time()
    page.wait_for_function("() => said.none")
    assert_said_in_time(page, happened)
    thumb.move(0, -100, 12).up()
    wanted = drawn(page)
    assert wanted > reached + 5
    line.mend()
    page.wait_for_selector("[data-link=live]")
    page.wait_for_selector("#say >> text=1 change did not arrive: 2 level.")
    reads(page, f"{reached:.0f}\u202f%")
    reads(mo, f"{reached:.0f}")
    assert set(map(round, lit.since(cut))) <= {round(lit.now())}
    assert lit.now() == pytest.approx(reached, abs=0.6)
    page.tap("text=Send again")
    reads(page, f"{wanted:.0f}")
    answered(page)
    lit.until(wanted)


def test_a_black_hole_is_noticed_and_what_fell_into_it_is_listed(
    far: PhoneOf, server: Server, line: Line
) -> None:
    kit, mo = far("Kit"), far("Mo")
    for channel, page in ((3, kit), (4, mo)):
        to_sheet(page, channel, "Level")
        page.tap(".rule >> text=25")
        answered(page)
        Lit(server, channel).until(25)
        page.evaluate(WATCH)
    for page in (kit, mo):
        count_from_now(page)
    line.freeze()
    frozen, happened = time.monotonic(), time.time()
    kit.tap(".rule >> text=Full")  # nothing tells the page yet that this will not arrive
    kit.wait_for_selector("fc-fader[data-asked]")
    for page in (kit, mo):
        page.wait_for_function("() => said.none")
        assert_said_in_time(page, happened)
        assert "Your light stays as it is" in page.locator("#status").inner_text()
    line.mend()
    for page in (kit, mo):
        page.wait_for_selector("[data-link=live]")
        reads(page, "25")
    kit.wait_for_selector("#say >> text=1 change did not arrive: 3 level.")
    assert mo.locator("#say").is_hidden()
    for channel in (3, 4):
        assert set(map(round, Lit(server, channel).since(frozen))) <= {25}
    assert kit.locator(".tag .who").inner_text() == "In your hand"


def test_a_server_that_is_killed_and_started_again_while_two_phones_watch(
    chromium: Browser, tmp_path: Path
) -> None:
    with serving(tmp_path / "data", name=NAME) as server, phones(chromium, server) as phone:
        pages = {1: phone("Kit"), 2: phone("Mo")}
        for channel, page in pages.items():
            to_sheet(page, channel, "Level")
            page.tap(".rule >> text=Half")
            answered(page)
            Lit(server, channel).until(50)
            page.evaluate(WATCH)
        lits = [Lit(server, channel) for channel in pages]
        server.hang_up()
        for page in pages.values():
            count_from_now(page)
        killed = time.monotonic()
        server.kill()
        happened = time.time()
        for page in pages.values():
            page.wait_for_function("() => said.none")
            assert_said_in_time(page, happened)
        pages[1].tap(".rule >> text=Full")
        server.start()
        for page in pages.values():
            page.wait_for_selector("[data-link=live]")
            page.wait_for_selector(".tag .who >> text=In your hand")
            reads(page, "50")
        pages[1].wait_for_selector("#say >> text=1 change did not arrive: 1 level.")
        assert pages[2].locator("#say").is_hidden()
        pages[1].tap("#say button >> text=Leave it")
        server.sacn.until(lambda: len(lits[0].since(killed)) > 3, "the light goes on")
        for lit in lits:
            assert set(map(round, lit.since(killed))) == {50}
        for channel, page in pages.items():
            page.tap(".nudge.up")
            Lit(server, channel).until(55)
