"""What tests of care share: going up, holding, reading what is sent, and putting all right again."""

from playwright.sync_api import Page

from tests.servers import Server
from tests.web.phones import Thumb, let_go_of_all, to_sheet

__all__ = ["COUNT_TONES", "go_up", "hold", "put_right", "sent", "shows", "slot_of"]

# Counts the tones a page starts: its own oscillators, started as ever.
COUNT_TONES = """(() => {
  globalThis.tones = 0;
  const start = OscillatorNode.prototype.start;
  OscillatorNode.prototype.start = function (...when) {
    globalThis.tones += 1;
    return start.apply(this, when);
  };
})()"""


def put_right(server: Server) -> None:
    """Everybody is down, nothing is armed or held, and it is light."""
    lead = server.phone("lead", "Afterwards")
    for person, it in lead.rig["people"].items():
        if it["aloft"]:
            lead.ask("aloft", position=None, of=person)
    for fixture, it in lead.rig["fixtures"].items():
        if it["armed"]:
            lead.ask("arm", fixture=fixture, reason=None)
    lead.ask("lift_flashes", fixture=None)
    lead.ask("dark_answer", yes=False)
    lead.ask("blackout", on=False)
    lead.close()
    let_go_of_all(server)


def shows(page: Page, selector: str, words: str) -> None:
    """Wait until the first that fits has these words in it."""
    found = "([where, text]) => document.querySelector(where)?.textContent.includes(text)"
    page.wait_for_function(found, arg=[selector, words])


def hold(page: Page, selector: str) -> None:
    Thumb(page).hold(selector)


def go_up(page: Page, channel: int) -> None:
    """One tap on the sheet of a fixture where somebody goes up."""
    to_sheet(page, channel, "More")
    page.tap(".going-up .here")
    page.wait_for_selector("#care .up")


def slot_of(server: Server, channel: int, key: str) -> tuple[int, int]:
    """Universe and slot of the coarse byte of a control of the demo."""
    client = server.client()
    it = next(one for one in client.get("/api/fixtures").json() if one["channel"] == channel)
    modes = client.get(f"/api/profiles/{it['profile']}").json()["modes"]
    controls = next(one for one in modes if one["name"] == it["mode"])["controls"]
    offset = next(one for one in controls if one["key"] == key)["offset"][0]
    return it["universe"], it["address"] + offset - 1


def sent(server: Server, where: tuple[int, int]) -> int:
    return server.sacn.pictures(where[0])[-1][where[1] - 1]
