"""Where each universe is sent, as the output process is told."""

from server.engine.routing import Routing
from server.engine.terms import SILENT, USUAL, Terms
from server.output.plan import ArtNet, Sacn
from server.rig.universe import OffLimits

__all__: list[str] = []

CID = "8fb4a4f6-5d8d-4a36-9f35-0e3f9c3f2b11"


def _nobody(port_address: int) -> list[str]:
    return []


def test_by_itself_it_sends_by_multicast_and_to_the_nodes_that_want_the_universe() -> None:
    plan = Routing(CID, "x", priority=120).plan((5,), lambda port: [f"10.0.0.{port}"])
    assert plan.universes[0].outputs == (Sacn(None, priority=120), ArtNet("10.0.0.5", 6454, 5))


def test_with_machines_given_nothing_goes_anywhere_else() -> None:
    for given in ({"sacn_to": (("10.0.0.9", 5568),)}, {"artnet_to": (("10.0.0.9", 6454),)}):
        plan = Routing(CID, "x", **given).plan((1,), lambda port: ["10.0.0.1"])  # type: ignore[arg-type]
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
