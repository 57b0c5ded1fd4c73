"""Where universes go: the lead decides, and never so that two pictures come to one place."""

from dataclasses import replace
from math import nan

import pytest

from server.rig.universe import OffLimits
from server.stage import events
from server.stage.carried import carried, put_in
from server.stage.commands import Undo
from server.stage.commands_outputs import SetRoute, SetSync
from server.stage.decide import Rules
from server.stage.outputs import NO_ROUTE, UNSYNCED, Output, Route, Sync, Way
from server.stage.stage import Stage
from tests.rigs import done, refused, stage_with, unit

__all__: list[str] = []

GROUP, NODES = Output("sacn", "multicast"), Output("artnet", "nodes")
HOST = Output("sacn", "host", "10.0.0.21")
NODE = Output("artnet", "host", "10.0.0.22")
WAYS = (Way("eth0", "10.0.0.5", "10.0.0.255", 2), Way("eth1", "2.0.0.5", "2.255.255.255", 3))


def route(*outputs: Output, steady: bool | None = None) -> Route:
    return Route(outputs, steady)


def two() -> Stage:
    """A stage with fixtures on universes 1 and 7."""
    return Stage(Rules(), stage_with(unit("one", universe=1), unit("seven", universe=7)).state)


def test_a_universe_gets_outputs_of_its_own_and_gives_them_back() -> None:
    stage, own = two(), route(replace(HOST, name="Bar", priority=120), NODES, steady=True)
    happened = done(stage, SetRoute("ann", 7, own, WAYS))
    assert happened[0] == events.RouteSet("ann", 7, own)
    assert stage.state.routes == {7: own}
    assert done(stage, SetRoute("ann", 7, own, WAYS)) == []
    assert done(stage, SetRoute("ann", 7, NO_ROUTE, WAYS))[0] == events.RouteSet("ann", 7, None)
    assert stage.state.routes == {}
    assert done(stage, SetRoute("ann", 7, None, WAYS)) == []


@pytest.mark.parametrize("who", ["mo", "hal"])
def test_nobody_but_the_lead_decides(who: str) -> None:
    for ask in (SetRoute(who, 1, route(HOST)), SetSync(who, Sync(7))):
        assert refused(two(), ask).why == "Only the lead can do that."


@pytest.mark.parametrize(
    ("output", "words"),
    [
        (Output("sacn", "nodes"), "no such kind"),
        (Output("artnet", "multicast"), "no such kind"),
        (replace(HOST, host="node.local"), 'like 10.0.0.21, not "node.local"'),
        (replace(HOST, host=""), 'like 10.0.0.21, not ""'),
        (replace(HOST, host="239.255.0.1"), "address of one machine is wanted"),
        (replace(HOST, host="255.255.255.255"), "address of one machine is wanted"),
        (replace(HOST, host="0.0.0.0"), "address of one machine is wanted"),
        (replace(HOST, port=0), "Port 0 is not 1 to 65535"),
        # E1.31-2018, 6.2.3: 0 to 200; 9.1.1: universes 1 to 63999.
        (replace(GROUP, priority=201), "from 0 to 200, not 201"),
        (replace(GROUP, number=64000), "Universes of sACN go from 1 to 63999, not 64000"),
        (replace(GROUP, number=0), "not 0"),
        # Art-Net 4, Universe Addressing: 15 bits.
        (replace(NODES, number=32768), "Port-Addresses go from 0 to 32767, not 32768"),
        (replace(GROUP, most_hz=45.0), "1 to 44 times a second, not 45"),
        (replace(GROUP, most_hz=0.5), "not 0.5"),
        (replace(GROUP, most_hz=float("nan")), "not nan"),
        (replace(GROUP, name="x" * 41), "up to 40 characters"),
        (replace(GROUP, interface="10.9.9.9"), "no network with the address 10.9.9.9 now"),
        (replace(NODE, host="10.0.0.255"), "everybody on the network (10.0.0.255)"),
    ],
)
def test_what_cannot_be_sent_is_refused_in_words(output: Output, words: str) -> None:
    why = refused(two(), SetRoute("ann", 7, route(output), WAYS)).why
    assert words in why


