"""Nodes as the lead sees them: what they serve, what is wrong with them, and what has gone."""

from dataclasses import replace
from pathlib import Path

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from tests.nodes import FAST_POLLS, fleet, reply
from tests.servers import QUICK_PINS, serving
from tests.web.conftest import NAME, phones

__all__: list[str] = []

SMALL = """() => [...document.querySelectorAll('main :is(button, a, input, summary)')]
  .filter((node) => node.checkVisibility())
  .map((node) => [node.textContent, node.getBoundingClientRect()])
  .filter(([, box]) => box.width < 48 || box.height < 48)"""


def _clean(page: Page) -> None:
    assert not page.evaluate(SMALL)
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()


def test_the_lead_sees_what_a_node_serves_what_is_wrong_and_what_is_lost(
    tmp_path: Path, chromium: Browser
) -> None:
    merging = reply(
        "Bar 3", 1, 3, mac=7, good_output=b"\x80\x88\0\0", status3=0x60, node_report="#0001 [0001] ok"
    )
    with (
        serving(tmp_path / "data", name=NAME, first=f"{QUICK_PINS}\n{FAST_POLLS}") as server,
        phones(chromium, server) as phone,
        fleet(server.artnet_in, at_7=[merging], at_8=[reply("Floor", 9, mac=8)]) as nodes,
    ):
        ann = phone("Ann", "#rig", role="lead")
        ann.click(".ways >> text=Nodes")
        ann.wait_for_selector(".devices > li >> text=Bar 3")
        assert "Universe 3" in ann.inner_text(".devices > li:first-child .ports")
        assert "3 (0:0:3)" in ann.inner_text(".devices > li:first-child .ports")
        ann.wait_for_selector(".told >> text=hears somebody else on universe 3")
        ann.click(".devices > li:first-child summary")
        ann.wait_for_selector("dd >> text=02:00:00:00:00:07")
        _clean(ann)
        # A node that counts its answers is drawn anew for none of them.
        ann.evaluate("() => (window.pressed = document.querySelector('.devices > li summary')).focus()")
        nodes.pages["127.0.0.7"] = [replace(merging, node_report="#0001 [0002] ok")]
        ann.wait_for_selector("dd >> text=#0001 [0002] ok")
        assert ann.evaluate("() => document.activeElement === window.pressed")
        del nodes.pages["127.0.0.8"]
        eva = phone("Eva", "#nodes", role="lead", locale="de-DE")
        eva.wait_for_selector(".devices > li[data-lost]")
        eva.wait_for_selector(".told >> text=antwortet seit")
        _clean(eva)
        assert ann.is_visible("dd >> text=02:00:00:00:00:07"), "what was unfolded stays so"
        eva.tap("text=Von der Liste nehmen")
        eva.wait_for_selector(".devices > li[data-lost]", state="detached")
        # It is the lead's to settle: crew are not told of it at the top of every screen.
        mo = phone("Mo", "#rig")
        mo.wait_for_selector(".people")
        assert "Bar 3" not in mo.inner_text(".alerts, #status")
        assert "Bar 3" in phone("Pat", "#rig", role="lead").inner_text(".alerts")
