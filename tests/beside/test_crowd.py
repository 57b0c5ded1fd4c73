"""A universe on its way to numbers with more senders than are kept account of."""

import uuid

from server.beside.crowd import all_heard, crowd
from server.hearing.sources import MOST, Sources
from tests.hearing.packets import OURS, sacn

__all__: list[str] = []


def heard(senders: range, number: int = 101) -> Sources:
    """Those, each with a priority of its own, on universe 1 by that number."""
    made = Sources(OURS.bytes)
    made.want((1,))
    hear(made, senders, number)
    return made


def hear(made: Sources, senders: range, number: int = 101) -> None:
    for sender in senders:
        packet = sacn(uuid.UUID(int=100 + sender), universe=number, priority=sender)
        made.take_sacn(packet, "10.0.0.9", 0.0, 1)


def test_whoever_there_is_room_for_is_waited_for_and_nobody_else() -> None:
    ahead = heard(range(40, 50))
    sources = heard(range(50, 60), number=1)
    assert not all_heard(ahead.live(1, 0.1), sources, 1, 0.1)
    hear(sources, range(44, 50))  # there is room for six
    assert all_heard(ahead.live(1, 0.1), sources, 1, 0.1)
    hear(sources, range(40, 44))
    assert len(sources.live(1, 0.1)) == MOST
    assert all_heard(ahead.live(1, 0.1), sources, 1, 0.1)
    # One that ranks above them is waited for, full as it is.
    assert not all_heard(heard(range(70, 71)).live(1, 0.1), sources, 1, 0.1)
    # Where nobody is listened to nobody can be waited for.
    assert all_heard([], Sources(OURS.bytes), 1, 0.1)


def test_it_is_told_by_all_numbers_together() -> None:
    few = heard(range(10, 20))
    assert crowd(few, heard(range(20, 26), number=1), 1, 0.1) is None
    assert crowd(few, heard(range(10, 26)), 1, 0.1) is None  # the same ones, heard as both
    told = crowd(few, heard(range(20, 27), number=1), 1, 0.1)
    assert told is not None
    assert told.startswith("More than 16 sources send on the numbers that universe 1 has and is to have:")
    assert crowd(Sources(OURS.bytes), heard(range(10, 30)), 1, 0.1) == told
