"""What runs only while it is armed, lamps, flashing, work light: on real phones."""

import re
from collections.abc import Iterator

import pytest

from tests.servers import Server, serving
from tests.web.care import COUNT_TONES, hold, put_right, sent, shows, slot_of
from tests.web.conftest import NAME
from tests.web.phones import PhoneOf, Thumb, to_screen, to_sheet

# A page that stalls for a second is taken for one that is lost; here it may take three.
HELD_ON_S = 3.0
PATIENT = f"from server.stage import decide_guard\ndecide_guard.HELD_ON_S = {HELD_ON_S}"
# How late the timers of the page are at the worst.
LATE = """() => {
  globalThis.late = 0;
  let before = performance.now();
  setInterval(() => {
    globalThis.late = Math.max(globalThis.late, performance.now() - before - 50);
    before = performance.now();
  }, 50);
}"""

# That a button could not be pressed for a while.
SEE_DISABLED = """(where) => {
  const button = document.querySelector(where);
  const see = () => (globalThis.wasDisabled ||= button.disabled);
  new MutationObserver(see).observe(button, { attributeFilter: ['disabled'] });
}"""


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """One of its own: somebody aloft would stand in the way of other tests."""
    with serving(tmp_path_factory.mktemp("care") / "data", name=NAME, first=PATIENT) as running:
        yield running


@pytest.fixture(autouse=True)
def afterwards(server: Server) -> Iterator[None]:
    yield
    put_right(server)


def test_a_hazer_is_armed_by_the_lead_runs_while_held_and_stops_when_let_go(
    phone: PhoneOf, server: Server
) -> None:
    kit, lee = phone("Kit"), phone("Lee", role="lead")
    haze = slot_of(server, 75, "Haze1")
    to_sheet(kit, 75)
    to_sheet(lee, 75)
    shows(kit, ".armed-line", "Ask the lead to arm it")
    assert "smoke detectors" in kit.locator(".guard").inner_text()
    assert kit.locator("fc-run button >> nth=1").is_disabled()
    assert kit.locator(".arm").is_hidden()
    lee.tap(".arm >> text=Rehearsal")
    assert lee.locator(".arm [aria-pressed=true]").all_inner_texts() == ["Rehearsal", "60 s"]
    hold(lee, ".arm fc-hold button")
    shows(kit, ".armed-line", "Armed by Lee: Rehearsal")
    assert re.fullmatch(r"0:[345]\d|1:00", kit.locator(".armed-line .left").inner_text())
    shows(kit, ".tag .marks", "Armed by Lee")
    to_screen(lee, "fixtures")
    lee.fill("input[type=search]", "75")
    assert lee.locator(".row .who").inner_text() == "Armed"
    kit.tap(".level >> nth=0 >> text=50")
    button = "fc-run[label='Haze'] button"
    kit.locator(button).scroll_into_view_if_needed()
    thumb = Thumb(kit).down(button)
    server.sacn.until(lambda: sent(server, haze) == 128, "half, while it is held")
    kit.wait_for_timeout(1000 * HELD_ON_S + 500)  # longer than one message holds it on
    assert sent(server, haze) == 128
    thumb.up()
    server.sacn.until(lambda: sent(server, haze) == 0, "let go")
    presses = len(server.sacn.pictures(haze[0]))
    Thumb(kit).down(button).move(0, -150, 4)
    server.sacn.until(lambda: len(server.sacn.pictures(haze[0])) > presses, "pressed")
    server.sacn.until(lambda: sent(server, haze) == 0, "slid off")


