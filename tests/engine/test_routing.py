"""Where each universe is sent, as the output process is told."""

from dataclasses import replace

from server.engine.routing import Ear, Routing
from server.engine.terms import SILENT, USUAL, Terms
from server.output.plan import ArtNet, ArtSyncTo, Plan, Sacn
from server.rig.universe import OffLimits
from server.stage.outputs import UNSYNCED, Output, Route, Sync, Way

__all__: list[str] = []

CID = "8fb4a4f6-5d8d-4a36-9f35-0e3f9c3f2b11"


def _nobody(port_address: int, interface: str) -> list[str]:
    return []


def test_by_itself_it_sends_by_multicast_and_to_the_nodes_that_want_the_universe() -> None:
    plan = Routing(CID, "x", priority=120).plan((5,), lambda port, _: [f"10.0.0.{port}"])
    assert plan.universes[0].outputs == (Sacn(None, priority=120), ArtNet("10.0.0.5", 6454, 5))


def test_with_machines_given_nothing_goes_anywhere_else() -> None:
    for given in ({"sacn_to": (("10.0.0.9", 5568),)}, {"artnet_to": (("10.0.0.9", 6454),)}):
        plan = Routing(CID, "x", **given).plan((1,), lambda port, _: ["10.0.0.1"])  # type: ignore[arg-type]
        assert [out.host for out in plan.universes[0].outputs] == ["10.0.0.9"]


def test_port_addresses_can_start_at_nought() -> None:
    plan = Routing(CID, "x", artnet_to=(("10.0.0.9", 6454),), artnet_offset=1).plan((1, 2), _nobody)
    assert [out.port_address for p in plan.universes for out in p.outputs if isinstance(out, ArtNet)] == [
        0,
        1,
    ]


def test_a_universe_beyond_the_last_port_address_goes_by_sacn_alone() -> None:
    # Art-Net 4: a Port-Address has 15 bits.
    routing = Routing(CID, "x", sacn_to=(("10.0.0.8", 5568),), artnet_to=(("10.0.0.9", 6454),))
    plan = routing.plan((32767, 32768), _nobody)
    assert [[type(out) for out in p.outputs] for p in plan.universes] == [[Sacn, ArtNet], [Sacn]]


def test_slots_off_limits_are_told_and_a_universe_wholly_off_limits_is_not_sent() -> None:
    limits = (OffLimits(1, 10, 20, "exit signs"), OffLimits(2, 1, 512, "hoists"))
    plan = Routing(CID, "x", off_limits=limits).plan((1, 2, 3), _nobody)
    assert [(p.universe, p.off_limits) for p in plan.universes] == [(1, ((10, 20),)), (3, ())]


def test_steady_universes_are_marked() -> None:
    plan = Routing(CID, "x", steady=frozenset({2})).plan((1, 2), _nobody)
    assert [p.steady for p in plan.universes] == [False, True]


def test_beside_a_console_a_universe_leaves_on_its_own_terms() -> None:
    routing = Routing(CID, "x", sacn_to=(("10.0.0.8", 5568),), artnet_to=(("10.0.0.9", 6454),))
    terms = {1: Terms(priority=101), 2: Terms(artnet=False), 3: SILENT}
    plan = routing.plan((1, 2, 3, 4), _nobody, lambda universe: terms.get(universe, USUAL))
    sacn, art = Sacn("10.0.0.8", 5568, 100), [ArtNet("10.0.0.9", 6454, u) for u in range(5)]
    above = Sacn("10.0.0.8", 5568, 101)
    assert [p.outputs for p in plan.universes] == [(above, art[1]), (sacn,), (), (sacn, art[4])]


MAIN, SIDE = Way("eth0", "10.0.0.5", "10.0.0.255", 2), Way("eth1", "2.0.0.5", "2.255.255.255", 3)
TWO = Routing(CID, "x", "10.0.0.5", (MAIN, SIDE), priority=90)


def _plan(
    routes: dict[int, Route], routing: Routing = TWO, terms: Terms = USUAL, sync: Sync = UNSYNCED
) -> Plan:
    """Of universes 1 to 3; a node on each network serves every Port-Address."""

    def nodes(port_address: int, interface: str) -> list[str]:
        return ["2.0.0.9"] if interface == SIDE.address else ["10.0.0.9"]

    return routing.plan((1, 2, 3), nodes, lambda _: terms, routes, sync)


def _outputs(plan: Plan) -> list[tuple[Sacn | ArtNet, ...]]:
    return [planned.outputs for planned in plan.universes]


