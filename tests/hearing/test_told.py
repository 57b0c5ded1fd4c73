"""Who wins at a node, in words."""

from collections.abc import Callable

import pytest

from server.hearing.sources import MOST, Sources
from server.hearing.told import Ours, alerts, ended, highest, sentence, winner
from tests.hearing.packets import DESK, OTHER, OURS, dmx, sacn

__all__: list[str] = []


def leaving(priority: int | None) -> Callable[[int], Ours]:
    """Every universe of ours, by that priority."""
    return lambda _: Ours(priority)


def sources() -> Sources:
    made = Sources(OURS.bytes)
    made.want(range(1, 20))
    return made


@pytest.mark.parametrize(
    ("priority", "ours", "wins", "told"),
    [
        # E1.31-2018, 6.2.3: the higher priority has the universe; among equals as a rule the highest level.
        (
            120,
            100,
            "it",
            "with priority 120, above our 100: nodes follow it, and nothing of ours shows there.",
        ),
        (
            90,
            100,
            "we",
            "with priority 90, below our 100: nodes follow us, and nothing of its own shows there.",
        ),
        (
            100,
            100,
            "both",
            "with priority 100 like us: a node shows both, as a rule the higher level of each slot.",
        ),
        (100, None, "the node", "and we by Art-Net only: which of them a node follows is its own setting."),
    ],
)
def test_each_way_to_compare_has_its_sentence(priority: int, ours: int | None, wins: str, told: str) -> None:
    made = sources()
    for universe in (3, 1):
        made.take_sacn(sacn(universe=universe, priority=priority), "10.0.0.9", 0.0)
    assert winner(made.all(1)[0], Ours(ours), priority, 0.1) == wins
    (sentence,) = alerts(made, leaving(ours), 0.1)
    assert sentence.startswith("Desk also sends on universe 1, 3, ")
    assert sentence.endswith(told)


def test_who_is_below_a_third_source_is_told_so_and_not_that_nodes_follow_us() -> None:
    made = sources()
    for at, priority in enumerate((150, 120, 100, 90)):
        made.take_sacn(sacn(type(DESK)(int=5 + at), name=f"Desk {at}", priority=priority), "10.0.0.9", 0.0)
    live, told = made.live(1, 0.1), alerts(made, leaving(100), 0.1)
    assert highest(live) == 150
    assert [winner(one, Ours(100), 150, 0.1) for one in live] == ["it", "neither", "neither", "neither"]
    assert "above our 100: nodes follow it" in told[0]
    assert all("another source has 150, above our 100, and nodes follow that." in one for one in told[1:])


def test_a_priority_for_each_slot_is_told() -> None:
    made = sources()
    made.take_sacn(sacn(), "10.0.0.9", 0.0)
    made.take_sacn(sacn(levels=[150], sequence=1, start_code=0xDD), "10.0.0.9", 0.0)
    assert "compares each with our 100, any other goes by 100" in alerts(made, leaving(100), 0.1)[0]


def test_art_net_is_merged_and_a_third_is_told() -> None:
    made = sources()
    made.take_artnet(dmx(), 1, "10.0.0.8", 0.0)
    assert [told[:50] for told in alerts(made, leaving(100), 0.1)] == [
        "10.0.0.8 also sends on universe 1, by Art-Net, whi"
    ]
    for host in ("10.0.0.7", "10.0.0.6"):
        made.take_artnet(dmx(), 1, host, 0.0)
    assert alerts(made, leaving(100), 0.1)[-1] == (
        "More than two sources send by Art-Net on universe 1: nodes ignore the third."
    )


def test_what_only_previews_or_has_ended_alarms_nobody() -> None:
    made = sources()
    made.take_sacn(sacn(preview=True), "10.0.0.9", 0.0)
    made.take_sacn(sacn(OTHER, name="Old"), "10.0.0.9", 0.0)
    made.take_sacn(sacn(OTHER, sequence=1, terminated=True), "10.0.0.9", 0.1)
    assert alerts(made, leaving(100), 0.2) == []
    assert [ended(one, 1, 0.2) for one in made.all(1)] == [
        "Desk sends a preview of universe 1: nodes do not show it.",
        "Old has ended universe 1.",
    ]
    assert ended(made.all(1)[0], 1, 9.0) == "Desk sends no levels on universe 1 any more."


def test_many_sources_and_universes_stay_a_few_lines() -> None:
    made = sources()
    for universe in range(1, 13):
        made.take_sacn(sacn(universe=universe), "10.0.0.9", 0.0)
    assert "on universe 1, 2, 3, 4, 5, 6, 7, 8, …, with" in alerts(made, leaving(100), 0.1)[0]
    for number in range(MOST + 2):
        made.take_sacn(sacn(type(DESK)(int=50 + number), name=f"Desk {number}"), "10.0.0.9", 0.0)
    told = alerts(made, leaving(100), 0.1)
    assert len(told) == 7
    assert told[5].endswith("more sources send on universes of ours.")
    assert told[6].startswith(f"More than {MOST} sources send on universe 1: ")


def test_each_universe_is_judged_by_the_terms_it_leaves_on() -> None:
    made = sources()
    made.take_sacn(sacn(), "10.0.0.9", 0.0)
    (desk,) = made.live(1, 0.1)
    for ours, wins, told in (
        (
            Ours(101, follows=True),
            "we",
            ", below our 101: nodes follow us, and what is in nobody's hand is as it",
        ),
        (
            Ours(99, outrank=101),
            "each slot",
            "a priority for each slot follow us, with 101, for slots in hand.",
        ),
        (Ours(99), "it", ", above our 99: nodes follow it, and nothing of ours shows there."),
        (Ours(100, sent=False), "it", "Desk sends on universe 1, and we do not."),
    ):
        assert winner(desk, ours, 100, 0.1) == wins
        assert told in sentence(desk, (1,), ours, 100, 0.1)


def test_nobody_is_alarmed_by_what_the_lead_has_decided() -> None:
    made = sources()
    made.take_sacn(sacn(), "10.0.0.9", 0.0)
    assert alerts(made, lambda _: Ours(99, shared=True), 0.1) == []
    assert alerts(made, lambda _: Ours(100, sent=False), 0.1) == []
    made.take_artnet(dmx(), 1, "10.0.0.8", 0.0)
    (told,) = alerts(made, lambda _: Ours(101, shared=True), 0.1)
    assert "by Art-Net, which has no priority" in told