def test_the_edges_of_what_can_be_sent_are_taken() -> None:
    outputs = (
        replace(GROUP, priority=0, number=63999, most_hz=1.0),
        replace(GROUP, to="multicast6", priority=200, interface="2.0.0.5"),
        replace(NODES, number=32767, most_hz=44.0),
        replace(NODE, number=0, port=65535),
    )
    assert done(two(), SetRoute("ann", 7, route(*outputs), WAYS))


def test_without_a_network_chosen_only_machines_can_be_sent_to() -> None:
    why = refused(two(), SetRoute("ann", 7, route(GROUP), WAYS, has_main=False)).why
    assert "choose one for this output" in why
    for output in (HOST, replace(GROUP, interface="2.0.0.5")):
        assert done(two(), SetRoute("ann", 7, route(output), WAYS, has_main=False))


@pytest.mark.parametrize(
    ("own", "meets"),
    [
        # Universe 1 goes as usual: by multicast as 1, and as Art-Net 1 to whichever nodes serve it.
        (replace(GROUP, number=1), True),
        (Output("sacn", "multicast6", number=1), True),
        (replace(HOST, number=1), True),  # that machine may have joined the group, too
        (replace(HOST, number=1, port=9000), False),
        (replace(GROUP, number=1, interface="2.0.0.5"), False),
        (replace(GROUP, number=2), False),
        (replace(NODES, number=1), True),
        (replace(NODE, number=1), True),
        (Output("artnet", "broadcast", number=1), True),
        (replace(NODES, number=1, interface="2.0.0.5"), False),
    ],
)
def test_two_universes_never_come_to_one_place(own: Output, meets: bool) -> None:
    ask = SetRoute("ann", 7, route(own), WAYS)
    if meets:
        assert refused(two(), ask).why.startswith("Universe 1 goes there already, as 1:")
    else:
        assert done(two(), ask)


def test_two_machines_are_two_places_and_one_machine_is_one() -> None:
    stage = Stage(Rules(usual=(HOST, NODE)), two().state)
    assert done(stage, SetRoute("ann", 7, route(replace(HOST, host="10.0.0.99", number=1)), WAYS))
    assert "Universe 1" in refused(stage, SetRoute("ann", 7, route(replace(HOST, number=1)), WAYS)).why


def test_the_offset_of_the_settings_counts() -> None:
    stage = Stage(Rules(offset=1), two().state)  # universe 1 goes to Port-Address 0
    assert done(stage, SetRoute("ann", 7, route(replace(NODES, number=1)), WAYS))
    assert "as 0" in refused(stage, SetRoute("ann", 7, route(replace(NODES, number=0)), WAYS)).why


def test_one_universe_may_go_several_ways_but_not_twice_to_one() -> None:
    group6 = Output("sacn", "multicast6")
    assert done(two(), SetRoute("ann", 7, route(GROUP, group6, HOST, NODES, NODE), WAYS))
    twice = SetRoute("ann", 7, route(HOST, replace(HOST, priority=1)), WAYS)
    assert refused(two(), twice).why == "Two of these outputs go to one place."
    # The same written out, and the same machine by another way (to a receiver it is one source).
    for same in (
        replace(HOST, number=7),
        replace(HOST, port=5568),
        replace(HOST, interface="2.0.0.5"),
        replace(GROUP, number=7),
        replace(NODES, number=7),
        replace(NODE, port=6454),
    ):
        plain = replace(same, number=None, port=None, interface="")
        asked = SetRoute("ann", 7, route(plain, same), WAYS)
        assert refused(two(), asked).why == "Two of these outputs go to one place."
        assert done(two(), SetRoute("ann", 7, route(plain, replace(same, number=8)), WAYS))
    many = [replace(HOST, host=f"10.0.0.{n}") for n in range(1, 10)]
    assert done(two(), SetRoute("ann", 7, route(*many[:8]), WAYS))
    assert "up to 8 outputs" in refused(two(), SetRoute("ann", 7, route(*many), WAYS)).why
    rates = [replace(out, most_hz=10.0 + at) for at, out in enumerate(many[:4])]
    assert done(two(), SetRoute("ann", 7, route(*rates[:3]), WAYS))
    assert "up to 3 different rates" in refused(two(), SetRoute("ann", 7, route(*rates), WAYS)).why


