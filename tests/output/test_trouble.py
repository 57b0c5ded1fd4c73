"""What is told of packets that do not leave: once, in words, and for as long as it lasts."""

import errno
import os

import pytest

from server.output.trouble import GONE, MULTICAST, Trouble, sentence_of, who

__all__: list[str] = []


def test_many_packets_to_many_hosts_are_one_sentence() -> None:
    trouble = Trouble()
    for _ in range(44):
        for last in range(1, 6):
            trouble.note("{host} cannot be reached.", f"10.0.0.{last}", 1.0)
    assert trouble.words(1.0) == "10.0.0.1, 10.0.0.2, 10.0.0.3 and 2 more cannot be reached."


def test_two_things_at_once_are_told_side_by_side_in_the_order_they_began() -> None:
    trouble = Trouble()
    trouble.note("No network leads to {host}.", "10.0.0.9", 1.0)
    trouble.note(GONE, MULTICAST, 1.1)
    first = trouble.words(1.2)
    assert first == f"No network leads to 10.0.0.9. {GONE}"
    trouble.note(GONE, MULTICAST, 1.3)
    trouble.note("No network leads to {host}.", "10.0.0.9", 1.4)
    assert trouble.words(1.5) == first, "it does not flicker"


def test_what_stopped_is_told_for_three_seconds_more() -> None:
    trouble = Trouble()
    trouble.note(GONE, MULTICAST, 1.0)
    assert [trouble.words(now) for now in (4.0, 4.01)] == [GONE, ""]


def test_a_host_with_braces_in_its_error_is_told_as_it_is() -> None:
    trouble = Trouble()
    trouble.note("It could not be followed: {'a': 1}.", "", 1.0)
    assert trouble.words(1.0) == "It could not be followed: {'a': 1}."


@pytest.mark.parametrize("code", [errno.ENODEV, errno.EADDRNOTAVAIL])
def test_an_interface_that_went_is_one_and_the_same_trouble(code: int) -> None:
    assert sentence_of(OSError(code, os.strerror(code))) == GONE


def test_an_error_nobody_thought_of_is_told_all_the_same() -> None:
    assert "{host}" in sentence_of(OSError(errno.EPROTO, "Protocol error"))


@pytest.mark.parametrize(
    ("host", "told"),
    [
        ("223.255.255.255", "223.255.255.255"),
        ("224.0.0.0", MULTICAST),  # RFC 5771, section 3
        ("239.255.255.255", MULTICAST),
        ("240.0.0.0", "240.0.0.0"),
        ("ff18::8300:1", MULTICAST),  # RFC 4291, 2.7
        ("fd00::1", "fd00::1"),
    ],
)
def test_a_multicast_group_is_nobody_in_particular(host: str, told: str) -> None:
    assert who(host) == told
