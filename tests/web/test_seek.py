"""Two questions under an unknown light: which one is this, and who answered instead of whom."""

import time
from collections.abc import Callable
from itertools import pairwise

from playwright.sync_api import Page

from tests.servers import Server
from tests.web.phones import PhoneOf, let_go_of_all

__all__: list[str] = []

MINE = (1, 3)  # universe and slot of the demo's channel 3, the dimmer somebody stands under


def breathes(server: Server) -> bool:
    """What eyes under that light would see on the wire: it falls or rises far, or stays."""
    watched(server, 1.1)  # what breathed before comes to rest within a second
    began = time.monotonic()

    def moved() -> bool:
        seen = [frame[MINE[1] - 1] for frame in server.sacn.pictures(MINE[0], began)]
        return max(seen, default=0) - min(seen, default=0) > 60

    watched(server, 1.6, moved)  # most of a breath, which takes two seconds
    return moved()


def watched(server: Server, seconds: float, enough: Callable[[], bool] = lambda: False) -> None:
    """Look so long, or until `enough`. Some light always breathes: without packets something stalls."""
    began = time.monotonic()

    def looked() -> float:
        times = [at for at, _ in tuple(server.sacn.heard) if at > began]
        return sum(min(one - before, 0.05) for before, one in pairwise(times))

    server.sacn.until(lambda: enough() or looked() > seconds, "a breath")


def still_asking(page: Page) -> bool:
    page.wait_for_function("() => document.querySelector('.far, .it')")
    return page.locator(".far").count() > 0


def test_the_light_one_stands_under_is_found_by_eye_alone(phone: PhoneOf, server: Server) -> None:
    let_go_of_all(server)
    page = phone("Kit", "#seek")
    lead = phone("Lea", "#seek", role="lead")
    page.tap("text=Begin")
    answers = 0
    while still_asking(page):
        assert "Kit looks for a light" in lead.locator(".place").inner_text()
        said = page.locator(".far").inner_text()
        page.tap("text=Mine breathes" if breathes(server) else "text=Mine does not")
        page.wait_for_function("(was) => document.querySelector('.far')?.innerText !== was", arg=said)
        answers += 1
    assert answers <= 6  # some fifty lights of the demo
    assert page.locator(".it .channel").inner_text() == "3"
    for button in page.locator(".place > button").all():
        box = button.bounding_box()
        assert box
        assert box["height"] >= 64
        assert box["y"] + box["height"] <= 844 - 64
    page.tap("text=Yes, this one")
    page.wait_for_selector("[data-screen=fixture] .tag >> text=3")
    assert server.phone("lead").rig["seek"] is None
    let_go_of_all(server)


def test_a_light_that_is_none_of_them_is_said_so_and_leads_on(phone: PhoneOf, server: Server) -> None:
    page = phone("Kit", "#seek")
    page.tap("text=Begin")
    while still_asking(page):
        said = page.locator(".far").inner_text()
        page.tap("text=Mine does not")
        page.wait_for_function("(was) => document.querySelector('.far')?.innerText !== was", arg=said)
    page.tap("text=No, none of them")
    page.wait_for_selector("text=It answers to no number of this rig")
    page.tap("text=Who answered instead?")
    page.wait_for_selector("[data-screen=instead]")


def test_a_handful_of_answers_is_explained_and_the_patch_can_follow(phone: PhoneOf, server: Server) -> None:
    page = phone("Lea", "#instead", role="lead")
    page.fill("#asked", "21")
    assert "LX 1" in page.locator(".who").inner_text()
    page.tap("text=Light it up")
    server.phone("lead").until(lambda: server.phone("lead").rig["fixtures"]["demo-21"]["holder"], "its light")
    page.fill("#lit", "22")
    page.tap("text=Add")
    page.wait_for_selector("article >> text=have each other's address")
    page.tap("text=To be sure, ask for 22")
    assert page.input_value("#asked") == "22"
    page.fill("#lit", "21")
    page.tap("text=Add")
    page.wait_for_function("() => document.querySelectorAll('.answers > li').length === 2")
    page.wait_for_selector("article >> text=21 (LX 1 unit 1) and 22")
    before = {f["id"]: f["address"] for f in server.client().get("/api/fixtures").json()}
    page.locator("article fc-hold").first.locator("button").focus()
    page.keyboard.down("Enter")
    page.wait_for_selector("text=The patch says now")
    page.keyboard.up("Enter")
    after = {f["id"]: f["address"] for f in server.client().get("/api/fixtures").json()}
    assert (after["demo-21"], after["demo-22"]) == (before["demo-22"], before["demo-21"])
    changes = server.client().get("/api/changes?limit=10").json()
    patch = next(change["change"] for change in changes if "patch" in change["what"])
    told = server.phone("lead").ask("undo", change=patch, over=True)
    assert told["is"] == "ok", told
    page.fill("#asked", "9999")
    page.tap("text=Nothing came up")
    assert "No fixture has channel 9999." in page.locator("form [role=alert]").inner_text()
    let_go_of_all(server)
