"""Who is heard: ours never, others within limits, and forgotten in time."""

import uuid

from server.hearing.sources import MOST, Sources
from tests.hearing.packets import DESK, OURS, dmx, sacn

__all__: list[str] = []


def sources(*universes: int) -> Sources:
    made = Sources(OURS.bytes)
    made.want(universes or (1,))
    return made


def test_what_we_sent_ourselves_is_counted_and_no_console() -> None:
    made = sources()
    made.take_sacn(sacn(OURS, [255]), "10.0.0.9", 0.0)
    assert (made.own, made.universes(), made.shown(1, 0.0)) == (1, [], None)


def test_only_universes_of_interest_are_kept() -> None:
    made = sources(1, 2)
    for universe in (1, 2, 3):
        made.take_sacn(sacn(universe=universe), "10.0.0.9", 0.0)
        made.take_artnet(dmx(), universe, "10.0.0.8", 0.0)
    assert made.universes() == [1, 2]
    made.want([2, 3])
    assert made.universes() == [2]
    assert [one.protocol for one in made.all(2)] == ["artnet", "sacn"]


def test_one_cid_is_one_source_wherever_it_sends_from() -> None:
    # E1.31-2018, 5.6; and a packet that arrives twice counts once (9.1, 9.4)
    made = sources()
    made.take_sacn(sacn(levels=[1]), "10.0.0.9", 0.0)
    made.take_sacn(sacn(levels=[1]), "10.1.0.9", 0.0)
    (one,) = made.all(1)
    assert (one.frames, one.late, one.address, one.name) == (1, 0, "10.0.0.9", "Desk")


def test_more_sources_than_there_is_room_for_are_told_and_the_highest_priorities_stay() -> None:
    # E1.31-2018, 6.2.3.3: "sources exceeded", and it must not depend on who came first.
    def story(order: list[int]) -> tuple[list[str], int]:
        made = sources()
        for number in order:
            made.take_sacn(sacn(uuid.UUID(int=100 + number), priority=number), "10.0.0.9", 0.0)
        return sorted(one.id for one in made.live(1, 0.1)), made.exceeded(1, 0.1)

    numbers = list(range(MOST + 4))
    up, down = story(numbers), story(numbers[::-1])
    assert up == down == ([str(uuid.UUID(int=100 + number)) for number in numbers[4:]], 4)


def test_whether_there_is_room_for_one_is_known_before_it_is_heard() -> None:
    made, other = sources(), sources()
    for number in range(MOST):
        made.take_sacn(sacn(uuid.UUID(int=100 + number), priority=50), "10.0.0.9", 0.0)
        if number < 2:
            other.take_sacn(sacn(uuid.UUID(int=200 + number), priority=49 + 2 * number), "10.0.0.9", 0.0)
    low, high = other.all(1)
    assert [made.has_room(1, one, 0.1) for one in (low, high)] == [False, True]
    assert [other.has_room(1, one, 0.1) for one in made.all(1)] == [True] * MOST
    made.take_sacn(sacn(uuid.UUID(int=100), sequence=1, terminated=True), "10.0.0.9", 0.1)
    assert made.has_room(1, low, 0.2)
    assert not made.has_room(2, low, 0.2), "nobody listens there"


def test_one_that_has_ended_makes_room() -> None:
    made = sources()
    for number in range(MOST):
        made.take_sacn(sacn(uuid.UUID(int=100 + number), priority=150), "10.0.0.9", 0.0)
    made.take_sacn(sacn(uuid.UUID(int=100), sequence=1, terminated=True), "10.0.0.9", 0.1)
    made.take_sacn(sacn(DESK), "10.0.0.9", 0.2)
    assert (str(DESK) in [one.id for one in made.live(1, 0.2)], made.exceeded(1, 0.2)) == (True, 0)


def test_one_that_has_ended_is_told_for_ten_seconds_more_and_a_stranger_that_ends_never_was() -> None:
    made = sources()
    made.take_sacn(sacn(terminated=True), "10.0.0.9", 0.0)
    assert made.all(1) == []
    made.take_sacn(sacn(), "10.0.0.9", 0.0)
    for now, there in ((1.0, 1), (3.0, 1), (12.0, 1), (13.0, 0)):
        made.look(now)
        assert len(made.all(1)) == there
    assert made.universes() == []


def test_art_net_sources_are_told_apart_by_address_and_physical_port_and_named_by_their_node() -> None:
    # Art-Net 4, Data Merging
    made = sources()
    made.take_artnet(dmx(physical=0), 1, "10.0.0.8", 0.0)
    made.take_artnet(dmx(physical=1), 1, "10.0.0.8", 0.0)
    made.call({"10.0.0.8": "Side desk"})
    assert [(one.id, one.name) for one in made.all(1)] == [
        ("10.0.0.8/0", "Side desk"),
        ("10.0.0.8/1", "Side desk"),
    ]


def test_who_sends_with_two_numbers_that_lead_to_one_universe_is_two_sources() -> None:
    # E1.31-2018, 6.2.5: each universe of a source has sequence numbers of its own; Art-Net 4, ArtDmx, too.
    made = sources()
    for at, (sequence, other) in enumerate(((9, 200), (10, 201))):
        made.take_sacn(sacn(levels=[20 + at], sequence=sequence), "10.0.0.9", at / 44, 1)
        made.take_sacn(sacn(levels=[30 + at], universe=101, sequence=other), "10.0.0.9", at / 44, 1)
        made.take_artnet(dmx(port_address=1, sequence=sequence), 1, "10.0.0.8", at / 44)
        made.take_artnet(dmx(port_address=5, sequence=other), 1, "10.0.0.8", at / 44)
    assert [(one.number, one.frames, one.late) for one in made.live(1, 0.1)] == [
        *((1, 2, 0), (5, 2, 0)),
        *((1, 2, 0), (101, 2, 0)),
    ]


def test_malformed_datagrams_are_counted_by_sender_and_reason_within_bounds() -> None:
    made = sources()
    for number in range(400):
        made.refuse(f"10.0.{number // 250}.{number % 250}", "not ACN")
    made.refuse("10.0.0.1", "not ACN")
    assert (len(made.refused), made.refused["10.0.0.1", "not ACN"]) == (256, 2)


def test_slots_that_no_source_gives_a_priority_are_left_to_others() -> None:
    # The note on START code 0xDD: 0 says that this level is not meant; missing ones count as 0.
    other = uuid.UUID(int=7)
    made = sources()
    made.take_sacn(sacn(levels=[9] * 512), "10.0.0.9", 0.0)
    assert made.undriven(1, 0.1) is None  # its packets' priority counts for all
    made.take_sacn(sacn(levels=[100, 0, 100], sequence=1, start_code=0xDD), "10.0.0.9", 0.1)
    left = made.undriven(1, 0.2)
    assert left is not None
    assert [slot for slot in range(1, 513) if not left[slot - 1]] == [1, 3]
    made.take_sacn(sacn(other), "10.0.0.7", 0.2)  # who gives none of their own has all the rest
    left = made.undriven(1, 0.3)
    assert left is not None
    assert not left.any()
    assert made.undriven(2, 0.3) is None