@pytest.mark.parametrize("end", ["second finger", "blur", "hidden", "gone"])
def test_what_runs_ends_with_whatever_ends_the_hold(phone: PhoneOf, server: Server, end: str) -> None:
    kit, lead = phone("Kit"), server.phone("lead", "Lee")
    haze = slot_of(server, 75, "Haze1")
    lead.ask("arm", fixture="demo-75", reason="Test")
    to_sheet(kit, 75)
    button = "fc-run[label='Haze'] button"
    kit.wait_for_selector(f"{button}:not([disabled])")
    kit.locator(button).scroll_into_view_if_needed()
    thumb = Thumb(kit).down(button)
    server.sacn.until(lambda: sent(server, haze) == 255, "runs")
    if end == "second finger":
        kit.evaluate(
            "() => document.body.dispatchEvent("
            "new PointerEvent('pointerdown', { pointerId: 77, bubbles: true }))"
        )
    elif end == "blur":
        kit.evaluate("() => window.dispatchEvent(new Event('blur'))")
    elif end == "hidden":
        kit.evaluate(
            """() => {
              Object.defineProperty(document, 'visibilityState', { value: 'hidden', configurable: true });
              document.dispatchEvent(new Event('visibilitychange'));
            }"""
        )
    else:
        kit.close()
    server.sacn.until(lambda: sent(server, haze) == 0, end)
    if end != "gone":
        assert kit.locator("fc-run[data-held]").count() == 0
        thumb.up()


def test_what_is_left_is_told_by_the_laptop_to_a_phone_whose_clock_is_wrong(
    phone: PhoneOf, server: Server
) -> None:
    lead = server.phone("lead", "Lee")
    lead.ask("arm", fixture="demo-75", reason="Test", seconds=600)
    wrong = phone("Kit")
    assert wrong.evaluate("() => (Date.now = () => 0)()") == 0
    to_sheet(wrong, 75)
    shows(wrong, ".armed-line", "Armed by Lee")
    assert re.fullmatch(r"9:\d\d|10:00", wrong.locator(".armed-line .left").inner_text())


def test_who_armed_it_hears_the_time_and_another_phone_does_not(phone: PhoneOf) -> None:
    kit, lee = phone("Kit"), phone("Lee", role="lead")
    for page in (kit, lee):
        to_sheet(page, 75)
        page.evaluate(COUNT_TONES)
        page.tap("#shelf >> text=Guard")
    lee.evaluate(LATE)
    lee.evaluate(
        """async () => {
          const base = document.querySelector('script[type=module]').src.replace('app.js', '');
          const { command } = await import(base + 'state/asked.js');
          void command({ do: 'arm', fixture: 'demo-75', reason: 'Test', seconds: 8 });
        }"""
    )
    lee.wait_for_selector(".armed-line[data-armed]")
    lee.wait_for_selector(".armed-line:not([data-armed])")
    tones, late = lee.evaluate("() => [globalThis.tones, globalThis.late]")
    # The last five seconds; looked at each quarter of one, so that a page that stalls for longer misses some.
    assert 5 - (late + 250) // 1000 <= tones <= 5
    assert kit.evaluate("() => globalThis.tones") == 0


def test_a_relay_runs_at_on(phone: PhoneOf, server: Server) -> None:
    kit, lead = phone("Kit"), server.phone("lead", "Lee")
    lead.ask("arm", fixture="demo-76", reason="Test")
    relay = slot_of(server, 76, "Dimmer")
    to_sheet(kit, 76)
    kit.wait_for_selector("fc-run button:not([disabled])")
    assert kit.locator(".run .level").count() == 0
    assert "not isolated" in kit.locator(".guard").inner_text()
    thumb = Thumb(kit).down("fc-run button")
    server.sacn.until(lambda: sent(server, relay) >= 128, "on")
    thumb.up()
    server.sacn.until(lambda: sent(server, relay) == 0, "off")


