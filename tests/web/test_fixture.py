"""The sheet of a fixture, with real thumbs and more than one phone."""

import re

from playwright.sync_api import Page

from tests.servers import Server
from tests.web.phones import PhoneOf, Thumb, percent, reads, to_sheet
from tests.web.sheets import settle
from tests.web.wires import answered, drawn

SHOWN_PAN = """async () => {
  const base = document.querySelector('script[type=module]').src.replace('app.js', '');
  return (await import(base + 'state/asked.js')).shown('demo-24', 'Pan');
}"""


def height_of(page: Page, selector: str) -> float:
    box = page.locator(selector).first.bounding_box()
    assert box is not None
    return box["height"]


def test_a_tap_on_a_row_then_light_up_brings_it_up_in_your_hand(phone: PhoneOf) -> None:
    page = phone("Kit")
    page.tap(".row >> text=Area 3 warm")
    page.tap("text=Light up")
    page.wait_for_selector(".tag .who >> text=In your hand")
    page.wait_for_function("() => parseFloat(document.querySelector('.leaving').textContent) > 90")
    page.tap("text=Let go")
    page.wait_for_selector(".tag .who >> text=Nobody has it")


def test_a_thumb_on_a_phone_reaches_the_wire(phone: PhoneOf, server: Server) -> None:
    page = phone("Kit")
    to_sheet(page, 2)
    page.tap(".rule >> text=Half")
    it = next(one for one in server.client().get("/api/fixtures").json() if one["channel"] == 2)
    server.sacn.until_slot(it["universe"], it["address"], 128)  # floor(0.5 * 255 + 0.5)


def test_a_tap_or_a_slip_changes_nothing_and_a_drag_is_relative(phone: PhoneOf) -> None:
    page = phone("Kit")
    to_sheet(page, 12)
    thumb, before = Thumb(page), percent(page)
    thumb.down(".track", 0.2).up()
    thumb.down(".track", 0.8).move(0, -6, 2).up()
    assert drawn(page) == before
    height = height_of(page, ".track")
    thumb.down(".track", 0.9).move(0, -100, 20).up()
    assert abs(drawn(page) - before - 100 * 92 / height) <= 1.5  # 8 px of slop are thrown away


def test_sideways_makes_a_drag_fine(phone: PhoneOf) -> None:
    page = phone("Kit")
    to_sheet(page, 13)
    height = height_of(page, ".track")
    before = percent(page)
    thumb = Thumb(page).down(".track", 0.9).move(-70, 0, 10)
    near = drawn(page)
    thumb.move(0, -100, 20).up()
    assert abs(drawn(page) - near - 25 * 100 / height) <= 2  # 1:4 beyond 56 px
    assert near - before <= 1


def test_a_cancelled_drag_stays_where_it_was(phone: PhoneOf) -> None:
    page = phone("Kit")
    to_sheet(page, 14)
    before = percent(page)
    thumb = Thumb(page).down(".track", 0.9).move(0, -120, 20)
    page.wait_for_function("() => parseFloat(document.querySelector('fc-fader .number').textContent) > 20")
    thumb.cancel()
    assert abs(answered(page) - before - 100 * 112 / height_of(page, ".track")) <= 1.5


def test_two_phones_one_drags_and_the_other_sees_level_and_holder(phone: PhoneOf) -> None:
    kit, mo = phone("Kit"), phone("Mo")
    to_sheet(kit, 46, "Level")
    to_sheet(mo, 46, "Level")
    Thumb(kit).down(".track", 0.9).move(0, -150, 20).up()
    mo.wait_for_selector(".tag .who >> text=Kit has it")
    answered(kit)
    reached = kit.locator("fc-fader .number").inner_text()
    reads(mo, reached)
    assert mo.locator("fc-fader").get_attribute("data-drive") == "other"


def test_taking_somebody_elses_light_asks_first(phone: PhoneOf) -> None:
    kit, mo = phone("Kit"), phone("Mo")
    to_sheet(kit, 47, "Level")
    to_sheet(mo, 47, "Level")
    kit.tap("text=Light up")
    mo.wait_for_selector(".tag .who >> text=Kit has it")
    mo.tap(".nudge.down")
    mo.wait_for_selector("#say >> text=Kit has 47. Take it?")
    kit.wait_for_selector(".tag .who >> text=In your hand")
    mo.tap("#say button >> text=Leave it")
    mo.tap("text=Light up")
    mo.tap("#say button >> text=Take it")
    kit.wait_for_selector(".tag .who >> text=Mo has it")
    mo.wait_for_selector(".tag .who >> text=In your hand")


def test_a_drag_ends_when_somebody_takes_the_light(phone: PhoneOf) -> None:
    kit, mo = phone("Kit"), phone("Mo")
    to_sheet(kit, 48, "Level")
    to_sheet(mo, 48, "Level")
    thumb = Thumb(kit).down(".track", 0.9).move(0, -80, 10)
    mo.wait_for_selector(".tag .who >> text=Kit has it")
    mo.tap("text=Take")
    mo.tap("#say button >> text=Take it")
    kit.wait_for_selector(".tag .who >> text=Mo has it")
    answered(kit)
    held = kit.locator("fc-fader .number").inner_text()
    thumb.move(0, -80, 10).up()
    assert kit.locator("fc-fader .number").inner_text() == held
    assert kit.locator("#say").is_hidden()  # nothing more was asked for, so nothing was refused


