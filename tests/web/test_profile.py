"""A profile drawn up on the page: pasted, put right, tried on a fixture, kept; what can hurt is guarded."""

import json
from pathlib import Path

import httpx
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from tests.api.answers import given
from tests.servers import serving
from tests.web.conftest import NAME, phones
from tests.web.phones import Thumb, to_screen
from tests.web.test_access import COVERED, TOO_SMALL, TOO_WIDE

__all__: list[str] = []

CHART = """Kanal;Funktion;Wert;Beschreibung
1;Pan (540°);0-255
2;Pan fein
3;Shutter;0-10;zu
;;11-127;auf
;;128-255;Blitz 1-20 Hz
4;Zoom
5;Nixus
"""


def _rows(page: Page) -> list[str]:
    return [" ".join(row.split()) for row in page.locator(".drawn summary").all_inner_texts()]


def _field(page: Page, label: str) -> str:
    return f".drawn details[open] .field:has(> label:text-is('{label}')) >> :is(input, select)"


def _open(page: Page, name: str) -> None:
    page.evaluate("() => document.querySelectorAll('.drawn details').forEach((one) => (one.open = false))")
    page.tap(f".drawn summary >> text='{name}'")
    page.wait_for_selector(".drawn details[open] .form")


def test_a_pasted_chart_is_put_right_tried_and_kept(chromium: Browser, tmp_path: Path) -> None:
    with serving(tmp_path / "data", name=NAME) as server, phones(chromium, server) as phone:
        lead = server.client()
        patched = {"profile": "dimmer", "mode": "1-slot", "universe": 900, "address": 1, "channel": 777}
        unit = given(lead.post("/api/fixtures", json=patched), 201)["id"]
        page = phone("Ada", "#library", role="lead")
        page.tap("text=Draw one up")
        page.fill("#draft-name", "Heron 300")
        page.fill("#draft-maker", "Shore")
        page.fill("#chart", "Dear all,")
        page.tap("text=Read the chart")
        page.wait_for_selector("main .why >> text=No profile comes of it")
        page.fill("#chart", CHART)
        page.tap("text=Read the chart")
        page.wait_for_selector(".count >> text=5 slots. Nothing is wrong with it.")
        assert _rows(page) == ["1 + 2 Pan (540°)", "3 Shutter", "4 Zoom", "5 Nixus Watched"]
        assert "Nixus" in page.locator(".told").first.inner_text()

        # A slot used twice is said where it is, at once, and stops what would not hold.
        _open(page, "Zoom")
        page.fill(_field(page, "Slots, coarse first"), "3")
        page.wait_for_selector(".drawn li:has-text('Zoom'), .told >> text=slot 3 belongs to")
        page.wait_for_selector("button.main:disabled >> text=Keep it in this show")
        page.fill(_field(page, "Slots, coarse first"), "4")
        page.wait_for_selector("text=Nothing is wrong with it.")
        # A gap in a range likewise.
        _open(page, "Shutter")
        page.fill(f"{_field(page, 'To')} >> nth=0", "99")
        page.wait_for_selector(".why-list >> text=nothing says what 100 to 127 does")
        page.fill(f"{_field(page, 'To')} >> nth=0", "127")
        page.wait_for_selector("text=Nothing is wrong with it.")
        # What makes fog is guarded from the moment it is called so, and the guard cannot be left out.
        _open(page, "Nixus")
        page.select_option(_field(page, "What it is"), "Fog1")
        page.select_option(_field(page, "Guarded"), "")
        page.wait_for_selector(".why-list >> text=it makes fog and must be guarded")
        page.select_option(_field(page, "Guarded"), "fog")
        page.wait_for_selector("text=Nothing is wrong with it.")
        for look in (TOO_SMALL, TOO_WIDE, COVERED):
            assert page.evaluate(look) == []
        assert Axe().run(page).response["violations"] == []

        page.reload()  # it is kept on this phone
        page.wait_for_selector("text=Nothing is wrong with it.")
        page.select_option("#try-on", unit)
        Thumb(page).hold(".trial fc-hold button")
        page.wait_for_selector(".trial >> text=777 is one of these now.")
        assert _is(lead, unit) == ("trying-1", "5-slot")
        page.tap(".trial >> text=Drive it")
        page.wait_for_selector("#shelf >> text=Beam")
        to_screen(page, "profile")
        page.wait_for_selector(".trial >> text=Put the fixture back")
        Thumb(page).hold(".trial fc-hold >> nth=1 >> button")
        page.wait_for_selector(".trial >> text=A patched fixture becomes")
        assert _is(lead, unit) == ("dimmer", "1-slot")

        with page.expect_download() as loading:
            page.tap("text=Keep it as a file")
        loading.value.save_as(tmp_path / "own.json")
        page.tap("text=Keep it in this show")
        page.wait_for_selector("[data-screen=library] h1 >> text=Heron 300")
        kept = given(lead.get("/api/profiles/shore-heron-300"))
        assert kept["modes"][0]["footprint"] == 5
        again = json.loads((tmp_path / "own.json").read_text())
        assert again["modes"][0]["controls"][-1]["guarded"]["reason"] == "fog"

        # A copy of one that is there begins the next; a wider control takes its ranges along.
        page.tap("text=Copy and change")
        page.wait_for_selector(".drawn li")
        _open(page, "Shutter")
        page.fill(_field(page, "Slots, coarse first"), "3 + 6")
        page.wait_for_selector("text=6 slots. Nothing is wrong with it.")
        assert page.input_value(f"{_field(page, 'To')} >> nth=0") == "127"
        Thumb(page).hold(".keeping fc-hold button")
        page.fill("#draft-slots", "2")
        page.tap("text=Begin blank")
        page.wait_for_selector("text=2 slots. Nothing is wrong with it.")


def _is(lead: httpx.Client, unit: str) -> tuple[str, str]:
    found = next(f for f in given(lead.get("/api/fixtures")) if f["id"] == unit)
    return found["profile"], found["mode"]
