"""A rig file in and out, on the page: what it would do first, one press, and one press back."""

from collections.abc import Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, FilePayload, Page

from tests.servers import Server, serving
from tests.web.conftest import NAME, phones
from tests.web.phones import PhoneOf, to_screen
from tests.web.test_access import COVERED, TOO_SMALL, TOO_WIDE

__all__: list[str] = []

LINE = "dimmer\t1-slot\t9{0}\tGrid\t1\t4/{0}"
TWICE = "\n".join(["Type\tMode\tChannel\tPosition\tUnit\tAddress", LINE.format(90), LINE.format(91)])


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """One of its own: its rig is changed."""
    with serving(tmp_path_factory.mktemp("bring") / "data", name=NAME) as server:
        yield server


@pytest.fixture
def phone(chromium: Browser, running: Server) -> Iterator[PhoneOf]:
    """A phone on that server."""
    with phones(chromium, running) as one:
        yield one


def _rig(server: Server) -> dict[str, Any]:
    return {f["id"]: f for f in server.client("lead").get("/api/fixtures").json()}


def _choose(page: Page, name: str, data: str, encoding: str = "utf-8") -> None:
    file: FilePayload = {"name": name, "mimeType": "text/plain", "buffer": data.encode(encoding)}
    page.set_input_files("input[type=file]", file)
    page.wait_for_selector(".shown .go")


def _clean(page: Page) -> None:
    page.evaluate(
        "() => { for (const one of document.querySelectorAll('.report details')) one.open = true; }"
    )
    for look in (TOO_SMALL, TOO_WIDE, COVERED):
        assert page.evaluate(look) == []
    found = Axe().run(page).response["violations"]
    assert not [f"{one['id']}: {one['nodes'][0]['html'][:120]}" for one in found]


def test_a_file_is_looked_at_taken_in_by_one_press_and_undone_by_another(
    phone: PhoneOf, running: Server
) -> None:
    before = _rig(running)
    page = phone("Ada", "#rig", role="lead")
    page.tap(".ways >> text=Rig file in and out")
    page.wait_for_selector(".pick")
    lines = running.client("lead").get("/api/rig/export.csv").text.lstrip("\ufeff").splitlines()
    lines[0] += ",Farbe"
    lines[3] = lines[3].replace("Area 3 warm", "Küche") + ",L201"
    lines[5] = lines[5].replace("6-slot with intensity", "17-slot")
    lines[-1] = "Loft,9,901,Blind,dimmer,1-slot,5,1"
    _choose(page, "hookup.csv", "\n".join(lines), "cp1252")
    assert "1 unit that it does not name is taken out" in page.inner_text(".sentences >> nth=0")
    assert page.locator(".go").is_disabled()
    told = page.locator(".report")
    assert "Line 6" in told.inner_text()
    assert 'no one mode is called "17-slot"' in told.inner_text()
    page.tap("text=Without it")
    page.wait_for_selector(".go >> text=1 new, 1 changed, 1 taken out")
    _clean(page)
    assert "Purpose: Area 3 warm \u2192 Küche" in told.inner_text()
    assert "Farbe: empty \u2192 L201" in told.inner_text()
    stays = told.locator("details", has_text="Stay as they are").inner_text()
    assert "5 \u00b7 Bridge, unit 5" in stays
    page.tap("text=It is a part of it")
    page.wait_for_selector(".go >> text=1 new, 1 changed, 0 taken out")
    page.tap("text=It is the whole rig")
    page.wait_for_selector(".go >> text=1 new, 1 changed, 1 taken out")
    assert _rig(running) == before, "nothing before it is pressed"
    page.tap(".go")
    page.wait_for_selector(".undo-all")
    after = _rig(running)
    assert (after["demo-3"]["purpose"], after["demo-3"]["more"]) == ("Küche", {"Farbe": "L201"})
    assert after["demo-5"] == before["demo-5"]
    assert len(before.keys() - after.keys()) == 1
    page.tap("text=Undo all of it")
    page.wait_for_selector(".undo-all >> text=Undone")
    assert _rig(running) == before
    page.tap("text=Do it again")
    page.wait_for_selector("text=Undo all of it")
    assert {f["channel"]: f["purpose"] for f in _rig(running).values()}[901] == "Blind"
    to_screen(page, "rig")  # and from the record
    page.locator(".past > li", has_text="1 added, 1 changed, 1 removed").first.locator("button").tap()
    page.wait_for_timeout(400)  # a glove fires twice: within that time a second press is the same one
    page.tap(".will button")
    page.wait_for_selector(".past > [data-undone]")
    assert _rig(running) == before


def test_columns_nobody_knows_are_given_their_meaning(phone: PhoneOf, running: Server) -> None:
    page = phone("Ada", "#bring", role="lead", locale="de-DE")
    _choose(page, "liste.csv", "Lampe,Spot,Stelle\nrelay,Grid,1\n")
    for heading, field in (("Lampe", "Typ"), ("Spot", "Position"), ("Stelle", "Nummer")):
        page.locator(".columns-read button", has_text=heading).tap()
        page.locator(".meanings button", has_text=field).first.tap()
        page.wait_for_selector(f".columns-read button:has-text('{heading}') span:has-text('{field}')")
    page.tap("text=Es ist ein Teil davon")
    page.wait_for_selector(".go:enabled >> text=1 neu, 0 geändert, 0 herausgenommen")
    _clean(page)
    assert "Grid" in page.locator(".report details", has_text="Neu (1)").inner_text()


def test_two_of_one_number_come_in_when_that_is_meant(phone: PhoneOf, running: Server) -> None:
    page = phone("Ada", "#bring", role="lead")
    _choose(page, "sheet.tsv", TWICE)
    page.tap("text=That is meant")
    page.wait_for_selector(".go:enabled >> text=2 new")


def test_crew_take_the_rig_out_and_bring_none_in(phone: PhoneOf, running: Server) -> None:
    page = phone("Kit", "#bring")
    page.wait_for_selector("text=Only the lead")
    assert page.locator("input[type=file]").count() == 0
    for kind, begins in (("csv", b"\xef\xbb\xbfPosition"), ("json", b"{"), ("mvr", b"PK")):
        with page.expect_download() as loading:
            page.tap(f"a[href$='{kind}']")
        assert loading.value.suggested_filename == f"rig.{kind}"
        assert loading.value.path().read_bytes().startswith(begins)
