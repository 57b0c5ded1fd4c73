"""Which network the rig hangs on, and what a person is told about the choice."""

import socket
from dataclasses import replace

import pytest

from server.net.interfaces import Interface, choose, reachable, read_interfaces
from tests.networks import own_network

__all__: list[str] = []

LO = Interface("lo", "127.0.0.1", 8)
WIFI = Interface("wlan0", "192.168.1.20", 24)
RIG = Interface("eth0", "10.0.0.5", 8)
ART = Interface("eth2", "2.0.0.5", 8)
SELF_GIVEN = Interface("eth1", "169.254.7.7", 16)
INSIDE = Interface("docker0", "172.17.0.1", 16)


def test_the_only_network_is_chosen_without_a_word() -> None:
    choice = choose([LO, WIFI])
    assert (choice.interface, choice.warnings) == (WIFI, ())


@pytest.mark.parametrize(
    ("found", "likely"),
    [
        ([LO, WIFI, RIG], RIG),
        ([LO, WIFI, ART], ART),
        ([INSIDE, WIFI], WIFI),
        ([SELF_GIVEN, WIFI], WIFI),
        ([INSIDE, SELF_GIVEN], SELF_GIVEN),
    ],
)
def test_the_likeliest_of_several_is_chosen_and_the_others_are_named(
    found: list[Interface], likely: Interface
) -> None:
    choice = choose(found)
    assert choice.interface == likely
    assert "several networks" in choice.warnings[-1]
    assert str(likely) in choice.warnings[-1]


def test_no_network_is_said_and_only_this_machine_is_reached() -> None:
    choice = choose([LO])
    assert choice.interface == LO
    assert len(choice.warnings) == 1
    assert "on no network" in choice.warnings[0]
    assert choose([]).interface is None


def test_an_address_nobody_gave_is_said() -> None:
    (warning,) = choose([LO, SELF_GIVEN]).warnings
    assert "169.254.7.7 (eth1)" in warning
    assert "gave itself" in warning


def test_what_was_asked_for_wins_without_a_word() -> None:
    choice = choose([LO, WIFI, RIG], "192.168.1.20")
    assert (choice.interface, choice.warnings) == (WIFI, ())


def test_asking_for_loopback_beside_a_network_is_allowed_and_said() -> None:
    choice = choose([LO, WIFI], "127.0.0.1")
    assert choice.interface == LO
    assert "this machine itself" in choice.warnings[0]


def test_an_address_that_is_gone_is_said_with_what_there_is() -> None:
    choice = choose([LO, WIFI], "10.0.0.5")
    assert choice.interface == WIFI
    assert choice.warnings[0] == (
        "10.0.0.5 is not an address of this machine now. It has 127.0.0.1 (lo), 192.168.1.20 (wlan0)."
    )


def test_the_directed_broadcast_address_is_the_last_of_the_network() -> None:
    # RFC 919, section 7: the host part all ones.
    assert [each.broadcast for each in (RIG, WIFI)] == ["10.255.255.255", "192.168.1.255"]


def test_this_machine_has_a_loopback() -> None:
    assert any(each.is_loopback and each.prefix == 8 for each in read_interfaces())


def test_who_is_on_its_network_is_known_by_ipv4_by_ipv6_and_by_where_it_was_heard() -> None:
    rig = replace(RIG, index=2, ipv6=("fe80::5/64", "fd00:1::5/64"))
    reached = ("10.9.9.9", "fd00:1::9", "fe80::9%2", "fe80::9%eth0")  # RFC 4007, 11.2: the zone
    assert [rig.reaches(host) for host in reached] == [True] * 4
    others = ("192.168.1.9", "fd00:2::9", "fe80::9%3", "2001:db8::9")
    assert [rig.reaches(host) for host in others] == [False] * 4
    assert [RIG.reaches(host) for host in reached] == [True, False, False, True]


def test_what_an_adapter_has_of_ipv6_is_read_with_it() -> None:
    with own_network() as network:
        network.add("rig", "10.9.0.5/24")
        network.give_ipv6("rig", "fd00:1::5/64")
        (rig,) = [each for each in read_interfaces() if each.name == "rig"]
        assert (rig.address, rig.index) == ("10.9.0.5", socket.if_nametoindex("rig"))
        assert "fd00:1::5/64" in rig.ipv6
        network.switch_off_ipv6("rig")
        assert [each.ipv6 for each in read_interfaces() if each.name == "rig"] == [()]


def test_one_that_is_down_is_the_least_likely() -> None:
    assert choose([LO, replace(RIG, is_up=False), WIFI]).interface == WIFI
    assert choose([LO, replace(RIG, is_up=False)]).interface == replace(RIG, is_up=False)


@pytest.mark.parametrize(
    ("found", "phones"),
    [
        ([LO, RIG, WIFI], [WIFI, RIG]),
        ([LO, INSIDE, SELF_GIVEN, RIG], [RIG]),
        ([LO, INSIDE, SELF_GIVEN], [INSIDE, SELF_GIVEN]),
        ([LO, replace(RIG, is_up=False)], []),
        ([LO], []),
    ],
)
def test_phones_come_by_wi_fi_first_and_never_by_a_network_inside_this_machine(
    found: list[Interface], phones: list[Interface]
) -> None:
    assert reachable(found, "0.0.0.0") == phones


def test_a_page_served_on_one_address_is_reached_by_that_one() -> None:
    assert reachable([LO, RIG, WIFI], "10.0.0.5") == [RIG]
    assert reachable([LO, RIG, WIFI], "127.0.0.1") == []


def test_a_cable_that_is_out_is_seen() -> None:
    with own_network() as network:
        network.add("rig", "10.9.0.5/24")
        there = Interface("rig", "10.9.0.5", 24)
        assert there in read_interfaces()
        network.pull("rig")
        assert replace(there, is_up=False) in read_interfaces()
        network.plug("rig")
        network.ip("link set rig down")
        assert replace(there, is_up=False) in read_interfaces()
        network.remove("rig")
        assert [each.name for each in read_interfaces()] == ["lo"]
