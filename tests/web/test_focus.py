"""The focus call on two phones: the lead's, and the one at the ladder."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page

from tests.servers import Server
from tests.web.care import put_right, shows
from tests.web.phones import PhoneOf, Thumb, reads, to_screen, to_sheet
from tests.web.sheets import settle

ROWS = "() => [...document.querySelectorAll('.call-row .number')].map((one) => one.textContent)"
BOOM = ["51", "52", "53", "54", "55"]


@pytest.fixture(autouse=True)
def an_untouched_list(server: Server) -> Iterator[None]:
    """Boom left is on the list, nothing is done, nobody is at anything; and so it is afterwards."""
    begun(server)
    yield
    begun(server)
    put_right(server)


def begun(server: Server) -> None:
    lead = server.phone("lead", "Dora")
    for person in dict(lead.rig["now"]):
        lead.ask("focus_at", fixture=None, of=person)
    for fixture, it in lead.rig["fixtures"].items():
        if it["focus"]:
            lead.ask("focus_mark", fixture=fixture, mark="todo")
            lead.ask("focus_give", fixtures=[fixture], to=None)
    server.client().put("/api/order", json={"order": [f"demo-{channel}" for channel in BOOM]})
    lead.close()


def rows(page: Page, *channels: str) -> None:
    page.wait_for_function(f"(wanted) => ({ROWS})().join() === wanted", arg=",".join(channels))


def next_on(page: Page, then: str) -> None:
    """Press it, and wait until that channel is up. A glove's second touch, just after, is none."""
    page.wait_for_timeout(420)
    page.tap(".next")
    shows(page, ".now-card .channel", then)


def test_next_on_either_phone_moves_the_one_light_and_both_see_it(phone: PhoneOf, server: Server) -> None:
    lead, mo = phone("Ann", "#focus", role="lead"), phone("Mo", "#focus")
    rows(mo, *BOOM)
    shows(mo, ".card-place", "Nothing is up yet")
    next_on(mo, "51")
    shows(mo, ".now-card .who", "In your hand")
    shows(lead, ".turns", "Mo51")
    lead.tap(".turns >> text=Mo")
    shows(lead, ".now-card .who", "In Mo\u2019s hand")
    to_sheet(mo, 51, "Level")
    shows(mo, ".hand-row .step:last-child b", "52")
    next_on(lead, "52")
    shows(mo, ".tag .channel", "52")  # the sheet at the ladder goes with the light
    mo.wait_for_selector(".tag .who >> text=In your hand")
    mo.keyboard.press("PageDown")  # a one-button remote
    shows(lead, ".now-card .channel", "53")
    shows(mo, ".tag .channel", "53")
    mo.wait_for_timeout(420)
    mo.keyboard.press("PageUp")
    shows(lead, ".now-card .channel", "52")
    shows(lead, ".call-row[data-mark=done]", "51")
    shows(lead, ".tools .count", "2 of 5 done")
    ear = server.phone("crew", "Ear")
    assert [f for f, it in ear.rig["fixtures"].items() if it["holder"]] == ["demo-52"]
    ear.close()


def test_what_is_left_comes_round_and_the_last_light_stays(phone: PhoneOf) -> None:
    page = phone("Mo", "#focus")
    next_on(page, "51")
    page.wait_for_timeout(420)
    page.tap(".also >> text=Come back")
    shows(page, ".now-card .channel", "52")
    page.wait_for_timeout(420)
    page.tap(".also >> text=Skip")
    shows(page, ".now-card .channel", "53")
    for channel in ("54", "55", "52", "51"):
        next_on(page, channel)
    shows(page, ".next", "Done")
    page.wait_for_timeout(420)
    page.tap(".next")
    shows(page, ".tools .count", "5 of 5 done")
    assert page.locator(".next").is_disabled()
    shows(page, ".now-card .leaving", "50")
    page.tap(".also >> text=Let go")
    shows(page, ".card-place", "Nothing is up yet")


