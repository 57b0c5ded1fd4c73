"""Several fixtures driven together: picked in the list, moved by one thumb, and who says no."""

from importlib.resources import files
from typing import Any

import pytest
from playwright.sync_api import Page

from tests.servers import Server
from tests.web.phones import PhoneOf, Thumb, let_go_of_all, reads, to_sheet
from tests.web.sheets import settle
from tests.web.test_access import AXE, COVERED, TOO_SMALL, TOO_WIDE

SETUP = """async () => {
  const base = document.querySelector('script[type=module]').src.replace('app.js', '');
  globalThis.asked = await import(base + 'state/asked.js');
  globalThis.sent = [];
  const one = (channel, level) => ({
    channel, unit: '1', position: 'Bar', purpose: '', profile: 'p', mode: 'm',
    holder: null, level, values: { Dimmer: level } });
  asked.take({ is: 'hello', rev: 1, fixtures: { a: one(1, 0), b: one(2, 0) } });
  asked.connect((message) => sent.push(message));
}"""


@pytest.fixture(autouse=True)
def nobody_holds_anything(server: Server) -> None:
    """As other tests leave it, people who went away still have fixtures; the lead lets go for them."""
    let_go_of_all(server)


def several(page: Page, *channels: int) -> None:
    where = "#several/" + ",".join(f"demo-{channel}" for channel in channels)
    page.evaluate("where => { location.hash = where }", where)
    page.wait_for_selector(".bundle")
    page.wait_for_selector(".pane > *")


def level_slot(server: Server, channel: int) -> tuple[int, int]:
    """Universe and slot of a fixture's level, as the API's own patch and profile have them."""
    client = server.client()
    it = next(one for one in client.get("/api/fixtures").json() if one["channel"] == channel)
    modes = client.get(f"/api/profiles/{it['profile']}").json()["modes"]
    controls = next(mode["controls"] for mode in modes if mode["name"] == it["mode"])
    offset = next(one["offset"][0] for one in controls if one["key"] == "Dimmer")
    return it["universe"], it["address"] + offset - 1


def test_what_the_search_finds_is_picked_and_driven_to_the_wire(phone: PhoneOf, server: Server) -> None:
    page = phone("Ash")
    page.tap("text=Pick")
    page.fill("input[type=search]", "back light")
    page.tap("text=Found: 3")
    page.wait_for_selector(".picks .count >> text=3 picked: 35\u201337")
    page.fill("input[type=search]", "")
    page.tap("text=Drive 3 together")
    page.wait_for_selector(".bundle .channel >> text=3")
    page.tap(".rule >> text=Half")
    for channel in (35, 36, 37):
        server.sacn.until_slot(*level_slot(server, channel), 128)  # floor(0.5 * 255 + 0.5)
    page.wait_for_selector(".bundle .who >> text=In your hand")
    page.tap("text=Let go")
    page.wait_for_selector(".bundle .who >> text=Nobody has any")


def test_a_place_and_a_type_are_picked_whole_and_guarded_ones_are_not(phone: PhoneOf) -> None:
    page = phone("Ash")
    page.tap("text=Pick")
    page.fill("input[type=search]", "floor")
    page.wait_for_selector(".head >> text=Floor")
    guarded = 2  # the hazer and the relay
    rows = page.locator(".row").count()
    page.tap(f".head >> text=Pick all {rows - guarded}")
    page.wait_for_selector(f".picks .count >> text={rows - guarded} picked")
    page.tap("text=Put all back")
    page.tap("text=A type")
    page.tap(".types >> text=RGBA wash")
    page.wait_for_selector(".picks .count >> text=3 picked: 35\u201337")
    page.tap(f"text=Found: {rows - guarded}")
    page.wait_for_selector(".picks .count >> text=2 guarded ones left out.")
    page.fill("input[type=search]", "boom right 2")
    page.tap(".row >> nth=0")
    page.wait_for_selector("[aria-checked=true] >> text=62")
    page.tap(".row >> nth=0")
    page.wait_for_selector("[aria-checked=false] >> text=62")
    page.tap(".picks >> text=Stop")
    page.tap(".row >> nth=0")
    page.wait_for_selector(".tag >> text=Mid side")


