"""A fixture that nobody has a profile of: taught by looking, and driven by what came of it."""

from playwright.sync_api import Page

from server.rig.teaching import PROBE
from tests.servers import Server
from tests.web.phones import PhoneOf, let_go_of_all

__all__: list[str] = []

UNIVERSE, FIRST = 1, 497  # slots of nobody in the demo
HUES = ("red", "green", "blue")
SAID = {"red": "Red light", "green": "Green light", "blue": "Blue light"}


def look(page: Page, server: Server) -> dict[str, int]:
    """What the eye sees of the unit while the button is held: an RGB unit, read from the wire."""
    page.locator("fc-run button").focus()
    page.keyboard.down("Enter")
    page.wait_for_function("() => document.querySelector('.phase').textContent === 'Now'")
    slot = int(page.locator(".far b").inner_text().split()[1])
    server.sacn.until_slot(UNIVERSE, slot, PROBE)
    picture = next(one for one in reversed(server.sacn.pictures(UNIVERSE)) if one[slot - 1] == PROBE)
    page.keyboard.up("Enter")
    server.sacn.until_slot(UNIVERSE, slot, 0)  # let go: nothing stands without a thumb
    return {hue: picture[FIRST - 1 + at] for at, hue in enumerate(HUES)}


def begin(page: Page, slots: int) -> None:
    page.fill("#teach-universe", str(UNIVERSE))
    page.fill("#teach-first", str(FIRST))
    page.fill("#teach-slots", str(slots))
    page.tap("text=Begin")


def say(page: Page, *labels: str) -> None:
    for label in labels:
        page.tap(f'.seen button:text-is("{label}")')


def test_a_unit_is_taught_by_eye_kept_patched_and_driven(phone: PhoneOf, server: Server) -> None:
    kit = phone("Kit", "#rig")
    kit.tap("text=Teach a fixture")
    kit.wait_for_selector("[data-screen=teach]")
    begin(kit, 500)
    kit.wait_for_selector("text=A unit of 1 to 64 slots can be taught.")
    begin(kit, 3)
    kit.wait_for_selector(f"text=Slot {FIRST} (1 of 3)")
    for at in range(len(HUES)):
        seen = [hue for hue, level in look(kit, server).items() if level]
        assert seen == [HUES[at]]
        for node in kit.locator(".seen button").all():
            box = node.bounding_box()
            assert box
            assert box["height"] >= 64
        say(kit, "Light\u2009…", SAID[seen[0]])
        if at == 0:  # another phone finds all of it, and cannot answer meanwhile
            other = phone("Mo", "#teach")
            other.wait_for_selector("text=Kit teaches universe 1, slots 497 to 499: 1 answer so far.")
            kit.reload()
        if at < 2:
            kit.wait_for_selector(f"text=Slot {FIRST + at + 1} ({at + 2} of 3)")
    kit.wait_for_selector("text=That is all that can be told by eye.")
    assert kit.locator(".keep").count() == 0  # crew may not patch: the lead makes a fixture of it
    lead = phone("Lea", "#teach", role="lead")
    lead.tap("text=Carry on here")
    lead.fill("#teach-name", "House RGB")
    lead.fill("#teach-channel", "497")
    lead.tap("text=Keep the profile, patch the fixture")
    lead.wait_for_selector("[data-screen=fixture] .tag >> text=497")
    known = server.phone("lead")
    known.until(lambda: known.rig["teaching"] is None, "that nobody teaches any more")
    unit = next(f for f in known.rig["fixtures"].values() if f["channel"] == 497)
    assert (unit["universe"], unit["address"]) == (UNIVERSE, FIRST)
    fixture = next(i for i, f in known.rig["fixtures"].items() if f["channel"] == 497)
    wanted = {"Dimmer": 1.0, "ColorAdd_R": 1.0, "ColorAdd_G": 0.0, "ColorAdd_B": 0.5}
    told = known.ask("set", fixture=fixture, values=wanted)
    assert told["is"] == "ok", told
    server.sacn.until_slot(UNIVERSE, FIRST, 255)
    server.sacn.until_slot(UNIVERSE, FIRST + 1, 0)
    server.sacn.until_slot(UNIVERSE, FIRST + 2, 128)
    lead.close()
    let_go_of_all(server)
    assert server.client().delete(f"/api/fixtures/{fixture}").status_code == 204


def test_what_may_be_flame_ends_it_and_what_hurts_is_never_up_again(phone: PhoneOf, server: Server) -> None:
    page = phone("Kit", "#teach")
    begin(page, 2)
    say(page, "Fog, fan, noise\u2009…", "Fog")
    page.wait_for_selector(f"text=Slot {FIRST + 1} (2 of 2)")
    page.tap("text=One answer back")
    page.wait_for_selector(f"text=Slot {FIRST} (1 of 2)")
    say(page, "Fog, fan, noise\u2009…", "Flame")
    page.wait_for_selector("text=What makes flame is never driven from here.")
    assert page.locator("fc-run").count() == 0
    page.locator("fc-hold button").focus()
    page.keyboard.down("Enter")
    page.wait_for_selector("#teach-first")
    page.keyboard.up("Enter")
