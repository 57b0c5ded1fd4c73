"""Looks, slots, and the whole rig."""

from tests.servers import Server
from tests.web.phones import PhoneOf, Thumb, to_screen, to_sheet


def test_a_look_is_kept_and_recalled(phone: PhoneOf, server: Server) -> None:
    page = phone("Kit", "#looks", role="lead")
    page.click("text=Keep what is on stage")
    page.fill("#look-name", "Only bridge")
    page.fill("#channels", "1-4")
    page.click("dialog >> text=Keep >> nth=-1")
    page.wait_for_selector(".look >> text=Only bridge")
    assert "4 fixtures" in page.locator(".look", has_text="Only bridge").inner_text()
    page.tap("text=At once")
    page.tap(".recall >> text=Warm wash")
    to_sheet(page, 25, "Level")
    page.wait_for_function("() => parseFloat(document.querySelector('.leaving').textContent) > 0")
    to_screen(page, "looks")
    page.tap(".recall >> text=Baseline")
    ours = page.locator(".look", has_text="Only bridge")
    ours.locator("summary").tap()
    # What others do with the looks folds nothing up.
    lead = server.client("lead")
    lead.post("/api/looks", json={"name": "Theirs meanwhile", "fixtures": ["demo-1"]}).raise_for_status()
    theirs = page.locator(".look", has_text="Theirs meanwhile")
    theirs.wait_for()
    (look,) = (one["id"] for one in lead.get("/api/looks").json() if one["name"] == "Theirs meanwhile")
    lead.delete(f"/api/looks/{look}").raise_for_status()
    theirs.wait_for(state="detached")
    ours.locator("text=Make it the baseline").tap()
    page.wait_for_selector(".look[data-baseline] >> text=Only bridge")
    others = page.locator(".look:has(.recall b:text-is('Baseline'))")
    others.locator("summary").tap()
    others.locator("text=Make it the baseline").tap()
    page.wait_for_selector(".look[data-baseline] .recall b:text-is('Baseline')")  # ours is drawn anew by then
    ours.locator("fc-hold button").focus()
    page.keyboard.down(" ")
    page.wait_for_selector(".look >> text=Only bridge", state="detached")
    page.keyboard.up(" ")


def test_blackout_wants_a_long_press_and_is_said_everywhere(phone: PhoneOf) -> None:
    page = phone("Kit", "#rig", role="lead")
    assert "Work light stays" in page.locator("fc-hold[label=Blackout]").inner_text()
    Thumb(page).rest("fc-hold[label=Blackout] button", 500)
    assert page.locator("#status .state").is_hidden()
    Thumb(page).hold("fc-hold[label=Blackout] button")
    page.wait_for_selector("#status >> text=Blackout is on")
    page.locator("fc-hold[label='Light again'] button").focus()
    page.keyboard.press(" ")
    page.keyboard.down(" ")
    page.wait_for_selector("#status .state", state="hidden")
    page.keyboard.up(" ")


def test_master_is_said_when_it_is_down(phone: PhoneOf) -> None:
    page = phone("Kit", "#rig", role="lead")
    page.tap("fc-fader .nudge.down")
    page.wait_for_selector("#status >> text=Master 95")
    page.tap("fc-fader .nudge.up")
    page.wait_for_selector("#status .state", state="hidden")


def test_who_is_here_and_what_they_hold(phone: PhoneOf) -> None:
    kit, _mo = phone("Kit"), phone("Mopsa")
    to_sheet(kit, 62, "Level")
    kit.tap("text=Light up")
    to_screen(kit, "rig")
    kit.wait_for_selector(".people >> text=Mopsa")
    kit.wait_for_selector(".people >> text=has 62")


def test_a_slot_is_stepped_to_set_and_let_go(phone: PhoneOf) -> None:
    page = phone("Kit", "#slots/3/400")
    page.wait_for_selector("text=No fixture here")
    page.tap("text=Next")
    page.wait_for_selector(".slot-number >> text=401")
    page.tap("text=In 0-255")
    page.evaluate("() => { globalThis.neighbours = [...document.querySelectorAll('.near > *')] }")
    page.tap(".rule >> text=128")
    page.wait_for_selector(".near > [aria-current] >> text=128")
    assert page.evaluate("neighbours.every((one) => one.isConnected)")  # levels move under a thumb
    page.wait_for_selector("text=set by you")
    page.wait_for_selector(".number >> text=128")
    page.tap("text=Let go")
    page.wait_for_selector("text=nobody set it")
    page.wait_for_function("() => document.querySelector('fc-fader .number').textContent === '0'")


def test_a_slot_of_a_fixture_says_whose_it_is_and_leads_there(phone: PhoneOf) -> None:
    page = phone("Kit", "#rig")
    page.tap(".ways >> text=Slots")
    page.wait_for_selector("#shelf [aria-current=true] >> text=Rig")  # the way back
    page.evaluate("() => { location.hash = '#slots/1/1' }")
    page.wait_for_selector("text=Channel 1, Level")
    page.tap("text=Sheet of 1")
    page.wait_for_selector(".tag >> text=Area 1 warm")


def test_house_staff_are_told_what_they_may_not_do(phone: PhoneOf) -> None:
    page = phone("Vi", role="house")
    to_sheet(page, 41)
    page.tap("text=Light up")
    page.wait_for_selector("#say:not([hidden])")
    to_screen(page, "looks")
    assert page.locator("text=Keep what is on stage").count() == 0


def test_shade_turns_with_one_press_and_night_with_a_long_one(phone: PhoneOf) -> None:
    page = phone("Kit")
    page.tap("#shelf >> text=Shade")
    page.wait_for_selector("[data-theme=day]")
    thumb = Thumb(page).down("#shelf >> text=Shade")
    page.wait_for_selector("[data-theme=night]")
    thumb.up()
    page.reload()
    page.wait_for_selector("[data-theme=night]")
