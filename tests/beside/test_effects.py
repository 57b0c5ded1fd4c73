"""What is said of a node before a way to join is chosen, held against nodes simulated from the standards."""

import uuid

import pytest
from sacn.messages.data_packet import DataPacket

from server.beside.effects import Beside, Node, beside, effect, takes
from server.beside.rank import Rank, rank_of
from server.beside.terms import leaving
from server.hearing.sources import Sources
from server.rig.said import Said
from server.stage.shared import JOINS, Join, Shared
from server.wire import artnet, e131
from tests.hearing.packets import DESK, OURS
from tests.receivers import ArtNetNode, SacnNode

__all__: list[str] = []

OWN = 100
CONSOLE, WE = bytes([10, 200, 30] + 509 * [40]), bytes([90, 100, 50] + 509 * [20])
IN_HAND = (1,)  # slots


def packet(cid: uuid.UUID, levels: bytes, priority: int, sequence: int, code: int = 0) -> bytes:
    built = DataPacket(tuple(cid.bytes), "Somebody", 1, tuple(levels), priority, sequence)
    built.dmxStartCode = code
    return bytes(built.getBytes())


def each_of(outrank: int | None, slots: tuple[int, ...]) -> bytes:
    return bytes((outrank or 0) if slot in slots else 0 for slot in range(1, 513))


def desk(priority: int, each: bytes | None) -> list[bytes]:
    sent = [packet(DESK, CONSOLE, priority, 0)]
    return sent if each is None else [*sent, packet(DESK, each, priority, 1, 0xDD)]


def heard(packets: list[bytes]) -> Sources:
    made = Sources(OURS.bytes)
    made.want([1])
    for each in packets:
        read = e131.decode(each)
        assert isinstance(read, e131.Data)
        made.take_sacn(read, "10.0.0.9", 0.0)
    return made


def said_of(node: Node, join: Join, sources: Sources, follows: bool) -> Said:
    live = sources.live(1, 0.1)
    done = leaving(1, Shared(join, follow=follows), rank_of(live, Rank(), 0.1), OWN, None)
    return effect(node, done, beside(live, 0.1), OWN, follows)


def shown_by(node: SacnNode, join: Join, console: list[bytes], sources: Sources) -> bytes:
    """What the node shows once it has waited for everybody's priorities. We send WE in every slot."""
    live = sources.live(1, 0.1)
    done = leaving(1, Shared(join, follow=True), rank_of(live, Rank(), 0.1), OWN, None)
    priority = OWN if done.terms.priority is None else done.terms.priority
    for at in (0.0, 2.0):
        for each in console:
            node.take(_numbered(each, at), ("10.0.0.9", 1), at)
        if done.terms.sacn:
            node.take(packet(OURS, WE, priority, int(at)), ("10.0.0.5", 1), at)
        if done.terms.per_slot:
            ours = packet(OURS, each_of(done.outrank, IN_HAND), priority, int(at) + 1, 0xDD)
            node.take(ours, ("10.0.0.5", 1), at)
    return node.shown(2.1)


def _numbered(sent: bytes, at: float) -> bytes:
    numbered = bytearray(sent)
    numbered[111] += int(at)
    return bytes(numbered)


def meant_by(said: Said) -> bytes:
    """What a node shows, by the first words of the sentence."""
    if said.startswith("The console"):
        return CONSOLE
    if said.startswith("Ours"):
        return WE
    if said.startswith("Slots in hand"):
        return bytes(WE[at] if at + 1 in IN_HAND else level for at, level in enumerate(CONSOLE))
    assert said.startswith("A mixture"), said
    return bytes(map(max, CONSOLE, WE))


@pytest.mark.parametrize("join", JOINS)
@pytest.mark.parametrize("node", ["each", "plain"])
@pytest.mark.parametrize("priority", [0, 1, 2, 99, 100, 101, 150, 199, 200])
def test_a_node_shows_what_was_said_of_it(join: Join, node: Node, priority: int) -> None:
    console = desk(priority, None)
    said = said_of(node, join, heard(console), join != "alone")
    assert shown_by(SacnNode(1, node == "each"), join, console, heard(console)) == meant_by(said), said


@pytest.mark.parametrize("join", ["above", "slots", "below", "off"])
@pytest.mark.parametrize("node", ["each", "plain"])
@pytest.mark.parametrize(("priority", "low", "high"), [(100, 40, 180), (150, 150, 150), (30, 120, 199)])
def test_also_where_the_console_gives_each_slot_a_priority(
    join: Join, node: Node, priority: int, low: int, high: int
) -> None:
    console = desk(priority, bytes([low, high] * 256))
    said = said_of(node, join, heard(console), follows=True)
    assert shown_by(SacnNode(1, node == "each"), join, console, heard(console)) == meant_by(said), said


def test_alone_beside_priorities_of_slots_it_goes_slot_by_slot() -> None:
    console = desk(100, bytes([40, 180] * 256))
    said = said_of("each", "alone", heard(console), follows=False)
    assert said == "Slot by slot: the console gives them 40 to 180, and ours is 100."
    shown = shown_by(SacnNode(1, reads_each=True), "alone", console, heard(console))
    assert shown == bytes(WE[at] if at % 2 == 0 else CONSOLE[at] for at in range(512))


@pytest.mark.parametrize("join", ["alone", "above"])
def test_beside_one_sender_by_art_net_we_can_raise_and_not_lower(join: Join) -> None:
    sources = Sources(OURS.bytes)
    sources.want([1])
    ours, theirs = (artnet.dmx_packet(1) for _ in range(2))
    ours[18:], theirs[18:] = WE, CONSOLE
    read = artnet.decode(bytes(theirs))
    assert isinstance(read, artnet.Dmx)
    sources.take_artnet(read, 1, "10.0.0.9", 0.0)
    assert said_of("artnet", join, sources, follows=True).startswith("Both: the higher level of each slot.")
    node = ArtNetNode(1)
    node.take(bytes(theirs), ("10.0.0.9", 6454), 0.0)
    node.take(bytes(ours), ("10.0.0.5", 6454), 0.1)
    assert node.shown(0.2) == bytes(map(max, CONSOLE, WE))
    for other in ("slots", "below"):
        assert said_of("artnet", other, sources, follows=True).startswith("Nothing of ours for as long as a ")


def test_where_nobody_is_heard_it_is_all_ours() -> None:
    quiet = heard([])
    for node in ("each", "plain"):
        for join in ("alone", "above", "slots", "below"):
            assert said_of(node, join, quiet, follows=True) == "Ours: nobody else is heard here."
        assert said_of(node, "off", quiet, follows=True) == "Nothing of ours."
    assert said_of("artnet", "below", quiet, follows=True) == "Ours: nobody else is heard here by Art-Net."


@pytest.mark.parametrize(
    ("others", "needed"),
    [
        (Beside(), False),
        (Beside(packets=100, each=(100, 100)), True),
        (Beside(packets=150, each=(150, 150)), False),
        (Beside(packets=150, each=(40, 150)), True),
        (Beside(artnet=1), True),
    ],
)
def test_what_takes_a_consoles_place_or_mixes_with_it_takes_a_held_press(
    others: Beside, needed: bool
) -> None:
    alone = leaving(1, Shared("alone"), Rank(), OWN, None)
    assert takes(alone, others, OWN) == needed
