"""The list of universes: which numbers are on it, and when it is told."""

from collections.abc import Iterator
from math import inf

import pytest

from server.output.announcer import Announcer
from server.output.place import places_of
from server.output.plan import Plan, Sacn, UniversePlan
from server.output.sender import Sender
from server.output.stream import Source, Stream
from server.wire import e131
from tests.output.ear import CID, DIM, Ear

__all__: list[str] = []


@pytest.fixture
def sender() -> Iterator[Sender]:
    made = Sender()
    yield made
    made.close()


def streams(plan: Plan) -> list[Stream]:
    template = bytes(e131.data_packet(bytes(16), "Test", 1))
    return [Stream(planned, Source(template, None), at) for at, planned in enumerate(plan.universes)]


def told(announcer: Announcer, sender: Sender, ear: Ear, now: float) -> tuple[int, ...]:
    announcer.send(sender, now)
    ear.until_silent(0.02)
    packet = e131.decode(ear.heard[-1])
    assert isinstance(packet, e131.Discovery)
    assert packet.source_name == "Test"
    return packet.universes


def test_the_list_has_the_numbers_on_the_wire_of_what_is_sent_and_the_address_of_synchronisation(
    sender: Sender, ear: Ear
) -> None:
    # E1.31-2018, 8.5: universes of data and of synchronisation.
    host = Sacn("127.0.0.1", ear.port, universe=300)
    plan = Plan(
        CID,
        "Test",
        None,
        (UniversePlan(1, (host,)), UniversePlan(2, (Sacn("127.0.0.1", ear.port),)), UniversePlan(3, ())),
        sync=7962,
    )
    made, announcer = streams(plan), Announcer()
    sender.use({place.by for place in places_of(plan.universes[0], None)})
    announcer.follow(plan, 1.0)
    announcer.look(made, 1.0)
    assert announcer.due == inf, "nothing is sent yet"
    made[0].show(DIM)
    made[2].show(DIM)
    announcer.look(made, 2.0)
    assert announcer.due == 2.0
    assert told(announcer, sender, ear, 2.0) == (300, 7962)
    assert announcer.due == 12.0
    made[1].show(DIM)
    announcer.look(made, 3.0)
    assert told(announcer, sender, ear, announcer.due) == (2, 300, 7962)


def test_somewhere_else_it_is_told_soon() -> None:
    announcer = Announcer()
    plan = Plan(CID, "Test", None, (UniversePlan(1, (Sacn("127.0.0.1"),)),))
    (stream,) = streams(plan)
    stream.show(DIM)
    announcer.follow(plan, 1.0)
    announcer.look([stream], 1.0)
    announcer._times.sent(1.0)
    announcer.follow(plan, 2.0)
    assert announcer.due == 11.0, "the same as before"
    announcer.follow(Plan(CID, "Test", None, (UniversePlan(1, (Sacn(),)),)), 3.0)
    assert announcer.due == 3.0
