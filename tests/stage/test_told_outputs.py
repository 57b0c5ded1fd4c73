"""Where universes go, in words."""

from dataclasses import replace

import pytest

from server.stage.commands_outputs import SetRoute, SetSync
from server.stage.outputs import Output, Route, Sync
from server.stage.state import Before
from server.stage.told import told
from server.stage.told_outputs import spoken_output
from tests.rigs import state_with

__all__: list[str] = []

GROUP = Output("sacn", "multicast")


@pytest.mark.parametrize(
    ("output", "words"),
    [
        (GROUP, "sACN 300 by multicast, priority 90"),
        (Output("sacn", "multicast6", priority=120), "sACN 300 by IPv6 multicast, priority 120"),
        (Output("sacn", "host", "10.0.0.21", 9000), "sACN 300 to 10.0.0.21:9000, priority 90"),
        (replace(GROUP, number=7, interface="2.0.0.5"), "sACN 7 by multicast, priority 90, by 2.0.0.5"),
        (replace(GROUP, most_hz=20.0), "sACN 300 by multicast, priority 90, 20 times a second at most"),
        # Art-Net 4, Universe Addressing: 299 is 0x012b.
        (Output("artnet", "nodes"), "Art-Net 299 (1:2:11) to the nodes that serve it"),
        (Output("artnet", "broadcast"), "Art-Net 299 (1:2:11) to everybody on the network"),
        (Output("artnet", "host", "10.0.0.22", name="Bar"), "Bar: Art-Net 299 (1:2:11) to 10.0.0.22"),
    ],
)
def test_an_output_in_words(output: Output, words: str) -> None:
    assert spoken_output(output, 300, 1, 90) == words


def test_a_universe_that_art_net_has_no_number_for() -> None:
    told = spoken_output(Output("artnet", "nodes"), 40000, 0, 100)
    assert told == "not by Art-Net, which has no number for it"


@pytest.mark.parametrize(
    ("route", "words"),
    [
        (None, "Universe 3 goes as usual again."),
        (Route(steady=True), "Universe 3 goes as usual, always at full rate."),
        (Route(steady=False), "Universe 3 goes as usual, at full rate only while something changes."),
        (Route((GROUP,)), "Universe 3 goes: sACN by multicast."),
        (
            Route((replace(GROUP, number=7), Output("artnet", "host", "10.0.0.22"))),
            "Universe 3 goes: sACN by multicast as 7; Art-Net to 10.0.0.22.",
        ),
    ],
)
def test_a_change_in_words(route: Route | None, words: str) -> None:
    state = state_with()
    if route is not None:
        state.routes[3] = route
    assert told(SetRoute("ann", 3, route), state, Before()) == words


@pytest.mark.parametrize(
    ("was", "sync", "words"),
    [
        (None, Sync(), "Receivers are not synchronised any more."),
        (Sync(), Sync(7), "Receivers are synchronised: sACN 7."),
        (Sync(7), Sync(7, True, 2.5), "Receivers are synchronised: sACN 7, ArtSync."),
        (Sync(), Sync(0, False, 2.5), "The pause before synchronisation is 2.5 ms."),
        (Sync(7, pause_ms=2.5), Sync(7), "The pause before synchronisation is as usual again."),
    ],
)
def test_synchronisation_in_words(was: Sync | None, sync: Sync, words: str) -> None:
    state = state_with()
    state.sync = sync
    assert told(SetSync("ann", sync), state, Before(sync=was)) == words
