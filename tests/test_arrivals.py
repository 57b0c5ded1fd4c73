"""What is judged of arrivals: each fault is seen, and nothing else is."""

import socket
import time
from array import array
from collections.abc import Iterator

import pytest

from server.wire import artnet, e131
from tests.arrivals import Arrivals, Heard, ear

__all__: list[str] = []


@pytest.fixture
def wire() -> Iterator[Arrivals]:
    with ear() as listening:
        yield Arrivals(listening)


def send(wire: Arrivals, *numbers: int, universe: int = 1, start_code: int = 0, options: int = 0) -> None:
    packet = e131.data_packet(bytes(16), "Bench", universe)
    packet[125], packet[e131.OPTIONS_AT] = start_code, options
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as out:
        for number in numbers:
            packet[e131.SEQUENCE_AT] = number
            out.sendto(packet, ("127.0.0.1", wire.port))
    wire.hear()


def test_numbers_that_run_on_are_all_there_also_past_255(wire: Arrivals) -> None:
    send(wire, 254, 255, 0, 1)
    assert wire.universes[1].lost == 0


@pytest.mark.parametrize(("numbers", "lost"), [((1, 3), 1), ((1, 1), 255), ((1, 2, 1), 254)])
def test_one_that_is_missing_repeated_or_behind_is_seen(
    wire: Arrivals, numbers: tuple[int, ...], lost: int
) -> None:
    send(wire, *numbers)
    assert wire.universes[1].lost == lost


def test_two_in_a_burst_are_too_close_and_two_a_frame_apart_are_not(wire: Arrivals) -> None:
    assert Heard(array("d", [1.0, 1.0219, 1.0446])).too_close == 1
    send(wire, 1, 2)
    first, second = wire.universes[1].times
    assert wire.universes[1].too_close == (second - first < 0.022)  # so, unless it was held up between them
    wire.drain()
    send(wire, 3)
    wire.listen(0.03)
    send(wire, 4)
    heard = wire.universes[1]
    assert (heard.too_close, heard.lost) == (0, 0)
    assert heard.hz == pytest.approx(1 / heard.gaps[0])


def test_priorities_of_slots_count_for_the_numbers_and_not_for_the_pace(wire: Arrivals) -> None:
    send(wire, 1)
    send(wire, 2, start_code=0xDD)
    assert (len(wire.universes[1].times), wire.universes[1].lost) == (1, 0)


def test_each_universe_is_one_of_its_own_and_an_end_is_seen(wire: Arrivals) -> None:
    send(wire, 1)
    send(wire, 9, universe=279, options=e131.TERMINATED)
    assert [heard.ended for heard in wire.together()] == [0, 1]
    assert [heard.too_close for heard in wire.together([1, 279])] == [0, 0]


def test_what_was_forgotten_leaves_the_packet_that_the_next_is_compared_with(wire: Arrivals) -> None:
    send(wire, 1, 2)
    wire.universes[1].forget()
    send(wire, 4)
    heard = wire.universes[1]
    assert (len(heard.gaps), heard.lost) == (1, 1)


def test_art_net_is_timed_and_what_is_neither_is_passed_over(wire: Arrivals) -> None:
    before = time.time()
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as out:
        for packet in (bytes(artnet.dmx_packet(0x1234)), b"junk", bytes(530), bytes(638)[:600]):
            out.sendto(packet, ("127.0.0.1", wire.port))
    wire.hear()
    assert list(wire.universes) == [0x1234]
    assert before - 1 < wire.universes[0x1234].times[0] < time.time() + 1
