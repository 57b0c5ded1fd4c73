"""Finding a fixture: stars, the ones seen last, both orders, and what a row says about it."""

from tests.servers import Server
from tests.web.phones import PhoneOf, let_go_of_all, to_screen, to_sheet
from tests.web.test_list import BIG_RIG

TOP = "document.querySelector('.scroll').scrollTop = 0"


def test_a_star_and_what_was_seen_last_stand_on_top_and_are_kept(phone: PhoneOf) -> None:
    page = phone("Fern")
    for channel in (43, 3, 82):
        to_sheet(page, channel)
    assert page.locator(".punch").get_attribute("aria-pressed") == "false"
    page.tap(".punch")
    page.wait_for_selector(".punch[aria-pressed=true]")
    page.reload()
    page.wait_for_selector("[data-link=live]")
    to_screen(page, "fixtures")
    page.evaluate(TOP)
    page.wait_for_selector(".head >> text=Bridge")
    heads = page.locator(".rows > .head").all_inner_texts()
    assert heads[:3] == ["Starred", "Seen last", "Bridge"]
    numbers = page.locator(".row .number").all_inner_texts()
    assert numbers[:3] == ["82", "3", "43"]  # the newest first
    page.fill("input[type=search]", "cloth")
    page.wait_for_selector(".count >> text=3 of")
    assert page.locator(".rows > .head").all_inner_texts() == ["LX 3"]
    page.fill("input[type=search]", "")
    page.wait_for_selector(".head >> text=Starred")


def test_the_list_stands_by_channel_when_asked_and_remembers_it(phone: PhoneOf) -> None:
    page = phone("Fern")
    page.tap("text=By position")
    page.wait_for_selector(".head >> text=By channel")
    page.reload()
    page.wait_for_selector(".head >> text=By channel")
    numbers = [int(text) for text in page.locator(".row .number").all_inner_texts()]
    assert numbers == sorted(numbers)
    page.evaluate("document.querySelector('.scroll').scrollTop = 1e6")
    page.wait_for_selector(".row .number >> text=95")
    page.tap(".tools >> text=Top")
    page.wait_for_selector(".row .number >> text=/^1$/")
    page.tap(".tools >> text=By channel")


def test_a_row_says_colour_fault_holder_and_level_without_relying_on_colour(
    phone: PhoneOf, server: Server
) -> None:
    let_go_of_all(server)
    mo = server.phone("crew", "Moss")
    green = {"ColorAdd_R": 0, "ColorAdd_G": 1, "ColorAdd_B": 0, "ColorAdd_W": 0, "Dimmer": 0.6}
    mo.ask("set", fixture="demo-63", values=green)
    mo.ask("fault", fixture="demo-63", words="Will not lock")
    page = phone("Fern")
    page.fill("input[type=search]", "boom right 3")
    row = page.locator(".row", has_text="63")
    row.get_by_text("Fault: Will not lock").wait_for()
    row.get_by_text("Moss").wait_for()
    page.wait_for_selector(".row >> text=60")
    page.wait_for_selector(".row .swatch[title=green]")
    assert "green" in (row.locator("a").text_content() or "")
    page.fill("input[type=search]", "will not lock")
    page.wait_for_selector(".count >> text=1 of")
    mo.ask("fault", fixture="demo-63", words=None)
    mo.ask("let_go", fixture="demo-63")


def test_at_night_the_colour_is_a_word(phone: PhoneOf) -> None:
    page = phone("Fern", shade="night")
    page.fill("input[type=search]", "boom right 1")
    page.wait_for_selector(".row .tint:not([hidden])")
    assert page.locator(".row .swatch").first.is_hidden()
    box = page.locator(".row .word").first.bounding_box()
    assert box is not None
    assert box["width"] > 10


def test_two_thousand_with_stars_stay_windowed_also_while_picking(phone: PhoneOf) -> None:
    page = phone("Fern")
    page.evaluate(BIG_RIG)
    page.wait_for_selector(r"text=/^20\d\d fixtures$/")  # the real rig may go on changing meanwhile
    page.evaluate("""async () => {
      const base = document.querySelector('script[type=module]').src.replace('app.js', '');
      const { star } = await import(base + 'state/prefs.js');
      star(Array.from({ length: 300 }, (_, n) => `x${n * 6 + 1}`), true);
    }""")
    page.wait_for_selector(".head >> text=Starred")
    assert page.locator(".rows > *").count() <= 40
    page.tap("text=Pick")
    page.tap(r".picks >> text=/^All 20\d\d$/")
    page.wait_for_selector(r".picks >> text=/^Drive 20\d\d together$/")
    page.locator(".scroll").evaluate("node => { node.scrollTop = 90000 }")
    page.wait_for_function("() => Number(document.querySelector('.row .number')?.textContent) > 500")
    assert page.locator(".rows > *").count() <= 40
    assert page.locator(".row a[aria-checked=false]").count() == 0


def test_the_number_pad_picks_while_picking(phone: PhoneOf) -> None:
    page = phone("Fern")
    page.tap("text=Pick")
    page.wait_for_selector(".picks .count")
    page.tap(".find >> text=Number")
    for key in "42":
        page.click(f".key >> text={key}")
    page.click(".ends >> text=Pick")
    page.wait_for_selector(".picks .count >> text=1 picked: 42")
