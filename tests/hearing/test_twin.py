"""When packets with our CID are certainly another machine's."""

from collections.abc import Iterable

from server.hearing.twin import Twin

OURS = {"10.0.0.5"}


def heard(address: str, at: Iterable[float]) -> Twin:
    twin = Twin()
    for now in at:
        twin.take(address, now)
    return twin


def test_it_is_certain_after_two_and_a_half_seconds() -> None:
    twin = heard("10.0.0.7", (0.0, 0.9, 1.8))
    assert twin.where(OURS, 1.8) is None
    twin.take("10.0.0.7", 2.7)
    assert twin.where(OURS, 2.7) == "10.0.0.7"
    assert twin.where(OURS, 5.1) == "10.0.0.7"
    assert twin.where(OURS, 5.2) is None  # it has ended


def test_an_address_that_turns_out_to_be_ours_is_none() -> None:
    twin = heard("10.0.0.6", (0.0, 1.0, 2.0, 3.0))
    assert twin.where({*OURS, "10.0.0.6"}, 3.0) is None
    assert twin.where(OURS, 3.0) == "10.0.0.6"


def test_it_counts_anew_after_a_pause() -> None:
    twin = heard("10.0.0.7", (0.0, 2.5, 4.0))
    assert twin.where(OURS, 4.0) is None
    twin.take("10.0.0.7", 5.0)
    assert twin.where(OURS, 5.0) == "10.0.0.7"


def test_a_flood_of_addresses_takes_no_room() -> None:
    twin = Twin()
    for now in range(4):
        for number in range(1000):
            twin.take(f"10.1.{number // 250}.{number % 250}", now)
    assert twin.where(OURS, 3.0) == "10.1.0.0"
