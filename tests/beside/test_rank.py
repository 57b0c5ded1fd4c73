"""Which priorities consoles send with, and what is reckoned with while nobody is heard."""

import uuid

import pytest

from server.beside.rank import Rank, rank_before, rank_of
from server.beside.terms import leaving
from server.hearing.sources import Sources
from server.stage.shared import Join, Shared
from tests.hearing.packets import OURS, dmx, sacn

__all__: list[str] = []


def heard(*priorities: int) -> Sources:
    made = Sources(OURS.bytes)
    made.want([1])
    for at, priority in enumerate(priorities):
        made.take_sacn(sacn(uuid.UUID(int=5 + at), priority=priority), "10.0.0.9", 0.0)
    return made


def test_the_highest_and_the_lowest_of_all_consoles_count() -> None:
    assert rank_of(heard(90, 150, 120).live(1, 0.1), Rank(), 0.1) == Rank(150, 90, here=True)


def test_priorities_of_slots_count_and_those_it_does_not_drive_do_not() -> None:
    made = heard(100)
    made.take_sacn(sacn(uuid.UUID(int=5), [0, 180, 40], sequence=1, start_code=0xDD), "10.0.0.9", 0.0)
    assert rank_of(made.live(1, 0.1), Rank(), 0.1) == Rank(180, 40, here=True)
    made.take_sacn(sacn(uuid.UUID(int=5), [], sequence=2, start_code=0xDD), "10.0.0.9", 0.2)
    assert rank_of(made.live(1, 0.3), Rank(), 0.3) == Rank(100, 100, here=True)


def test_who_is_gone_is_reckoned_with_as_it_was() -> None:
    made = heard(150)
    there = rank_of(made.live(1, 0.1), Rank(), 0.1)
    assert rank_of(made.live(1, 9.0), there, 9.0) == Rank(150, 150, here=False)


def test_by_art_net_somebody_is_here_without_a_priority() -> None:
    made = heard()
    made.take_artnet(dmx(), 1, "10.0.0.8", 0.0)
    assert rank_of(made.live(1, 0.1), Rank(70, 60), 0.1) == Rank(70, 60, here=True)


@pytest.mark.parametrize("join", ["above", "slots", "below"])
@pytest.mark.parametrize("rank", [Rank(150, 90, here=True), Rank(100, 2), Rank(199, 3, here=True)])
def test_after_a_restart_a_universe_goes_on_on_the_same_terms(join: Join, rank: Rank) -> None:
    before = leaving(1, Shared(join, follow=True), rank, 100, None)
    assert before.terms.priority is not None
    artnet = before.terms.artnet
    again = rank_before(join, before.terms.priority, before.outrank, artnet)
    assert leaving(1, Shared(join, follow=True), again, 100, None) == before