def test_a_universe_with_outputs_of_its_own_goes_there_and_the_others_as_usual() -> None:
    own = (
        Output("sacn", "host", "10.0.0.21", 9000, "Bar", 120, 7, most_hz=20.0),
        Output("sacn", "multicast", interface="2.0.0.5"),
        Output("artnet", "nodes", number=30, interface="2.0.0.5"),
        Output("artnet", "host", "10.0.0.22", number=0),
        Output("artnet", "broadcast", number=9),
    )
    first, second, third = _outputs(_plan({2: Route(own)}))
    assert first == (Sacn(None, priority=90), ArtNet("10.0.0.9", port_address=1))
    assert third == (Sacn(None, priority=90), ArtNet("10.0.0.9", port_address=3))
    assert second == (
        Sacn("10.0.0.21", 9000, 120, 7, most_hz=20.0),
        Sacn(None, priority=90, interface="2.0.0.5"),
        ArtNet("2.0.0.9", port_address=30, interface="2.0.0.5"),
        ArtNet("10.0.0.22", port_address=0),
        ArtNet("10.0.0.255", port_address=9),
    )


def test_ipv6_multicast_leaves_by_the_number_of_its_interface() -> None:
    own = (Output("sacn", "multicast6"), Output("sacn", "multicast6", interface="2.0.0.5"))
    assert _outputs(_plan({1: Route(own)}))[0] == (
        Sacn(None, priority=90, ipv6=2),
        Sacn(None, priority=90, ipv6=3),
    )


def test_what_leaves_by_an_interface_that_is_gone_leaves_by_no_other() -> None:
    own = (
        Output("sacn", "multicast", interface="2.0.0.5"),
        Output("artnet", "nodes", interface="2.0.0.5"),
        Output("sacn", "host", "10.0.0.21"),
    )
    gone = replace(TWO, ways=(MAIN,))
    assert _outputs(_plan({1: Route(own)}, gone))[0] == (Sacn("10.0.0.21", priority=90),)


def test_the_terms_beside_a_console_hold_for_outputs_of_its_own_too() -> None:
    own = (Output("sacn", "multicast", priority=150), Output("artnet", "host", "10.0.0.22"))
    low = _plan({1: Route(own)}, terms=Terms(artnet=False, priority=40, per_slot=True)).universes[0]
    assert (low.outputs, low.per_slot) == ((Sacn(None, priority=40),), True)
    assert _outputs(_plan({1: Route(own)}, terms=SILENT))[0] == ()


def test_where_two_universes_come_to_one_place_the_one_that_was_told_to_goes_there() -> None:
    first, second, third = _outputs(_plan({3: Route((Output("artnet", "nodes", number=1),))}))
    assert first == (Sacn(None, priority=90),)
    assert third == (ArtNet("10.0.0.9", port_address=1),)
    assert second == (Sacn(None, priority=90), ArtNet("10.0.0.9", port_address=2))
    # A node that is found and given by hand is one place.
    both = (Output("artnet", "nodes"), Output("artnet", "host", "10.0.0.9"))
    assert _outputs(_plan({2: Route(both)}))[1] == (ArtNet("10.0.0.9", port_address=2),)


def test_what_is_only_still_there_gives_way_to_all_others() -> None:
    old, new = (
        Route((Output("sacn", "multicast", number=9),)),
        Route((Output("sacn", "multicast", number=9),)),
    )
    plan = TWO.plan((1, 2), _nobody, routes={1: old, 2: new}, last={1})
    assert _outputs(plan) == [(), (Sacn(None, priority=90, universe=9),)]


def test_steadiness_of_its_own_outweighs_the_settings() -> None:
    routing = replace(TWO, steady=frozenset({1, 2}))
    plan = _plan({1: Route(steady=False), 3: Route(steady=True)}, routing)
    assert [planned.steady for planned in plan.universes] == [False, True, True]


def test_synchronisation_goes_to_every_network_that_art_net_leaves_by() -> None:
    own = {2: Route((Output("artnet", "nodes", interface="2.0.0.5"),))}
    plan = _plan(own, sync=Sync(7962, True))
    assert (plan.sync, plan.artnet_sync) == (
        7962,
        (ArtSyncTo("10.0.0.255"), ArtSyncTo("2.255.255.255", interface="2.0.0.5")),
    )
    assert _plan(own, sync=Sync(7962)).artnet_sync == ()
    # Without a network chosen it goes to the machines given.
    given = Routing(CID, "x", artnet_to=(("10.0.0.9", 6454),))
    assert given.plan((1, 2), _nobody, sync=Sync(0, True)).artnet_sync == (ArtSyncTo("10.0.0.9"),)
    # At another port nobody hears what goes to everybody.
    elsewhere = replace(TWO, artnet_to=(("10.0.0.9", 7000),), sync_pause_s=0.004)
    plan = elsewhere.plan((1, 2), _nobody, sync=Sync(0, True))
    assert (plan.artnet_sync, plan.sync_pause_s) == ((ArtSyncTo("10.0.0.9", 7000),), 0.004)
    # What the lead has set on the page goes before the setting.
    assert elsewhere.plan((1, 2), _nobody, sync=Sync(0, True, 0.0)).sync_pause_s == 0
    assert elsewhere.plan((1, 2), _nobody, sync=Sync(0, True, 2.5)).sync_pause_s == 0.0025