def test_undo_brings_the_value_back(phone: PhoneOf) -> None:
    page = phone("Kit")
    to_sheet(page, 52, "Level")
    before = percent(page)
    page.tap(".rule >> text=Half")
    reads(page, "50")
    page.tap("text=Undo")
    reads(page, f"{before:.0f}")


def test_an_action_wants_a_long_press_and_says_what_it_will_do(phone: PhoneOf) -> None:
    page = phone("Kit")
    to_sheet(page, 22, "More")
    page.click(".picker >> text=Actions")
    button = "fc-hold[label='Recalibrate all (moves)'] button"
    assert "full travel" in page.locator(button).inner_text()
    thumb = Thumb(page)
    thumb.rest(button, 600)
    thumb.down(button).move(0, -200, 4)
    page.wait_for_timeout(1300)  # longer than the hold: sliding off must have given it up
    thumb.up()
    assert page.locator(".tag .who").inner_text() == "Nobody has it"
    thumb.down(button).move(0, -200, 4).up()
    page.tap("#shelf >> text=Level")  # a tap right after a flick off it is heard
    page.wait_for_selector("fc-fader")
    page.tap("#shelf >> text=More")
    page.tap(".picker >> text=Actions")
    thumb.hold(button)
    page.wait_for_selector("#say >> text=Recalibrate all (moves): asked of 22")


def test_strobe_wants_a_long_press_and_warns(phone: PhoneOf) -> None:
    page = phone("Kit")
    to_sheet(page, 23, "Beam")
    page.click(".picker >> text=Shutter")
    button = "fc-hold[label^=Strobe] button"
    assert "seizures" in page.locator(button).inner_text()
    Thumb(page).rest(button, 500)
    assert page.locator(".inner fc-fader").count() == 0
    Thumb(page).hold(button)
    page.wait_for_selector(".inner fc-fader .number >> text=Hz")
    page.tap(".chips >> text=Open")
    page.wait_for_selector(".chips button[aria-pressed=true] >> text=Open")


def test_aim_moves_by_drag_and_by_nudge_down_to_one_raw_step(phone: PhoneOf) -> None:
    page = phone("Kit")
    to_sheet(page, 24, "Aim")
    assert "It moves" in page.locator(".caution:visible").inner_text()
    Thumb(page).down(".floor").move(60, 0, 10).up()
    page.wait_for_function(
        "() => parseFloat(document.querySelector('.numbers button').textContent.slice(4)) > 50"
    )
    settle(page)
    page.click("text=Finest")
    page.wait_for_selector(".fineness [aria-pressed=true] >> text=Finest")
    value = (
        "async () => { const base = document.querySelector('script[type=module]').src.replace('app.js', '');"
    )
    value += "return (await import(base + 'state/asked.js')).shown('demo-24', 'Pan') }"
    before = page.evaluate(SHOWN_PAN)
    page.click("[aria-label='Pan right']")
    assert abs((page.evaluate(SHOWN_PAN) - before) * 65535 - 1) < 0.1


def test_guarded_controls_are_locked_and_say_why(phone: PhoneOf) -> None:
    page = phone("Kit")
    to_sheet(page, 75, "More")
    page.wait_for_selector(".track")
    assert "makes haze" in page.locator(".caution:visible").first.inner_text()
    before = percent(page)
    Thumb(page).down(".track", 0.9).move(0, -100, 10).up()
    assert drawn(page) == before
    assert page.locator("text=Light up").first.is_disabled()


def test_a_number_can_be_typed_in_percent_raw_and_degrees(phone: PhoneOf) -> None:
    page = phone("Kit")
    to_sheet(page, 31, "Aim")
    page.click(".numbers button >> nth=0")
    for key in ("\u2212", "4", "5"):
        page.click(f".key[data-key='{key}']")
    page.click(".ends >> text=Set")
    page.wait_for_selector(".numbers >> text=Pan \u221245.0°")
    page.click(".numbers button >> nth=0")
    page.click(".choice >> text=0-65535")
    page.click(".key[data-key='0']")
    page.click(".ends >> text=Set")
    page.wait_for_function("() => /Pan \u2212\\d{3}/.test(document.querySelector('.numbers').textContent)")


def test_one_cell_alone_and_all_cells_together(phone: PhoneOf) -> None:
    page = phone("Kit")
    to_sheet(page, 44, "Colour")
    page.tap(".chips >> text=Red")
    page.tap(".cells >> text=3")
    page.tap(".chips >> text=Blue")
    page.wait_for_selector(".colour-words >> text=blue")
    page.tap(".cells >> text=4")
    page.wait_for_selector(".colour-words >> text=red")


def test_keys_move_a_fader_and_the_screen_reader_hears_percent(phone: PhoneOf) -> None:
    page = phone("Kit")
    to_sheet(page, 53, "Level")
    bar = page.get_by_role("slider", name="Level")
    bar.focus()
    bar.press("Home")
    bar.press("PageUp")
    assert re.fullmatch(r"\d+ percent", bar.get_attribute("aria-valuetext") or "")
    page.wait_for_function("() => parseFloat(document.querySelector('fc-fader .number').textContent) > 0")