def test_synchronisation_is_for_the_whole_show() -> None:
    stage = two()
    assert done(stage, SetSync("ann", Sync(7962, True)))[0] == events.SyncSet("ann", Sync(7962, True))
    assert stage.state.sync == Sync(7962, True)
    assert done(stage, SetSync("ann", Sync(7962, True))) == []
    for universe in (-1, 64000):
        assert "from 1 to 63999" in refused(stage, SetSync("ann", Sync(universe))).why
    for pause_ms in (-0.1, 10.1, nan):
        assert "0 to 10 ms" in refused(stage, SetSync("ann", Sync(7, pause_ms=pause_ms))).why
    for pause_ms in (0.0, 10.0):
        done(stage, SetSync("ann", Sync(7962, True, pause_ms)))
        assert stage.state.sync.pause_ms == pause_ms
    done(stage, Undo("ann", 3))
    done(stage, Undo("ann", 2))
    assert stage.state.sync == Sync(7962, True)
    done(stage, Undo("ann", 1))
    assert stage.state.sync == UNSYNCED


def test_it_is_undone_and_done_again_by_the_same_rules() -> None:
    stage, spare = two(), replace(HOST, port=9000)
    first, second = route(spare), route(NODE, steady=False)
    done(stage, SetRoute("ann", 7, first, WAYS))
    done(stage, SetRoute("ann", 7, second, WAYS))
    for there in (first, second, first):
        done(stage, Undo("ann", 2))
        assert stage.state.routes == {7: there}
    done(stage, Undo("ann", 1))
    assert stage.state.routes == {}
    # Meanwhile something else has come to that place.
    done(stage, SetRoute("ann", 1, route(replace(spare, number=7)), WAYS))
    assert "Universe 1 goes there already" in refused(stage, Undo("ann", 1)).why


def test_it_stays_with_the_laptop_when_another_show_comes() -> None:
    stage = two()
    done(stage, SetRoute("ann", 7, route(HOST), WAYS))
    done(stage, SetSync("ann", Sync(7)))
    put_in(stage.state, carried(stage_with().state))
    assert (stage.state.routes, stage.state.sync) == ({7: route(HOST)}, Sync(7))


def test_a_show_has_routes_for_as_many_universes_as_can_be_sent() -> None:
    stage = stage_with()
    stage.state.routes = {universe: route(HOST) for universe in range(1, 1025)}
    assert "1024 universes" in refused(stage, SetRoute("ann", 2000, route(HOST), WAYS)).why
    assert done(stage, SetRoute("ann", 5, route(HOST, steady=True), WAYS))
    assert refused(stage, SetRoute("ann", 0, route(HOST), WAYS)).why.startswith("Universes go from 1")


@pytest.mark.parametrize(
    ("own", "offset", "why"),
    [
        (replace(GROUP, number=9), 0, True),
        (replace(HOST, number=9), 0, True),
        (replace(NODES, number=9), 0, True),
        (replace(NODES, number=8), 1, True),
        (replace(NODES, number=9), 1, False),
        (replace(GROUP, number=10), 0, False),
    ],
)
def test_nothing_goes_by_the_number_of_slots_that_are_off_limits(own: Output, offset: int, why: bool) -> None:
    rules = Rules((OffLimits(9, 400, 449, "aisle light"),), offset=offset)
    stage = Stage(rules, two().state)
    if why:
        assert "aisle light" in refused(stage, SetRoute("ann", 7, route(own), WAYS)).why
    else:
        assert done(stage, SetRoute("ann", 7, route(own), WAYS))


def test_a_universe_with_slots_off_limits_may_go_elsewhere() -> None:
    stage = Stage(Rules((OffLimits(7, 400, 449, "aisle light"),)), two().state)
    assert done(stage, SetRoute("ann", 7, route(replace(GROUP, number=107)), WAYS))
