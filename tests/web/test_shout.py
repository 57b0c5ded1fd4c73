"""A call across the room, on the lead's phone and on the one at the ladder."""

from playwright.sync_api import Page

from tests.servers import Server
from tests.web.care import COUNT_TONES, shows
from tests.web.phones import PhoneOf, Thumb, let_go_of_all, to_screen, to_sheet

ME = """async () => {
  const base = document.querySelector('script[type=module]').src.replace('app.js', '');
  return (await import(base + 'state/rig.js')).rig.you.value.id;
}"""
EARLY_MS = 750  # a tap sooner than that after it came was meant for what lay there before


def see(page: Page) -> None:
    page.wait_for_timeout(EARLY_MS)
    page.tap("#shout button")


def ready(page: Page) -> None:
    """What listens for calls comes while the phone has nothing to do."""
    page.wait_for_selector("#shout", state="attached")


def test_calls_go_both_ways_are_seen_by_one_tap_and_queue_by_what_they_are(
    phone: PhoneOf, server: Server
) -> None:
    lead, mo = phone("Ida", "#focus", role="lead"), phone("Moritz", "#focus")
    ready(lead)
    ready(mo)
    mo.evaluate(COUNT_TONES)
    mo.evaluate("() => { globalThis.felt = []; navigator.vibrate = (how) => felt.push(how) }")
    mo.tap(".tools >> text=Call")
    shows(mo, ".pad .count", "Goes to the lead")
    assert "not an emergency stop" in mo.locator(".pad .hint").inner_text()
    lead.tap(".turns >> text=Moritz")
    lead.tap(".tools >> text=Call")
    shows(lead, ".pad .count", "Goes to Moritz.")
    lead.tap(".pad .say-ready")
    lead.tap(".pad .say-stop")
    shows(lead, "#shouts", "not seen yet: Moritz")
    shows(mo, "#shout .word", "Stop")  # the more important one, though it came later
    shows(mo, "#shout .who", "Ida calls")
    shows(mo, "#shout .more", "and 1 more")
    assert mo.evaluate("tones") >= 3
    assert [400, 150, 400, 150, 400] in mo.evaluate("felt")
    still = mo.evaluate("() => document.querySelector('#shout').getAnimations({ subtree: true }).length")
    assert still == 0
    box = mo.locator("#shout").bounding_box()
    assert box is not None
    assert (box["width"], box["height"]) == (390, 844)
    see(mo)
    shows(mo, "#shout .word", "Ready")
    see(mo)
    mo.wait_for_selector("#shout", state="hidden")
    shows(lead, "#shouts", "seen: Moritz")
    mo.tap(".pad .say-work_light")
    shows(lead, "#shout .word", "Need work light")
    see(lead)
    shows(mo, "#shouts", "seen: Ida")


def test_it_waits_for_a_thumb_that_is_down_and_old_calls_for_nobody(phone: PhoneOf, server: Server) -> None:
    caller = server.phone("lead", "Nils")
    mo = phone("Moritz", "#fixtures")
    ready(mo)
    to_sheet(mo, 12, "Level")
    me = mo.evaluate(ME)
    thumb = Thumb(mo).down(".track").move(0, -30, 5)
    caller.ask("shout", what="hold", to=me)
    shows(mo, ".tag .who", "In your hand")
    assert mo.locator("#shout").is_hidden()
    thumb.up()
    shows(mo, "#shout .word", "Hold")
    see(mo)
    mo.wait_for_selector("#shout", state="hidden")
    # As the laptop tells it to a phone that was away: one younger than a minute, and one that is not.
    told = """async (me) => {
      const base = document.querySelector('script[type=module]').src.replace('app.js', '');
      const { take } = await import(base + 'state/asked.js');
      const { rig } = await import(base + 'state/rig.js');
      const one = { person: 'x', name: 'Nils', to: [me], seen: [] };
      const [old, young] = [{ number: 7, what: 'stop', ago_s: 61 }, { number: 8, what: 'ready', ago_s: 40 }];
      take({ is: 'change', rev: rig.rev, shouts: [{ ...one, ...old }, { ...one, ...young }] });
    }"""
    mo.evaluate(told, me)
    shows(mo, "#shout .word", "Ready")
    assert mo.locator("#shout .more").inner_text() == ""
    to_screen(mo, "fixtures")
    caller.close()
    let_go_of_all(server)