def test_all_move_by_the_same_amount_and_who_stops_at_an_end_is_counted(phone: PhoneOf) -> None:
    page = phone("Ash")
    for channel, mark in ((5, "75"), (6, "25"), (7, "25")):
        to_sheet(page, channel, "Level")
        page.tap(f".rule >> text={mark}")
        page.wait_for_selector(".tag .who >> text=In your hand")
    several(page, 5, 6, 7)
    reads(page, "25\u201375")
    height = page.locator(".track").bounding_box()
    assert height is not None
    thumb = Thumb(page).down(".track", 0.9).move(0, -8 - 0.5 * height["height"], 25)
    page.wait_for_selector(".ends-line >> text=1 of 3 is at an end and stays there.")
    thumb.move(0, 0.5 * height["height"], 25).up()
    settle(page)
    low, high = page.locator("fc-fader .number").inner_text().rstrip("%\u202f ").split("\u2013")
    assert abs(float(low) - 25) <= 2  # the old distances, found again on the way back
    assert abs(float(high) - 75) <= 2
    page.tap("text=Same value")
    page.tap(".nudge.down")
    page.wait_for_function("() => !document.querySelector('fc-fader .number').textContent.includes('\u2013')")
    page.tap("text=Undo")
    page.wait_for_function("() => document.querySelector('fc-fader .number').textContent.includes('\u2013')")


def test_what_somebody_else_has_is_asked_for_once_and_in_words(phone: PhoneOf) -> None:
    ash, mo = phone("Ash"), phone("Moss")
    for channel in (31, 32):
        to_sheet(mo, channel, "Level")
        mo.tap("text=Take")
        mo.wait_for_selector(".tag .who >> text=In your hand")
    several(ash, 31, 32, 33, 34)
    ash.wait_for_selector(".bundle .who >> text=Moss has 2")
    ash.tap(".nudge.up")
    ash.wait_for_selector("#say >> text=Moss has 2 of them. Take them?")
    ash.tap("#say button >> text=Go on without them")
    ash.wait_for_selector("text=Left out: 31, 32.")
    ash.tap(".nudge.up")
    ash.wait_for_selector(".bundle .who >> text=In your hand")
    mo.wait_for_selector(".tag .who >> text=In your hand")
    ash.tap("#shelf >> text=Aim")
    ash.wait_for_selector("text=Shown: 33.")
    Thumb(ash).down(".floor").move(50, 0, 10).up()
    ash.wait_for_function(r"() => /Pan [1-9]\d/.test(document.querySelector('.numbers').textContent)")
    ash.tap("#shelf >> text=Level")
    several(ash, 31, 32, 33)
    ash.tap(".hand >> text=Take")
    ash.tap("#say button >> text=Take them")
    mo.wait_for_selector(".tag .who >> text=Ash has it")
    ash.wait_for_selector(".bundle .who >> text=In your hand")


def test_only_what_all_have_and_what_works_alike_is_offered(phone: PhoneOf) -> None:
    page = phone("Ash")
    several(page, 21, 41, 75, 3)
    assert page.locator("#shelf button").all_inner_texts() == ["Level"]
    page.wait_for_selector("text=Left out, guarded: 75.")
    several(page, 21, 41)
    page.tap("#shelf >> text=Beam")
    unlike = page.locator("text=Works differently among them, so one by one:").inner_text()
    names = page.locator(".picker button").all_inner_texts()
    assert "Template" in unlike
    assert "Shutter" in names  # works alike in both
    assert not {name for name in names if name in unlike.split(": ")[1].rstrip(".").split(", ")}


def test_house_staff_drive_the_house_s_own_and_read_what_is_left_out(phone: PhoneOf) -> None:
    page = phone("Vi", role="house")
    several(page, 14, 15, 5)
    page.wait_for_selector("text=Left out, no house fixture: 5.")
    page.tap(".rule >> text=25")
    page.wait_for_selector(".bundle .who >> text=In your hand")


