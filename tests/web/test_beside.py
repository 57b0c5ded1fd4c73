"""Joining beside a console, on real phones: the lead decides on the page, and what leaves is so."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser
from sacn import sACNsender

from tests.consoles import drive, driven
from tests.servers import OPTIONS_AT, QUICK_PINS, TERMINATED, Server
from tests.web.care import hold, shows
from tests.web.conftest import NAME, phones
from tests.web.phones import PhoneOf

__all__: list[str] = []

PRIORITY_AT = 108  # E1.31-2018, Table 4-1
WAY = ".joins .way >> nth="


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Server, sACNsender]]:
    data = tmp_path_factory.mktemp("beside") / "data"
    with driven(data, "--listen=1", priority=120, name=NAME, first=QUICK_PINS) as there:
        yield there


@pytest.fixture(scope="module")
def server(both: tuple[Server, sACNsender]) -> Server:
    """One that listens first: a console is there before its first frame."""
    return both[0]


@pytest.fixture(scope="module")
def desk(both: tuple[Server, sACNsender]) -> sACNsender:
    return both[1]


@pytest.fixture
def phone(chromium: Browser, server: Server) -> Iterator[PhoneOf]:
    with phones(chromium, server) as one:
        yield one


def newest(server: Server) -> bytes:
    packets = server.sacn.sacn(1)
    return packets[-1][1] if packets else bytes(638)


def test_the_lead_decides_how_to_join_and_so_it_leaves(
    phone: PhoneOf, server: Server, desk: sACNsender
) -> None:
    mo, kit = phone("Mo", "#rig"), phone("Kit", "#rig", role="lead")
    shows(mo, ".alerts", "Universe 1 waits: somebody else drives it, and the lead has to decide")
    assert mo.locator("a[href='#beside']:visible").count() == 0
    shows(kit, ".alerts", "Front desk drives universe 1 (sACN, priority 120, since ")
    kit.tap("text=Decide how to join the console")
    shows(kit, ".others", "Front desk")
    shows(kit, ".now", "Nothing of ours is sent. It waits for you to say how to join.")
    assert server.sacn.sacn(1) == []

    # What nodes would show is said before anything is chosen, with the priorities that are heard.
    kit.tap(f"{WAY}2")
    shows(
        kit, ".joins dl", "Slots in hand as we send them (121 above 120), all else as the console sends it."
    )
    shows(kit, ".joins dl", "The console: its 120 is above our 119. Ours shows when it stops.")
    kit.tap(f"{WAY}3")
    kit.tap(".joins .main")
    server.sacn.until(lambda: newest(server)[PRIORITY_AT] == 119, "a priority below the console's")
    shows(kit, ".now", "Ours only fills silence, priority 119.")
    shows(kit, ".joins > [data-chosen]", "so it is now")

    # Level with a console, or above it without its levels, takes a press that is held.
    kit.tap(f"{WAY}0")
    shows(kit, ".joins dl", "The console: its 120 is above our 100. Ours shows when it stops.")
    assert kit.locator(".joins fc-hold").count() == 0
    drive(desk, 1, (11, 22), priority=100)
    shows(kit, ".joins dl", "A mixture: the console has 100, too")
    hold(kit, ".joins fc-hold button")
    server.sacn.until(lambda: newest(server)[PRIORITY_AT] == 100, "our own priority")

    # Nobody's light ends under them by one tap.
    server.phone("crew", "Ana").ask("aloft", position="Bridge 1")
    kit.tap(f"{WAY}4")
    shows(kit, ".joins fc-hold", "Hold: somebody is aloft, and their light may go.")
    hold(kit, ".joins fc-hold button")
    server.sacn.until(lambda: newest(server)[OPTIONS_AT] & TERMINATED, "the end of its stream")
    shows(kit, ".now", "Nothing is sent.")

    # What was borrowed is shown, and given back with a report.
    kit.tap(f"{WAY}2")
    kit.tap(".joins .main")
    shows(kit, ".now", "Slots in hand are above the console, priority 101.")
    server.phone("crew", "Pip").ask("set", fixture="demo-1", values={"Dimmer": {"raw": 200}})
    shows(kit, ".loans", "Pip, since ")
    shows(kit, ".loans", "; the console sent 11 and still does")
    lead = server.phone("lead")
    lead.ask("set", fixture="demo-2", values={"Dimmer": {"raw": 0}})
    lead.ask("out_of_use", fixture="demo-2", reason="Broken lens")
    shows(kit, ".stays", "Out of use: 2. Held until nothing of ours is sent")
    lead.ask("out_of_use", fixture="demo-2", reason=None)
    lead.ask("let_go", fixture="demo-2")
    kit.locator(".stays > li").wait_for(state="detached")
    kit.locator(".loans > li:nth-child(2)").wait_for(state="detached")
    kit.tap(".leave")
    shows(kit, "#say", "Somebody is aloft (Ana). Giving universe 1 back may take their light")
    hold(kit, "#say fc-hold button")
    shows(kit, ".report", "1 of 1 borrowed slots are back. All 512 slots were the console’s, octet for octet")
    shows(kit, ".now", "Nothing is sent.")
