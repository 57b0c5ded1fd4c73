"""When a universe begins: listened for first, and then as the lead decided."""

from collections.abc import Mapping

from server.beside.joining import Joining
from server.beside.rank import Rank
from server.engine.terms import SILENT, USUAL, Terms
from server.hearing.sources import Sources
from server.rig.universe import OffLimits
from server.stage.shared import Join, Shared
from tests.hearing.packets import DESK, OURS, sacn

__all__: list[str] = []


class Venue:
    """Universe 1 and 2 of a show, and a network that a test puts packets on."""

    def __init__(self, listen_s: float = 3.0, limits: tuple[OffLimits, ...] = ()) -> None:
        self.own = 100
        self.joining = Joining(listen_s, lambda _: self.own, limits)
        self.sources = Sources(OURS.bytes)
        self.sources.want((1, 2))
        self.shared: dict[int, Shared] = {}
        self.known = True
        self._sequence = 0

    def begin(self, running: Mapping[int, Rank] | None = None) -> None:
        self.joining.take_over(running or {})
        self.joining.follow((1, 2), self.shared)

    def desk(self, now: float, priority: int = 100) -> None:
        self._sequence += 1
        self.sources.take_sacn(sacn(DESK, [9], priority=priority, sequence=self._sequence), "10.0.0.9", now)

    def look(self, now: float) -> bool:
        heard = self.sources.universes()
        return self.joining.look(
            lambda u: self.sources.live(u, now), self.shared, lambda _: self.known, now, heard
        )

    def where(self) -> list[str]:
        return [one.where for one in self.joining.all().values()]

    def terms(self, universe: int = 1) -> Terms:
        return self.joining.terms(universe)


def test_nothing_leaves_before_the_time_is_over_and_then_it_does() -> None:
    venue = Venue()
    venue.begin()
    assert venue.terms() == SILENT
    assert not venue.look(50.0)  # the time runs from when its packets can be heard
    assert not venue.look(52.9)
    assert venue.where() == ["listening", "listening"]
    assert venue.look(53.0)
    assert venue.where() == ["joined", "joined"]
    assert venue.terms() == USUAL


def test_without_listening_it_leaves_at_once() -> None:
    venue = Venue(listen_s=0)
    venue.begin()
    assert venue.terms() == USUAL


def test_whoever_is_heard_first_makes_it_wait_for_the_lead_also_when_they_go_again() -> None:
    venue = Venue()
    venue.begin()
    venue.look(0.0)
    venue.desk(1.0)
    venue.look(1.1)
    assert venue.where() == ["waiting", "listening"]
    venue.look(60.0)
    assert venue.where() == ["waiting", "joined"]
    assert venue.terms() == SILENT
    venue.shared[1] = Shared("alone")
    assert venue.look(61.0)
    assert venue.terms() == USUAL


def test_who_comes_after_our_first_frame_stops_nothing() -> None:
    venue = Venue(listen_s=0)
    venue.begin()
    venue.look(0.0)
    venue.desk(1.0, priority=150)
    assert not venue.look(1.1)
    assert venue.terms() == USUAL


def test_what_is_decided_already_begins_at_once_or_once_it_carries_the_consoles_levels() -> None:
    venue = Venue()
    venue.shared = {1: Shared("above", follow=True), 2: Shared("alone")}
    venue.known = False
    venue.begin()
    venue.look(0.0)
    assert venue.where() == ["listening", "joined"]
    venue.desk(1.0, priority=120)
    venue.look(1.1)
    venue.desk(3.9, priority=120)
    venue.look(4.0)
    assert venue.terms() == SILENT  # heard, and not yet in what we hold ready
    venue.known = True
    assert venue.look(4.1)
    assert venue.terms() == Terms(priority=121)


def test_what_follows_nobody_begins_when_the_time_is_over() -> None:
    venue = Venue()
    venue.shared = {1: Shared("slots", follow=True)}
    venue.known = False
    venue.begin()
    venue.look(0.0)
    assert not venue.look(2.0)
    venue.look(3.0)
    assert venue.terms() == Terms(priority=1, per_slot=True)


def test_a_node_never_has_neither_while_slots_begin_to_outrank_the_console_and_cease_to() -> None:
    venue = Venue(listen_s=0)
    venue.shared = {1: Shared("above", follow=True)}
    venue.begin()
    seen = []
    joins: tuple[Join, ...] = (*("above", "slots", "slots", "slots", "below", "below"), "alone", "alone")
    for at, join in enumerate(joins):
        venue.shared[1] = Shared(join, follow=True)
        venue.desk(at)
        venue.look(at + 0.1)
        terms = venue.terms()
        seen.append((terms.priority, terms.per_slot, venue.joining.outranking().get(1)))
    assert seen == [
        (101, False, None),
        (101, False, (101, 101)),  # what is ours is worked out
        (101, True, (101, 101)),  # and told
        (99, True, (101, 99)),
        (99, True, (99, 99)),  # all have that of the packets before they have none
        (99, False, None),
        (None, False, None),
        (None, False, None),
    ]


