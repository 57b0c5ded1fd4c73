"""What is read off the plan of an output process that is sending already."""

from server.engine.routing import Routing
from server.engine.running import running_as
from server.output.plan import ArtNet, Sacn, UniversePlan
from server.stage.outputs import USUAL, Output, Route, Way

__all__: list[str] = []

MAIN, SIDE = Way("eth0", "10.0.0.5", "10.0.0.255", 2), Way("eth1", "2.0.0.5", "2.255.255.255", 3)
TWO = Routing("8fb4a4f6-5d8d-4a36-9f35-0e3f9c3f2b11", "x", "10.0.0.5", (MAIN, SIDE))


def test_what_goes_where_it_is_to_go_is_as_wanted_whatever_else_is_missing() -> None:
    nodes_to_come = UniversePlan(1, (Sacn(),))
    beside_a_console = UniversePlan(1, (Sacn(priority=99),), per_slot=True)
    waiting = UniversePlan(1, ())
    for planned in (nodes_to_come, beside_a_console, waiting):
        assert running_as(TWO, planned, USUAL) is None


def test_outputs_under_another_number_are_read_off_whole() -> None:
    sent = (
        Sacn("10.0.0.9", 9000, 120, 7, most_hz=20.0),
        Sacn(None, 5568, 100, 7),
        Sacn(None, 5568, 100, 7, ipv6=3),
        ArtNet("10.0.0.8", 6454, 5, "2.0.0.5"),
    )
    route = running_as(TWO, UniversePlan(1, sent, steady=True), USUAL)
    assert route == Route(
        (
            Output("sacn", "host", "10.0.0.9", 9000, "", 120, 7, most_hz=20.0),
            Output("sacn", "multicast", priority=100, number=7),
            Output("sacn", "multicast6", priority=100, number=7, interface="2.0.0.5"),
            Output("artnet", "host", "10.0.0.8", 6454, number=5, interface="2.0.0.5"),
        ),
        steady=True,
    )
    # What is planned of it is what was running.
    plan = TWO.plan((1,), lambda *_: (), routes={1: route})
    assert plan.universes == (UniversePlan(1, sent, steady=True),)


def test_a_number_that_is_to_come_beside_the_others_is_not_as_wanted_yet() -> None:
    more = (*USUAL, Output("sacn", "multicast", number=101))
    assert running_as(TWO, UniversePlan(1, (Sacn(),)), more) is not None