def test_where_nothing_leaves_by_art_net_beside_a_console_nobody_is_told_to_wait_for_us() -> None:
    routing = Routing(CID, "x", sacn_to=(("10.0.0.8", 5568),), artnet_to=(("10.0.0.9", 6454),))
    for terms in (Terms(artnet=False, priority=99), SILENT):
        plan = routing.plan((1,), _nobody, lambda _, terms=terms: terms, sync=Sync(0, True))  # type: ignore[misc]
        assert plan.artnet_sync == ()
    mixed = {1: SILENT, 2: USUAL}
    plan = routing.plan((1, 2), _nobody, mixed.__getitem__, sync=Sync(0, True))
    assert plan.artnet_sync == (ArtSyncTo("10.0.0.9"),)


def test_nodes_are_looked_for_where_levels_go_to_them() -> None:
    side = {2: Route((Output("artnet", "nodes", number=30, interface="2.0.0.5"),))}
    assert TWO.node_networks((1, 2), side) == [MAIN, SIDE]
    given = replace(TWO, artnet_to=(("10.0.0.9", 6454),))
    assert given.node_networks((1, 2)) == []
    assert given.node_networks((1, 2), side) == [SIDE]
    assert given.port_addresses((1, 2), side) == {1: 1, 30: 2}
    assert given.port_addresses((1, 2), side, to_nodes=True) == {30: 2}
    both = {2: Route((Output("artnet", "host", "10.0.0.9", number=30), Output("artnet", "nodes", number=31)))}
    assert given.port_addresses((1, 2), both) == {1: 1, 30: 2, 31: 2}
    assert given.port_addresses((1, 2), both, to_nodes=True) == {31: 2}


def test_art_net_goes_to_everybody_as_usual_only_where_the_settings_say_so() -> None:
    everybody = replace(TWO, artnet_broadcast=True)
    assert everybody.plan((1,), _nobody).universes[0].outputs == (
        Sacn(None, priority=90),
        ArtNet("10.0.0.255", port_address=1),
    )


def test_consoles_are_heard_by_what_a_universe_is_called_where_it_goes() -> None:
    routes = {
        2: Route((Output("sacn", "multicast", number=700, priority=120), Output("sacn", "host", "10.0.0.9"))),
        3: Route((Output("artnet", "nodes", number=2),)),
    }
    sacn = {ear.number: who for ear, who in TWO.heard_as((1, 2, 3), routes).items() if ear.by == "sacn"}
    assert sacn == {1: (1,), 700: (2,), 2: (2,), 3: (3,)}
    # Where two are called alike, it is the one that was told to go there.
    artnet = {ear.number: who for ear, who in TWO.heard_as((1, 2, 3), routes).items() if ear.by == "artnet"}
    assert artnet == {1: (1,), 2: (3,)}
    assert Ear("artnet", 0, "") in replace(TWO, artnet_offset=1).heard_as((1,))


def test_universes_of_one_number_in_two_places_are_both_heard_each_on_its_network() -> None:
    routes = {
        1: Route((Output("sacn", "host", "10.0.0.9", number=7),)),
        2: Route((Output("sacn", "host", "10.0.0.8", number=7),)),
        3: Route((Output("sacn", "multicast", number=7, interface="2.0.0.5"), Output("sacn", "multicast"))),
    }
    heard = TWO.heard_as((1, 2, 3), routes)
    assert heard[Ear("sacn", 7, "")] == (1, 2)
    assert heard[Ear("sacn", 7, "2.0.0.5")] == heard[Ear("sacn", 3, "")] == (3,)
    assert TWO.ears(3, routes) == {Ear("sacn", 7, "2.0.0.5"), Ear("sacn", 3, "")}


def test_our_priority_is_the_highest_of_a_universes_outputs_by_sacn() -> None:
    routes = {
        2: Route((Output("sacn", "multicast", priority=120), Output("sacn", "host", "10.0.0.9"))),
        3: Route((Output("artnet", "nodes"),)),
    }
    assert [TWO.sacn_priority(universe, routes) for universe in (1, 2, 3)] == [90, 120, None]


def test_what_is_off_limits_since_it_was_told_to_go_there_goes_nowhere() -> None:
    routing = Routing(CID, "x", off_limits=(OffLimits(9, 400, 449, "aisle light"),))
    routes = {3: Route((Output("sacn", "multicast", number=9), Output("sacn", "host", "10.0.0.8", number=4)))}
    plan = routing.plan((3,), _nobody, routes=routes)
    assert plan.universes[0].outputs == (Sacn("10.0.0.8", 5568, 100, 4),)