def test_a_universe_waits_for_whoever_drives_it_by_now() -> None:
    venue = Venue()
    venue.begin()
    venue.desk(0.0)
    venue.look(0.1)
    before = venue.joining.all()[1].first
    venue.sources.want((2,))  # it is gone, and forgotten
    venue.sources.want((1, 2))
    venue.look(20.0)
    assert venue.joining.all()[1].first is before
    venue.desk(30.0, priority=120)
    venue.look(30.1)
    now = venue.joining.all()[1]
    assert (now.where, now.first and now.first.priority) == ("waiting", 120)


def test_below_never_begins_above_somebody_it_has_not_heard_yet() -> None:
    venue = Venue()
    venue.shared = {1: Shared("below")}
    venue.begin()
    venue.look(0.0)
    assert venue.terms() == SILENT
    venue.desk(0.5, priority=1)
    venue.look(0.6)
    assert venue.terms() == Terms(artnet=False, priority=0)


def test_a_universe_that_is_being_sent_goes_on_as_it_was_until_the_console_is_heard() -> None:
    venue = Venue()
    venue.shared = {1: Shared("slots", follow=True)}
    venue.begin({1: Rank(150, 120, here=True), 2: Rank()})
    beside = Terms(artnet=False, priority=119, per_slot=True)
    assert (venue.terms(1), venue.terms(2), venue.joining.outranking()) == (beside, USUAL, {1: (151, 119)})
    venue.look(0.0)
    assert not venue.look(0.5)
    venue.desk(1.0, priority=140)
    assert venue.look(1.1)
    assert (venue.terms(1).priority, venue.joining.outranking()) == (139, {1: (141, 139)})
    assert venue.look(9.0)  # it is gone
    assert venue.terms(1) == Terms(priority=139, per_slot=True)


def test_a_console_is_followed_up_and_down_and_only_where_it_is() -> None:
    venue = Venue(listen_s=0)
    venue.shared = {1: Shared("above", follow=True)}
    venue.begin()
    venue.look(0.0)
    for at, (priority, ours) in enumerate(((120, 121), (180, 181), (20, 100), (200, 199), (100, 101))):
        venue.desk(1.0 + at, priority)
        assert venue.look(1.1 + at)
        assert (venue.terms(1).priority, venue.terms(2)) == (ours, USUAL)


def test_a_universe_that_comes_later_is_listened_to_while_others_go_on() -> None:
    venue = Venue()
    venue.begin()
    venue.look(0.0)
    venue.look(3.0)
    venue.joining.follow((1, 2, 3), venue.shared)
    assert venue.where() == ["joined", "joined", "listening"]
    venue.joining.follow((1, 3), venue.shared)
    venue.joining.follow((1, 2, 3), venue.shared)
    assert venue.where() == ["joined", "listening", "listening"]


def test_what_has_not_begun_is_listened_to_anew_where_it_goes_by_another_number() -> None:
    venue = Venue()
    venue.begin()
    venue.look(0.0)
    venue.desk(2.0)
    venue.look(2.1)
    assert venue.where() == ["waiting", "listening"]
    venue.joining.again({1})
    venue.look(5.0)
    assert venue.where() == ["listening", "joined"]
    assert venue.look(8.0)
    assert venue.where() == ["joined", "joined"]


def test_what_was_decided_for_other_numbers_lets_nothing_begin() -> None:
    venue = Venue()
    venue.shared = {1: Shared("alone")}
    venue.begin()
    live, known = venue.sources.live, venue.known
    venue.desk(0.5)
    for now in (0.6, 9.0):
        venue.joining.look(lambda u: live(u, 0.6), venue.shared, lambda _: known, now, (1,), lambda _: False)
    assert venue.where() == ["waiting", "joined"]


def test_above_is_at_least_the_universes_own_priority_also_when_that_is_changed_at_rest() -> None:
    venue = Venue(listen_s=0)
    venue.own, venue.shared = 150, {1: Shared("above", follow=True)}
    venue.begin()
    venue.desk(0.0)
    venue.look(0.1)
    assert venue.terms() == Terms(priority=150)
    venue.look(3.0)  # it is gone
    venue.sources.want(())  # and forgotten
    venue.own = 160
    assert not venue.look(3.1)
    venue.joining.follow((1, 2), venue.shared)  # the lead has edited its outputs
    assert venue.look(3.2)
    assert venue.terms() == Terms(priority=160)


def test_a_universe_goes_above_a_console_only_once_it_carries_its_levels() -> None:
    venue = Venue(listen_s=0)
    venue.begin()
    venue.look(0.0)
    venue.desk(1.0, priority=120)
    venue.shared[1], venue.known = Shared("above", follow=True), False
    assert not venue.look(1.1)
    venue.known = True
    assert venue.look(1.2)
    assert venue.terms() == Terms(priority=121)
    venue.desk(1.3, priority=130)
    venue.known = False  # a console in a fade is always a frame ahead
    assert venue.look(1.4)
    assert venue.terms() == Terms(priority=131)
