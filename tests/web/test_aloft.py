"""People aloft, motion beside them, and the dark that waits for them: on real phones."""

import re
import time
from collections.abc import Iterator

import pytest
from playwright.sync_api import Page

from tests.servers import SLOTS_AT, Server, serving
from tests.web.care import COUNT_TONES, go_up, hold, put_right, sent, shows, slot_of
from tests.web.conftest import NAME
from tests.web.phones import PhoneOf, Thumb, to_screen, to_sheet
from tests.web.sheets import settle

HELD_S = 1.2  # how long a button is held before it understands
# What the seconds of a dark that is called read, from the first.
COUNT = """() => {
  const seconds = document.querySelector('#dark .seconds');
  globalThis.counted = [];
  const all = { characterData: true, childList: true, subtree: true };
  new MutationObserver(() => counted.push(seconds.textContent)).observe(seconds, all);
}"""
SHOWN = """async ([id, key]) => {
  const base = document.querySelector('script[type=module]').src.replace('app.js', '');
  return (await import(base + 'state/asked.js')).shown(id, key);
}"""


def rests(page: Page, server: Server, channel: int, key: str) -> int:
    """Wait until a control of 16 bits is sent where this page has brought it; its coarse slot."""
    settle(page)
    coarse = int(page.evaluate(SHOWN, [f"demo-{channel}", key]) * 65535 + 0.5) >> 8
    where = slot_of(server, channel, key)
    server.sacn.until(lambda: sent(server, where) == coarse, f"{key} of {channel} at {coarse}")
    return coarse


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """One of its own: somebody aloft would stand in the way of other tests."""
    with serving(tmp_path_factory.mktemp("care") / "data", name=NAME) as running:
        yield running


@pytest.fixture(autouse=True)
def afterwards(server: Server) -> Iterator[None]:
    yield
    put_right(server)


def test_one_tap_goes_up_and_everybody_sees_it(phone: PhoneOf) -> None:
    kit, mo = phone("Kit"), phone("Mo")
    to_sheet(kit, 21, "More")
    assert "I am going up at LX 1" in kit.locator(".going-up").inner_text()
    kit.tap(".going-up .here")
    shows(kit, "#care", "You are aloft at LX 1.")
    shows(kit, ".tag .marks", "You are aloft here. It moves only when held, and slowly.")
    for place in ("fixtures", "looks", "slots", "rig"):
        to_screen(kit, place)
        assert kit.locator("#care .up").is_visible(), place
    to_screen(mo, "fixtures")
    mo.fill("input[type=search]", "spe")  # specials, and high speed nowhere: one position
    shows(mo, ".rows .head", "Kit is aloft")
    mo.fill("input[type=search]", "light")  # on several positions
    heads = mo.locator(".head:has(.aloft-mark:visible) h2").all_inner_texts()
    assert heads == ["LX 1"]
    assert mo.locator(".head").count() > 1
    to_sheet(mo, 25)  # it hangs there, and nothing of it moves
    shows(mo, ".tag .marks", "Kit is aloft here.")
    assert "moves" not in mo.locator(".tag .marks").inner_text()
    to_screen(mo, "rig")
    shows(mo, ".people", "aloft at LX 1")
    kit.tap("#care >> text=I am down")
    kit.wait_for_selector("#care", state="hidden")
    mo.wait_for_selector(".people .aloft-mark:visible", state="detached")


def test_anywhere_else_is_offered_or_written(phone: PhoneOf) -> None:
    kit = phone("Kit", "#rig")
    kit.tap(".going-up .here")
    assert kit.locator("dialog .choice button").all_inner_texts()[:2] == ["Bridge", "LX 1"]
    kit.tap("dialog >> text=Boom left")
    shows(kit, "#care", "You are aloft at Boom left.")
    to_sheet(kit, 46, "Level")
    kit.tap("text=Light up")
    kit.wait_for_selector(".tag .who >> text=In your hand")
    to_screen(kit, "rig")
    shows(kit, ".going-up", "I am going up at LX 3")  # what is in hand comes first
    kit.tap(".going-up >> text=Somewhere else")
    assert kit.locator("dialog .choice button").first.inner_text() == "LX 3"
    kit.fill("dialog input", "  the  fly loft ")
    kit.tap("dialog .main")
    shows(kit, "#care", "You are aloft at the fly loft.")


def test_the_lead_says_for_somebody_that_they_are_down_by_a_held_button(phone: PhoneOf) -> None:
    kit, lee, mo = phone("Kit"), phone("Lee", "#rig", role="lead"), phone("Mo", "#rig")
    go_up(kit, 21)
    shows(mo, ".people", "aloft at LX 1")
    assert mo.locator(".people fc-hold:visible").count() == 0
    button = "fc-hold[label='Kit is down'] button"
    lee.wait_for_selector(button)
    assert "asked Kit by voice" in lee.locator(button).inner_text()
    Thumb(lee).rest(button, 500)
    assert kit.locator("#care").is_visible()
    hold(lee, button)
    kit.wait_for_selector("#care", state="hidden")