def test_a_colour_is_the_same_for_all_that_have_its_emitters(phone: PhoneOf) -> None:
    page = phone("Ash")
    several(page, 26, 73, 45)  # one colour unit, one with more emitters, one of eight cells
    page.tap("#shelf >> text=Colour")
    page.tap(".chips >> text=Blue")
    for channel in (26, 73, 45):
        to_sheet(page, channel, "Colour")
        page.wait_for_selector(".colour-words >> text=blue")


def sent(page: Page) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = page.evaluate("() => sent")
    return found


def test_a_handful_keeps_the_discipline_of_one_newest_value_and_three_unanswered(phone: PhoneOf) -> None:
    page: Page = phone()
    page.evaluate(SETUP)
    page.evaluate("""async () => {
      for (let n = 1; n <= 20; n += 1) {
        asked.setMany('0', { a: { Dimmer: n / 100 }, b: { Dimmer: n / 50 } });
        await new Promise((go) => setTimeout(go, 20));
      }
    }""")
    assert [message["do"] for message in sent(page)] == ["set_many"] * 3
    page.evaluate("() => asked.take({ is: 'ok', n: sent[0].n, rev: 2 })")
    page.wait_for_function("() => sent.length === 4")
    assert sent(page)[-1]["values"] == {"a": {"Dimmer": 0.2}, "b": {"Dimmer": 0.4}}
    shown = "() => [asked.shown('b', 'Dimmer'), asked.isAsked('b', 'Dimmer')]"
    page.evaluate("() => asked.take({ is: 'ok', n: sent[3].n, rev: 5 })")
    page.evaluate("() => asked.take({ is: 'change', rev: 4, fixtures: { b: { values: { Dimmer: 0.1 } } } })")
    assert page.evaluate(shown) == [0.4, True]
    page.evaluate("() => asked.take({ is: 'change', rev: 5, fixtures: { b: { values: { Dimmer: 0.4 } } } })")
    assert page.evaluate(shown) == [0.4, False]


def test_letting_one_of_them_go_takes_it_out_of_what_waits(phone: PhoneOf) -> None:
    page: Page = phone()
    page.evaluate(SETUP)
    page.evaluate("""() => {
      asked.setMany('0', { a: { Dimmer: 0.5 }, b: { Dimmer: 0.5 } }, { now: true });
      asked.setMany('0', { a: { Dimmer: 0.9 }, b: { Dimmer: 0.9 } });
      asked.command({ do: 'let_go', fixture: 'a' });
    }""")
    page.wait_for_function("() => sent.length === 3")
    assert sent(page)[-1] | {"n": 0} == {"do": "set_many", "values": {"b": {"Dimmer": 0.9}}, "n": 0}


@pytest.mark.parametrize("size", [(390, 844), (320, 568), (844, 390)], ids=str)
def test_it_fits_and_reads_well(phone: PhoneOf, size: tuple[int, int]) -> None:
    page = phone("Ash", "#fixtures", viewport={"width": size[0], "height": size[1]})
    page.tap("text=Pick")
    page.tap(".head button >> nth=0")
    page.wait_for_selector(".picks .main:enabled")
    looks = (TOO_SMALL, TOO_WIDE, COVERED)
    wrong = [words for look in looks for words in page.evaluate(look)]
    page.evaluate((files("axe_playwright_python") / "axe.min.js").read_text())
    wrong += [one["id"] for one in page.evaluate(AXE)["violations"]]
    several(page, 21, 22, 41, 75)
    for group in ("Level", "Aim", "Colour", "Beam"):
        page.click(f"#shelf >> text={group}")
        page.wait_for_selector(f"#shelf [aria-current=page] >> text={group}")
        page.wait_for_selector(".pane > *")
        wrong += [f"{group}: {words}" for look in looks for words in page.evaluate(look)]
        wrong += [f"{group}: {one['id']}" for one in page.evaluate(AXE)["violations"]]
    assert not wrong
