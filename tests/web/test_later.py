"""A phone without a link: what is written down waits on it and comes in once; levels never wait."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.photos import jpeg
from tests.servers import Server
from tests.web.conftest import phones
from tests.web.phones import PhoneOf, let_go_of_all, to_sheet, whole
from tests.web.wires import Line, line_to

__all__: list[str] = []


@pytest.fixture
def line(server: Server) -> Iterator[Line]:
    with line_to(server) as line:
        yield line


@pytest.fixture
def far(chromium: Browser, server: Server, line: Line) -> Iterator[PhoneOf]:
    """Phones whose link goes through a line that can be cut."""
    with phones(chromium, server, line.port) as one:
        yield one


def test_faults_of_a_minute_without_a_link_come_in_once_and_in_order(
    far: PhoneOf, server: Server, line: Line
) -> None:
    let_go_of_all(server)
    page = far("Kit")
    to_sheet(page, 2, "More")
    page.wait_for_selector(".unit")
    whole(page)  # before the link goes
    line.cut()
    page.wait_for_selector("[data-link=none]")
    lead = server.phone("lead")
    before = server.client().get("/api/record?limit=500").json()
    for words in ("lens dirty", "tail frayed"):
        page.fill(".unit form input", words)
        page.keyboard.press("Enter")
    page.wait_for_selector("#status >> text=2 entries kept on this phone")
    of_both = "e => [e, e.parentElement].map((one) => getComputedStyle(one).color)"
    shown, around = page.locator("#status .state").evaluate(of_both)
    assert shown == around  # the yellow of a warning cannot be read on the yellow of a lost link
    page.evaluate("() => { location.hash = '#rig' }")
    page.wait_for_selector(".entries >> text=2: lens dirty")
    assert len(page.evaluate("JSON.parse(localStorage['fc.later'])")) == 2
    assert lead.rig["fixtures"]["demo-2"]["fault"] is None
    line.mend()
    page.wait_for_selector("[data-link=live]")
    lead.until(lambda: lead.rig["fixtures"]["demo-2"]["fault"] == "tail frayed", "what came in last")
    page.wait_for_function("() => !localStorage['fc.later']")
    record = server.client().get("/api/record?limit=500").json()
    mine = [entry["what"] for entry in reversed(record) if entry not in before and "Noted" in entry["what"]]
    assert mine == ['Noted: "lens dirty".', 'Noted: "tail frayed".']
    lead.ask("fault", fixture="demo-2", words=None)


def test_what_was_sent_and_never_answered_is_sent_again_and_comes_in_once(
    far: PhoneOf, server: Server, line: Line
) -> None:
    page = far("Kit")
    to_sheet(page, 3, "More")
    whole(page)
    lead = server.phone("lead")
    line.freeze()
    page.fill(".unit form input", "gel burned out")
    page.keyboard.press("Enter")
    page.wait_for_selector("[data-link=none]")
    assert page.evaluate("JSON.parse(localStorage['fc.later']).length") == 1
    line.mend()
    page.wait_for_selector("[data-link=live]")
    page.wait_for_function("() => !localStorage['fc.later']")
    lead.until(lambda: lead.rig["fixtures"]["demo-3"]["fault"] == "gel burned out", "the fault")
    record = server.client().get("/api/record?limit=500").json()
    assert sum(entry["what"] == 'Noted: "gel burned out".' for entry in record) == 1
    lead.ask("fault", fixture="demo-3", words=None)


def test_a_verdict_with_a_photo_waits_with_its_photo(
    far: PhoneOf, server: Server, line: Line, tmp_path: Path
) -> None:
    let_go_of_all(server)
    picture = tmp_path / "photo.jpg"
    picture.write_bytes(jpeg(size=(800, 600)))
    page = far("Kit", "#check")
    page.tap("text=LX 2")
    page.wait_for_selector(".tag >> text=31")
    whole(page)
    line.cut()
    page.wait_for_selector("[data-link=none]")
    page.tap("text=Fault")
    page.tap("[data-reason=flickers]")
    page.set_input_files(".photo input", picture)
    page.wait_for_selector(".photo img:not([hidden])")
    page.tap("text=Write it down")
    page.wait_for_selector("#status >> text=2 entries kept on this phone")
    of_both = "e => [e, e.parentElement].map((one) => getComputedStyle(one).color)"
    shown, around = page.locator("#status .state").evaluate(of_both)
    assert shown == around  # the yellow of a warning cannot be read on the yellow of a lost link
    line.mend()
    lead = server.phone("lead")
    lead.until(lambda: lead.rig["fixtures"]["demo-31"]["fault"] == "Flickers", "the verdict")
    page.wait_for_function("() => !localStorage['fc.later']")
    [photo] = server.client().get("/api/photos?fixture=demo-31").json()
    verdict = next(
        entry for entry in server.client().get("/api/faults").json() if entry["fixture"] == "demo-31"
    )
    assert photo["photo"] in str(verdict)
    page.tap("button >> text=Stop")
    lead.ask("fault", fixture="demo-31", words=None)
    let_go_of_all(server)
