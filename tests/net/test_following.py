"""Which interface levels leave by while interfaces go, come back and change their address."""

from dataclasses import replace

import pytest

from server.net.following import Following
from server.net.interfaces import Interface

__all__: list[str] = []

LO = Interface("lo", "127.0.0.1", 8)
RIG = Interface("eth0", "10.0.0.5", 24)
MOVED = Interface("eth0", "10.0.0.77", 24)
WIFI = Interface("wlan0", "192.168.1.20", 24)
SELF_GIVEN = Interface("eth0", "169.254.7.7", 16)
UNPLUGGED = replace(RIG, is_up=False)


def following(*seen: list[Interface], start: Interface = RIG, asked_for: bool = False) -> Following:
    """One that has seen these, two seconds apart, the first at 2 s."""
    made = Following(start, asked_for)
    for at, found in enumerate(seen, 1):
        made.look(found, 2.0 * at)
    return made


def test_nothing_is_told_while_nothing_changes() -> None:
    it = following([LO, RIG], [LO, RIG, WIFI], [WIFI, RIG])
    assert (it.interface, it.lost_at, it.sentence(8)) == (RIG, None, None)


@pytest.mark.parametrize("asked_for", [True, False])
@pytest.mark.parametrize("left", [[LO], [LO, UNPLUGGED], []])
def test_one_that_is_gone_is_waited_for_and_told_with_its_time(
    left: list[Interface], asked_for: bool
) -> None:
    it = following([LO, RIG], left, left, asked_for=asked_for)
    assert (it.interface, it.lost_at) == (RIG, 4)
    told = it.sentence(7)
    assert told is not None
    assert told.startswith("Levels leave by 10.0.0.5 (eth0), which is gone since ")
    assert "looked for every 2 s" in told
    assert told == it.sentence(600), "the same sentence for as long as it lasts"


def test_levels_do_not_leave_by_another_network_unasked_but_it_is_named() -> None:
    it = following([LO, RIG, WIFI], [LO, WIFI])
    assert it.interface == RIG
    assert "also on 192.168.1.20 (wlan0)" in str(it.sentence(4))


def test_one_that_is_back_is_told_for_a_minute() -> None:
    it = following([RIG], [LO], [LO], [RIG])
    assert (it.interface, it.lost_at) == (RIG, None)
    told = str(it.sentence(8))
    assert told.startswith("10.0.0.5 (eth0) is back since ")
    assert "gone for 4 s" in told
    assert it.sentence(67.9) == told
    assert it.sentence(68) is None


@pytest.mark.parametrize("asked_for", [True, False])
@pytest.mark.parametrize("between", [[[LO]], []])
def test_a_new_address_of_the_same_adapter_is_followed(
    between: list[list[Interface]], asked_for: bool
) -> None:
    it = following([LO, RIG], *between, [LO, WIFI, MOVED], asked_for=asked_for)
    assert (it.interface, it.lost_at) == (MOVED, None)
    assert "10.0.0.77 (eth0)" in str(it.sentence(6))
    assert "no longer by 10.0.0.5" in str(it.sentence(6))


def test_the_address_it_began_with_is_used_again_when_it_is_back() -> None:
    assert following([RIG], [MOVED], [MOVED, RIG], asked_for=True).interface == RIG


def test_the_same_address_on_another_adapter_will_do() -> None:
    other = replace(RIG, name="eth1")
    it = following([RIG], [LO], [LO, other])
    assert (it.interface, it.lost_at) == (other, None)


def test_an_address_nobody_gave_gives_way_to_one_that_somebody_gave() -> None:
    assert following([RIG], [SELF_GIVEN]).interface == SELF_GIVEN
    assert following([RIG], [SELF_GIVEN], [SELF_GIVEN, MOVED]).interface == MOVED
    assert following([SELF_GIVEN], [SELF_GIVEN, RIG], start=SELF_GIVEN).interface == RIG
    asked = following([SELF_GIVEN], [SELF_GIVEN, RIG], start=SELF_GIVEN, asked_for=True)
    assert asked.interface == SELF_GIVEN


def test_of_several_new_addresses_the_one_in_the_same_network_is_likelier() -> None:
    elsewhere = Interface("eth0", "172.16.0.9", 24)
    assert following([RIG], [elsewhere, MOVED]).interface == MOVED


def test_another_mask_is_another_broadcast_address() -> None:
    wider = replace(RIG, prefix=8)
    it = following([RIG], [wider])
    assert (it.interface, it.sentence(4)) == (wider, None)


def test_the_first_network_that_comes_is_taken_when_there_was_none() -> None:
    it = following([LO], [LO, WIFI], [LO, WIFI, RIG], start=LO)
    assert it.interface == WIFI
    assert "192.168.1.20 (wlan0)" in str(it.sentence(6))


def test_a_loopback_that_somebody_asked_for_is_never_left() -> None:
    it = following([LO], [LO, WIFI], [WIFI], start=LO, asked_for=True)
    assert it.interface == LO


def test_where_nobody_chose_there_is_nothing_to_lose() -> None:
    it = Following(None, asked_for=False)
    it.look([RIG], 1)
    it.look([], 2)
    assert (it.interface, it.sentence(3)) == (None, None)