def test_a_drag_beside_somebody_aloft_moves_nothing_until_it_is_held(phone: PhoneOf, server: Server) -> None:
    kit, mo = phone("Kit"), phone("Mo")
    pan = slot_of(server, 22, "Pan")
    go_up(kit, 21)
    to_sheet(mo, 22, "Aim")
    shows(mo, ".tag .marks", "Kit is aloft here")
    before = sent(server, pan)
    Thumb(mo).down(".floor").move(70, 0, 10).up()
    shows(mo, "#say", "22 will move. Aloft there: Kit.")
    assert sent(server, pan) == before
    assert mo.locator(".tag .who").inner_text() == "Nobody has it"
    pressed = time.monotonic()
    thumb = Thumb(mo).down("#say fc-hold button")
    mo.wait_for_selector(".tag .who >> text=In your hand")
    thumb.up()
    server.sacn.until(lambda: sent(server, pan) > before + 20, "it moves")
    mo.wait_for_timeout(500)  # of the three seconds that the first move takes
    heard = [(at, one[SLOTS_AT + pan[1] - 1]) for at, one in server.sacn.sacn(pan[0], pressed)]
    # 70 px are some 70 of 255. What a busy machine brings late is further behind, never ahead.
    assert all(raw - before <= 4 + 30 * max(0, at - pressed - HELD_S) for at, raw in heard)
    mo.wait_for_selector("#say", state="hidden")
    assert mo.locator("dialog").count() == 0  # the thumb that held met nothing below
    shows(mo, ".tag .marks", "It can move")
    Thumb(mo).down(".floor").move(-30, 0, 6).up()
    settle(mo)
    assert mo.locator("#say").is_hidden()


def test_light_comes_up_as_it_hangs_and_with_motion_only_when_held(phone: PhoneOf, server: Server) -> None:
    kit, mo = phone("Kit"), phone("Mo")
    level, tilt = slot_of(server, 23, "Dimmer"), slot_of(server, 23, "Tilt")
    to_sheet(mo, 23, "Aim")
    mo.locator("[aria-label='Tilt up']").click(click_count=3)
    hangs = rests(mo, server, 23, "Tilt")
    assert hangs > 140, "off its middle"
    go_up(kit, 21)
    mo.wait_for_selector("fc-hold[label='Bring it up, centred']")
    mo.tap(".hand-row .main")
    server.sacn.until(lambda: sent(server, level) == 128, "half, in front of somebody")
    assert sent(server, tilt) == hangs
    hold(mo, "fc-hold[label='Bring it up, centred'] button")
    server.sacn.until(lambda: sent(server, tilt) == 128, "centred")


def test_what_somebody_aloft_holds_still_is_let_move_again_by_a_held_button(
    phone: PhoneOf, server: Server
) -> None:
    kit, mo = phone("Kit"), phone("Mo")
    tilt = slot_of(server, 23, "Tilt")
    to_sheet(mo, 23, "Aim")
    free = "fc-hold[label='Let it move again'] button"
    assert mo.locator(free).is_hidden()
    mo.locator("[aria-label='Tilt up']").click(click_count=3)
    hangs = rests(mo, server, 23, "Tilt")
    assert hangs > 140, "off its middle"
    go_up(kit, 21)
    mo.wait_for_selector(free)
    mo.tap(".hand-row .hand")
    mo.wait_for_selector(".tag .who >> text=Nobody has it")
    assert sent(server, tilt) == hangs  # its base is elsewhere, and it stays
    assert "Kit is aloft here" in mo.locator(free).inner_text()
    hold(mo, free)
    server.sacn.until(lambda: sent(server, tilt) == 128, "where it is asked to be")
    mo.wait_for_selector(free, state="hidden")