def test_the_lead_makes_the_list_moves_it_and_gives_it(phone: PhoneOf) -> None:
    lead, mo = phone("Ann", "#focus", role="lead"), phone("Mo", "#focus")
    rows(lead, *BOOM)
    lead.wait_for_selector(".turns >> text=Mo")  # what comes above the list moves it down
    # By its handle: the first row to behind the third.
    Thumb(lead).down(".call-row .handle").move(0, 3 * 72, 12).up()
    rows(lead, "52", "53", "51", "54", "55")
    rows(mo, "52", "53", "51", "54", "55")
    lead.locator(".call-row .open").nth(2).tap()
    lead.tap("dialog >> text=/^Up$/")
    for page in (lead, mo):
        rows(page, "52", "51", "53", "54", "55")
    lead.tap("dialog >> text=Put another before it")
    lead.keyboard.type("21")
    lead.keyboard.press("Enter")
    for page in (lead, mo):
        rows(page, "52", "21", "51", "53", "54", "55")
    lead.tap("dialog.call-unit >> text=All of Boom left")
    lead.tap("dialog.call-unit section[aria-label='Whose it is'] >> text=Mo")
    shows(mo, ".call-row .who", "for You")
    lead.tap("dialog.call-unit >> text=Take off the list")
    rows(mo, "52", "21", "53", "54", "55")
    lead.tap(".next")  # what is Mo's is not the lead's
    shows(lead, ".now-card .channel", "21")
    lead.tap(".tools >> text=List")
    lead.tap("dialog >> text=/Floor \\(/")
    lead.tap("dialog >> text=Ready")
    lead.wait_for_selector(".tools .count >> text=/of (?!5)/")
    to_screen(lead, "fixtures")
    lead.tap("text=Pick")
    lead.fill("input[type=search]", "LX 1")
    lead.tap(".row >> nth=0")
    lead.tap(".picks >> text=To the focus list")
    lead.wait_for_selector("main[data-screen=focus] .call-row")


def test_house_staff_have_no_part_in_it_and_another_hand_is_asked_first(
    phone: PhoneOf, server: Server
) -> None:
    house = phone("Hal", role="house")
    house.wait_for_selector("#shelf >> text=Looks")
    assert house.locator("#shelf >> text=Focus").count() == 0
    kit = server.phone("crew", "Kit")
    kit.ask("take", fixture="demo-51")
    page = phone("Mo", "#focus")
    page.wait_for_selector(".call-row")
    page.tap(".next")
    page.wait_for_selector("#say >> text=Kit has 51. Take it?")
    page.tap("#say .answers >> text=Take it")
    shows(page, ".now-card .channel", "51")
    kit.close()


def test_a_note_is_typed_once_and_read_where_the_work_is(phone: PhoneOf, server: Server) -> None:
    lead, mo = phone("Ann", "#focus", role="lead"), phone("Mo", "#focus")
    next_on(mo, "51")
    lead.tap(".turns >> text=Mo")
    lead.tap(".now-card >> text=Note")
    lead.fill("#note-spot", "centre line")
    lead.tap(".call-note .edge >> text=/^soft$/")
    lead.tap(".call-note >> text=Keep")
    shows(mo, ".card-place .note-lines", "centre line")
    to_sheet(mo, 51, "Level")
    shows(mo, ".sheet .note-lines", "soft")
    mo.tap(".rule >> text=Full")
    reads(mo, "100")
    settle(mo)
    next_on(lead, "52")
    lead.locator(".call-row .open").nth(0).tap()
    shows(lead, ".as-focused .count", "Done by Ann")
    shows(lead, ".as-focused .values", "Level 100")
    lead.tap("text=Bring it back as focused")
    ear = server.phone("crew", "Ear")
    ear.until(lambda: ear.rig["fixtures"]["demo-51"]["values"]["Dimmer"] == 1.0)
    ear.ask("focus_note", fixture="demo-51", note={"spot": "", "edge": ""})
    ear.close()
    lead.wait_for_selector("dialog .note-lines", state="hidden")


def test_a_look_shows_what_it_would_take_from_the_hand_before_it_does(phone: PhoneOf) -> None:
    page = phone("Ann", role="lead")
    to_sheet(page, 3, "Level")
    page.tap(".rule >> text=Half")
    page.wait_for_selector(".tag .who >> text=In your hand")
    to_screen(page, "looks")
    ours = page.locator(".look", has_text="Warm wash").first
    ours.locator("summary").tap()
    ours.locator("text=Take what I hold into it").tap()
    shows(page, ".look-update h2", "Warm wash: what it would take")
    shows(page, ".differs", "\u2192 50")
    page.tap(".look-update >> text=/Keep 1 value/")
    page.wait_for_selector(".look-update", state="detached")
    ours.locator("text=Take what I hold into it").tap()
    page.wait_for_selector("#say >> text=is in the look already")
