"""When a universe that is being sent leaves under numbers that are new to it."""

from server.beside.moving import Moving
from server.engine.routing import Routing
from server.hearing.sources import Sources
from server.stage.outputs import Output, Route
from server.stage.shared import Shared
from tests.hearing.packets import DESK, OURS, sacn

__all__: list[str] = []

ROUTING = Routing("8fb4a4f6-5d8d-4a36-9f35-0e3f9c3f2b11", "x")
SIDE = "2.0.0.5"
MULTICAST, BY_SIDE = Output("sacn", "multicast"), Output("sacn", "multicast", interface=SIDE)


def to(*numbers: int) -> Route:
    return Route(tuple(Output("sacn", "multicast", number=number) for number in numbers))


class Venue:
    """Universe 1 of a show, which is sent as usual, and a network that a test puts packets on."""

    def __init__(self, listen_s: float = 3.0) -> None:
        self.moving = Moving(listen_s)
        self.ahead = Sources(OURS.bytes)
        self.wanted: dict[int, Route] = {}
        self.shared: Shared | None = None
        self.known = True
        self.sent = True
        self.networks = {""}
        self._sequence = 0
        self.go(None)

    def go(self, route: Route | None) -> set[int]:
        self.wanted = {1: route} if route else {}
        anew = self.moving.follow((1,), self.wanted, ROUTING.ears, lambda _: self.sent, self.there)
        self.ahead.want(self.moving.moves)
        return anew

    def there(self, output: Output) -> bool:
        return output.interface in self.networks

    def desk(self, now: float, universe: int = 101) -> None:
        self._sequence += 1
        packet = sacn(DESK, [9], universe=universe, sequence=self._sequence)
        self.ahead.take_sacn(packet, "10.0.0.9", now, 1)

    def look(self, now: float) -> bool:
        """Whether it may leave under its new numbers."""
        done = self.moving.look(
            lambda u: self.ahead.live(u, now), lambda _: self.shared, lambda *_: self.known, now
        )
        for universe in done:
            self.moving.settle(universe)
        return bool(done)

    def goes_as(self) -> set[int]:
        return {ear.number for ear in ROUTING.ears(1, self.moving.routes) if ear.by == "sacn"}


def test_it_goes_on_as_before_until_the_new_number_was_listened_to() -> None:
    venue = Venue()
    venue.go(to(101))
    assert not venue.look(50.0)  # the time runs from when its packets can be heard
    assert not venue.look(52.9)
    assert (venue.goes_as(), {ear.number for ear in venue.moving.ahead()}) == ({1}, {101})
    assert venue.look(53.0)
    assert (venue.goes_as(), venue.moving.moves) == ({101}, {})


def test_what_brings_no_new_number_is_done_at_once() -> None:
    venue = Venue()
    venue.go(Route((Output("sacn", "host", "10.0.0.9"), MULTICAST), steady=True))
    assert (venue.moving.moves, venue.moving.routes) == ({}, venue.wanted)
    # Another network is new, too: somebody may drive that number there.
    venue.networks.add(SIDE)
    venue.go(Route((MULTICAST, BY_SIDE)))
    assert list(venue.moving.moves) == [1]
    venue.go(Route((MULTICAST,)))
    assert venue.moving.moves == {}
    assert Venue(listen_s=0).go(to(101)) == set()


def test_whoever_drives_it_makes_it_wait_for_the_lead_and_then_for_its_levels() -> None:
    venue = Venue()
    venue.go(to(1, 101))
    venue.look(0.0)
    venue.desk(0.5)
    assert not venue.look(0.6)
    assert venue.moving.moves[1].where == "waiting"
    assert not venue.look(60.0)  # also when they have gone again
    assert venue.goes_as() == {1}
    venue.shared, venue.known = Shared("above", follow=True), False
    assert not venue.look(60.1)
    assert {ear.number: u for ear, u in venue.moving.heard({}).items()} == {101: (1,)}
    venue.known = True
    assert venue.look(60.2)
    assert venue.goes_as() == {1, 101}


def test_a_decision_shortens_no_listening() -> None:
    venue = Venue()
    venue.shared = Shared("alone")
    venue.go(to(101))
    venue.look(0.0)
    venue.desk(0.5)
    assert not venue.look(2.9)
    assert venue.look(3.0)


def test_to_yet_another_number_it_is_listened_to_anew_and_an_edit_beside_it_changes_nothing() -> None:
    venue = Venue()
    venue.go(to(101))
    venue.look(0.0)
    venue.desk(0.5)
    venue.look(1.0)
    venue.go(Route(to(101).outputs, steady=True))
    assert [move.where for move in venue.moving.moves.values()] == ["waiting"]
    venue.go(to(102))
    venue.desk(1.0)  # still on the other number
    assert not venue.look(1.1)
    assert [move.where for move in venue.moving.moves.values()] == ["listening"]
    assert venue.look(4.1)
    assert venue.goes_as() == {102}


def test_one_that_has_not_begun_is_listened_to_under_its_new_number_instead() -> None:
    venue = Venue()
    venue.sent = False
    assert venue.go(to(101)) == {1}
    assert venue.goes_as() == {101}
    assert venue.go(to(101)) == set()


def test_what_was_being_sent_elsewhere_before_a_restart_goes_on_there() -> None:
    venue = Venue()
    moving = Moving(3.0)
    moving.take_over({1: to(1)})
    moving.follow((1,), {1: to(101)}, ROUTING.ears, lambda _: True)
    assert moving.routes == {1: to(1)}
    assert list(moving.moves) == [1]
    assert venue.moving.moves == {}


def test_a_second_network_is_listened_to_when_it_comes_and_not_when_it_comes_back() -> None:
    venue = Venue()
    both = Route((MULTICAST, BY_SIDE))
    venue.go(both)
    assert (venue.moving.moves, venue.moving.routes) == ({}, {1: Route((MULTICAST,))})
    venue.networks.add(SIDE)
    venue.go(both)
    assert not venue.look(0.0)
    assert venue.moving.routes == {1: Route((MULTICAST,))}
    assert venue.moving.ahead() == {("sacn", 1, SIDE): (1,)}
    assert venue.look(3.0)
    assert venue.moving.routes == {1: both}
    for networks in ({""}, {"", SIDE}):
        venue.networks = networks
        venue.go(both)
        assert (venue.moving.moves, venue.moving.routes) == ({}, {1: both})


def test_what_goes_nowhere_before_its_network_comes_is_listened_to_anew_then() -> None:
    venue = Venue()
    side = Route((BY_SIDE,))
    assert venue.go(side) == set()
    assert (venue.moving.moves, venue.moving.routes) == ({}, {1: side})
    assert venue.go(side) == set()
    venue.networks.add(SIDE)
    assert venue.go(side) == {1}
    assert venue.go(side) == set()
    venue.networks.remove(SIDE)
    assert venue.go(side) == set()
    venue.networks.add(SIDE)
    assert venue.go(side) == set()