def test_lamp_actions_wait_for_arming_then_for_each_other(phone: PhoneOf, server: Server) -> None:
    kit, mo, lead = phone("Kit"), phone("Mo"), server.phone("lead", "Lee")
    for page in (kit, mo):
        to_sheet(page, 24, "More")
        page.click(".picker >> text=Actions")
    off = "fc-hold[label='Lamp off'] button"
    kit.wait_for_selector(f"{off}[disabled]")
    assert "ask the lead to arm it" in kit.locator(off).inner_text()
    assert "not isolated" in kit.locator(".acts").inner_text()
    reset = "fc-hold[label='Recalibrate all (moves)'] button"
    assert kit.locator(reset).is_enabled()
    lead.ask("arm", fixture="demo-24", reason="Lamp change")
    kit.wait_for_selector(f"{off}:not([disabled])")
    for page in (kit, mo):
        page.evaluate(SEE_DISABLED, reset)
    hold(kit, off)
    shows(kit, "#say", "Lamp off: asked of 24")
    on = "fc-hold[label='Lamp on'] button"
    for page in (kit, mo):  # and not only who asked knows it
        page.wait_for_function("() => globalThis.wasDisabled")
        # 360 s before it may strike again, in moving-spot-cmy.json
        assert re.search(r"Waits about (5:\d\d|6:00) more", page.locator(on).inner_text())
    kit.wait_for_selector(f"{reset}:not([disabled])")  # 5 s, as the profile has it


def test_actions_wait_while_somebody_is_aloft_or_has_hands_on_it(phone: PhoneOf, server: Server) -> None:
    kit, mo = phone("Kit"), server.phone("crew", "Mo")
    to_sheet(kit, 22, "More")
    kit.click(".picker >> text=Actions")
    reset = "fc-hold[label='Recalibrate all (moves)'] button"
    kit.wait_for_selector(f"{reset}:not([disabled])")
    mo.ask("aloft", position="LX 1")
    kit.wait_for_selector(f"{reset}[disabled]")
    assert "Mo is aloft here" in kit.locator(reset).inner_text()
    mo.ask("aloft", position=None)
    mo.ask("hands_on", fixture="demo-22", on=True)
    shows(kit, ".acts", "Waits until the hands are off: Mo.")
    mo.ask("hands_on", fixture="demo-22", on=False)
    kit.wait_for_selector(f"{reset}:not([disabled])")


def test_a_strobe_is_out_of_reach_above_three_and_the_lead_lifts_one_fixture(
    phone: PhoneOf, server: Server
) -> None:
    kit, lee = phone("Kit"), phone("Lee", role="lead")
    to_sheet(kit, 38, "Beam")
    kit.click(".picker >> text=Shutter")
    hold(kit, "fc-hold[label^=Strobe] button")
    number = kit.locator(".inner fc-fader .number")
    number.wait_for()
    assert kit.locator(".beyond.top").bounding_box() is not None
    assert "out of reach" in kit.locator(".lift").inner_text()
    assert kit.locator(".lift fc-hold").is_hidden()  # that is the lead's
    Thumb(kit).down(".inner .track", 0.9).move(0, -300, 12).up()
    kit.wait_for_function("() => !document.querySelector('[data-asked]')")
    assert 2.8 <= float(number.inner_text().split()[0]) <= 3.0
    assert kit.locator("#say").is_hidden()
    to_sheet(lee, 38, "Beam")
    lee.click(".picker >> text=Shutter")
    lift = "fc-hold[label='Let it flash faster for 30 s'] button"
    assert "put notices up" in lee.locator(lift).inner_text()
    hold(lee, lift)
    for page in (kit, lee):
        page.wait_for_selector("#care >> text=/38 may flash faster for \\d+ s/")
    Thumb(kit).down(".inner .track", 0.9).move(0, -300, 12).up()
    kit.wait_for_function("() => !document.querySelector('[data-asked]')")
    assert 4.8 <= float(number.inner_text().split()[0]) < 5.0
    assert kit.locator("#care >> text=End it").is_hidden()
    lee.tap("#care >> text=End it")
    kit.wait_for_selector("#care", state="hidden")


def test_work_light_is_for_the_lead_alone(phone: PhoneOf) -> None:
    for name, role, locked in (("Kit", "crew", True), ("Vi", "house", True), ("Lee", "lead", False)):
        page = phone(name, role=role)
        to_sheet(page, 95, "Level")
        assert page.locator(".hand-row .main").is_disabled() == locked, role
        assert page.locator("fc-fader .nudge.up").is_disabled() == locked, role
        said = page.locator(".caution >> text=Work light: only the lead drives it").count()
        assert bool(said) == locked, role
