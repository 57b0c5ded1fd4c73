"""The output process while its interface goes and comes back: real interfaces, in a network of their own."""

import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import pairwise
from pathlib import Path

import pytest

from server.output.link import Output
from server.output.plan import ArtNet, Plan, Sacn, UniversePlan
from server.output.trouble import GONE
from server.wire import e131
from tests.networks import Interfaces, own_network
from tests.output.ear import CID, DIM, ENOUGH_S, FULL, Ear, sequences_run_on

__all__: list[str] = []

HERE, MOVED = "10.9.0.5", "10.9.0.77"


@pytest.fixture
def network(folder: Path) -> Iterator[Interfaces]:
    """Asks for `folder` so that an output process is ended before its network is left."""
    with own_network() as interfaces:
        interfaces.add("rig", f"{HERE}/24")
        yield interfaces


def to(ear: Ear, interface: str) -> Plan:
    """Universe 1 by multicast, universe 2 to a machine given by hand, which another network leads to."""
    universes = (UniversePlan(1, (Sacn(),)), UniversePlan(2, (Sacn("127.0.0.1", ear.port),)))
    return Plan(CID, "Test", interface, universes)


@contextmanager
def listening(interface: str) -> Iterator[socket.socket]:
    """A receiver of universe 1 on that interface; E1.31-2018, 9.3.1: 239.255.0.1, port 5568."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as heard:
        heard.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        heard.bind(("239.255.0.1", 5568))
        asked = socket.inet_aton("239.255.0.1") + socket.inet_aton(interface)
        heard.setsockopt(socket.IPPROTO_IP, socket.IP_ADD_MEMBERSHIP, asked)
        heard.settimeout(ENOUGH_S)
        yield heard


def next_data(heard: socket.socket) -> tuple[e131.Data, str]:
    """The next packet of levels, and the address it came from."""
    while True:
        octets, (sender, _) = heard.recvfrom(2000)
        packet = e131.decode(octets)
        if isinstance(packet, e131.Data):
            return packet, sender


def told(output: Output, words: str | None) -> None:
    """Wait until this is what is wrong, or nothing is."""
    deadline = time.monotonic() + ENOUGH_S
    while (words not in wrong) if (wrong := output.last_error()) and words else wrong != words:
        output.beat()
        assert time.monotonic() < deadline, output.last_error()
        time.sleep(0.01)


def begun(folder: Path, ear: Ear) -> Output:
    output = Output.start(folder)
    output.set_plan(to(ear, HERE))
    output.write(1, DIM)
    output.write(2, FULL)
    output.wake()
    return output


def test_an_address_that_changes_is_followed_with_the_same_source_and_running_numbers(
    folder: Path, network: Interfaces
) -> None:
    ear = Ear()
    output = begun(folder, ear)
    with listening(HERE) as heard:
        before, sender = next_data(heard)
        assert sender == HERE
    network.take("rig", f"{HERE}/24")
    network.give("rig", f"{MOVED}/24")
    told(output, GONE)
    with listening(MOVED) as heard:
        output.set_plan(to(ear, MOVED))
        after, sender = next_data(heard)
    assert sender == MOVED
    # E1.31-2018, 6.2.3.1 and 6.7.2: a source is its CID, and its numbers count on.
    assert (after.cid, after.source_name) == (before.cid, before.source_name)
    assert 0 < (after.sequence - before.sequence) % 256 < 20
    assert bytes(after.slots) == DIM
    told(output, None)
    output.end()
    ear.close()


def test_an_adapter_that_is_pulled_out_stops_nobody_else_and_is_used_again_when_it_is_back(
    folder: Path, network: Interfaces
) -> None:
    ear = Ear()
    output = begun(folder, ear)
    with listening(HERE) as heard:
        before, _ = next_data(heard)
    network.remove("rig")
    told(output, GONE)
    errors = output.counts()[1].errors
    since = len(ear.heard)
    ear.until(lambda: len(ear.data(2)) > 0 and len(ear.heard) > since + 2)
    counted = time.monotonic() + ENOUGH_S
    while output.counts()[1].errors <= errors:
        assert time.monotonic() < counted
        time.sleep(0.01)
    assert output.counts()[2].errors == 0
    network.add("rig", f"{HERE}/24")
    with listening(HERE) as heard:
        after, sender = next_data(heard)
    assert (after.cid, sender) == (before.cid, HERE)
    told(output, None)
    ear.until_silent(0.2)
    numbers = [packet.sequence for packet in ear.data(2)]
    assert all((b - a) % 256 == 1 for a, b in pairwise(numbers)), "no packet of the other universe is missing"
    output.end()
    ear.close()


def test_a_link_that_goes_down_and_up_needs_nobody(folder: Path, network: Interfaces) -> None:
    ear = Ear()
    output = begun(folder, ear)
    with listening(HERE) as heard:
        next_data(heard)
    network.ip("link set rig down")
    told(output, GONE)
    network.ip("link set rig up")
    with listening(HERE) as heard:
        assert bytes(next_data(heard)[0].slots) == DIM
    told(output, None)
    output.end()
    ear.close()


def test_an_interface_of_one_output_that_goes_stops_none_of_the_others(
    folder: Path, network: Interfaces
) -> None:
    ear = Ear()
    outputs = (Sacn("127.0.0.1", ear.port), Sacn(interface=HERE), ArtNet(HERE, 6454, 0, HERE))
    output = Output.start(folder)
    output.set_plan(Plan(CID, "Test", None, (UniversePlan(1, outputs, steady=True),)))
    output.write(1, DIM)
    output.wake()
    with listening(HERE) as heard:
        before, sender = next_data(heard)
        assert sender == HERE
    network.remove("rig")
    told(output, GONE)
    since = len(ear.data())
    ear.until(lambda: len(ear.data()) > since + 10)
    network.add("rig", f"{HERE}/24")
    told(output, None)
    with listening(HERE) as heard:
        after, sender = next_data(heard)
    assert (after.cid, sender) == (before.cid, HERE)
    assert sequences_run_on(ear.data())
    output.end()
    ear.close()