def test_dark_is_called_and_waits_for_who_is_aloft(phone: PhoneOf, server: Server) -> None:
    kit, lee, mo = phone("Kit"), phone("Lee", "#rig", role="lead"), phone("Mo")
    light = slot_of(server, 1, "Dimmer")
    server.sacn.until(lambda: sent(server, light) > 0, "some light")
    go_up(kit, 21)
    button = "fc-hold[label='Call dark'] button"
    lee.wait_for_selector(button)
    assert "Kit is aloft" in lee.locator(button).inner_text()
    for page in (kit, mo):
        page.wait_for_selector("#dark", state="attached")
        page.evaluate(COUNT)
    hold(lee, button)
    for page in (kit, mo):
        shows(page, "#dark", "Going dark: Lee calls it.")
        assert re.fullmatch(r"[1-5]", page.evaluate("counted[0]"))
    shows(lee, "#dark", "Waiting for: Kit")
    assert lee.locator("#dark button:visible").all_inner_texts() == ["Take it back"]
    assert mo.locator("#dark button:visible").all_inner_texts() == ["Not yet"]
    assert kit.locator("#dark button:visible").all_inner_texts() == ["Not yet", "Ready"]
    boxes = [one.bounding_box() for one in kit.locator("#dark button:visible").all()]
    assert all(box and box["height"] >= 72 and box["width"] >= 150 for box in boxes)
    kit.wait_for_timeout(1000)  # a yes at once would have been meant for what lay there before
    kit.tap("#dark >> text=Ready")
    shows(lee, "#dark", "Said yes: Kit")
    server.sacn.until(lambda: sent(server, light) == 0, "dark")
    shows(lee, "#status", "Blackout is on")
    kit.wait_for_selector("#dark", state="hidden")


def test_a_yes_pressed_as_the_question_came_up_does_not_count(phone: PhoneOf) -> None:
    kit, lee = phone("Kit"), phone("Lee", "#rig", role="lead")
    go_up(kit, 21)
    kit.evaluate(
        """() => {
          const ready = document.querySelector('#dark .main');
          new MutationObserver(() => ready.click()).observe(ready, { attributeFilter: ['hidden'] });
        }"""
    )
    hold(lee, "fc-hold[label='Call dark'] button")
    kit.wait_for_selector("#dark >> text=Ready")
    kit.wait_for_timeout(300)
    assert "Waiting for: Kit" in lee.locator("#dark").inner_text()


def test_anybody_says_not_yet_and_all_see_who_did(phone: PhoneOf) -> None:
    kit, lee, mo = phone("Kit"), phone("Lee", "#rig", role="lead"), phone("Mo")
    go_up(kit, 21)
    hold(lee, "fc-hold[label='Call dark'] button")
    mo.tap("#dark button >> text=Not yet")  # the answer to an earlier call says "not yet", too
    for page, words in ((kit, "Mo said not yet."), (lee, "Mo said not yet."), (mo, "You said not yet.")):
        shows(page, "#dark", words)
    kit.tap("#dark >> text=OK")
    kit.wait_for_selector("#dark", state="hidden")
    assert lee.locator("#dark").is_visible()
    hold(lee, "fc-hold[label='Call dark'] button")
    shows(kit, "#dark", "Lee calls it")
    lee.tap("#dark >> text=Take it back")
    shows(mo, "#dark", "Lee took it back.")


def test_blackout_refused_because_somebody_went_up_offers_the_call(phone: PhoneOf, server: Server) -> None:
    lee = phone("Lee", "#rig", role="lead")
    kit = server.phone("crew", "Kit")
    kit.ask("aloft", position="LX 2")
    lee.evaluate(
        """async () => {
          const base = document.querySelector('script[type=module]').src.replace('app.js', '');
          void (await import(base + 'state/asked.js')).command({ do: 'blackout', on: true });
        }"""
    )
    shows(lee, "#say", "Somebody is aloft (Kit).")
    hold(lee, "#say fc-hold[label='Call dark'] button")
    shows(lee, "#dark", "Waiting for: Kit")


def test_a_call_can_be_heard_by_a_page_that_was_touched_unless_sound_is_off(
    phone: PhoneOf, server: Server
) -> None:
    kit, mo, lead = phone("Kit", "#rig"), phone("Mo", "#rig"), server.phone("lead", "Lee")
    for page in (kit, mo):
        page.evaluate(COUNT_TONES)
        page.tap("text=Right thumb")
    mo.tap("text=No sound")
    lead.ask("going_dark")
    for page in (kit, mo):
        shows(page, "#dark", "Lee calls it")
    assert kit.evaluate("() => globalThis.tones") == 2
    assert mo.evaluate("() => globalThis.tones") == 0


def test_a_dark_that_was_called_is_there_for_a_phone_that_comes_later(phone: PhoneOf, server: Server) -> None:
    kit, lead = server.phone("crew", "Kit"), server.phone("lead", "Lee")
    kit.ask("aloft", position="LX 1")
    lead.ask("going_dark")
    shows(phone("Mo"), "#dark", "Waiting for: Kit")


def test_german_says_it_too(phone: PhoneOf, server: Server) -> None:
    kit, lead = phone("Kit", locale="de-DE"), server.phone("lead", "Lee")
    to_sheet(kit, 21, "Mehr")
    kit.tap(".going-up .here")
    shows(kit, "#care", "Du bist oben: LX 1.")
    lead.ask("going_dark")
    shows(kit, "#dark", "Lee kündigt Dunkel an.")
    assert kit.locator("#dark button:visible").all_inner_texts() == ["Noch nicht", "Bereit"]
