"""What the page shows of the link, and that it never shows a value that is not so."""

from tests.web.phones import PhoneOf, percent, reads, to_sheet

RECORD = """() => {
  const node = document.querySelector('fc-fader .number');
  const seen = globalThis.seen = [];
  new MutationObserver(() => seen.push(parseFloat(node.textContent)))
    .observe(node, { subtree: true, characterData: true, childList: true });
}"""


def test_a_rising_number_never_falls_back(phone: PhoneOf) -> None:
    page = phone("Kit")
    to_sheet(page, 54, "Level")
    page.tap(".rule >> text=0")
    page.wait_for_selector("fc-fader:not([data-asked])")
    page.evaluate(RECORD)
    for _ in range(8):
        page.tap(".nudge.up")
    reads(page, "40")
    page.wait_for_selector("fc-fader:not([data-asked])")
    seen = page.evaluate("globalThis.seen")
    assert seen == sorted(seen)


def test_a_lost_link_is_said_in_words_and_comes_back_by_itself(phone: PhoneOf) -> None:
    page = phone("Kit")
    page.wait_for_load_state("networkidle")
    page.context.set_offline(True)
    page.wait_for_selector("[data-link=waiting]")
    page.wait_for_selector("[data-link=none]")
    assert "Your light stays as it is" in page.locator("#status").inner_text()
    page.context.set_offline(False)
    page.wait_for_selector("[data-link=live]")


TOLD_A_NAME = """async () => {
  const { rig } = await import(document.querySelector('link[rel=modulepreload][href$="/state/rig.js"]').href);
  rig.laptop.value = { pages: ['http://10.0.0.5:8010/'], name: 'http://focuscall.local:8010/' };
}"""


def test_after_five_seconds_without_a_link_the_ways_back_are_said(phone: PhoneOf) -> None:
    page = phone("Kit")
    page.wait_for_load_state("networkidle")
    page.evaluate(TOLD_A_NAME)  # what a server on a network tells; this one is on loopback and has no name
    page.context.set_offline(True)
    page.wait_for_selector("[data-link=none]")
    status = page.locator("#status")
    assert "new address" not in status.inner_text()
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
    page.wait_for_load_state("networkidle")
    page.context.set_offline(True)
    page.wait_for_selector(
        "#status >> text=The laptop may have a new address: scan the code on the laptop again."
    )
    page.context.set_offline(False)
    page.wait_for_selector("[data-link=live]")


def test_the_rig_screen_says_where_other_phones_find_the_page(phone: PhoneOf) -> None:
    page = phone("Kit", "#rig")
    page.wait_for_load_state("networkidle")
    home = page.evaluate("location.origin")
    assert page.locator(".others").inner_text() == f"Other phones open {home}/"
    page.evaluate(TOLD_A_NAME)
    both = "Other phones open http://10.0.0.5:8010/ or http://focuscall.local:8010/"
    assert page.locator(".others").inner_text() == both


def test_what_did_not_arrive_is_told_and_only_sent_when_asked(phone: PhoneOf) -> None:
    page = phone("Kit")
    to_sheet(page, 61, "Level")
    before = percent(page)
    page.wait_for_load_state("networkidle")
    page.context.set_offline(True)
    page.wait_for_selector("[data-link=none]")
    page.tap(".rule >> text=Full")
    page.context.set_offline(False)
    page.wait_for_selector("#say >> text=1 change did not arrive: 61 level.")
    assert percent(page) == before
    page.tap("text=Send again")
    reads(page, "100")
    page.wait_for_selector("fc-fader:not([data-asked])")


def test_two_tabs_of_one_phone_are_one_person_with_one_hand(phone: PhoneOf) -> None:
    first = phone("Kit")
    second = first.context.new_page()
    second.goto(first.url)
    second.wait_for_selector("[data-link=live]")
    to_sheet(first, 62, "Level")
    to_sheet(second, 62, "Level")
    first.tap(".nudge.up")
    second.wait_for_selector(".tag .who >> text=In your hand")
    first.wait_for_selector("fc-fader:not([data-asked])")
    reached = first.locator("fc-fader .number").inner_text()
    second.bring_to_front()  # a browser draws only the tab in front
    reads(second, reached)
    second.tap(".nudge.up")
    second.wait_for_selector("fc-fader:not([data-asked])")
    reached = second.locator("fc-fader .number").inner_text()
    second.close()
    first.bring_to_front()
    reads(first, reached)
    first.tap(".nudge.up")  # a tab that is closed takes nothing along
    first.wait_for_selector("fc-fader:not([data-asked])")
    assert first.locator(".tag .who").inner_text() == "In your hand"
