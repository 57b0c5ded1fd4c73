"""Which ways are open, and that those a new plan leaves alone stay as they are."""

from collections.abc import Iterator

import pytest

from server.output.place import ART_NET, By, plain_sacn
from server.output.sender import Sender
from tests.output.ear import Ear

__all__: list[str] = []

NOT_OURS = By("sacn", "192.0.2.77", bound=True)  # RFC 5737: an address of documentation
OURS = By("sacn", "127.0.0.1", bound=True)


@pytest.fixture
def sender() -> Iterator[Sender]:
    made = Sender()
    yield made
    made.close()


def test_ways_are_opened_and_closed_as_asked_and_those_in_use_are_not_touched(sender: Sender) -> None:
    art, port = sender.way(ART_NET), sender.artnet_port
    sender.use({plain_sacn(None), OURS})
    kept, gone = sender.way(OURS), sender.way(plain_sacn(None))
    before = (kept.port, gone.port)
    sender.use({OURS})
    assert sender.way(OURS) is kept
    assert (kept.port, gone.port) == (before[0], 0)
    with pytest.raises(KeyError):
        sender.way(plain_sacn(None))
    assert (sender.way(ART_NET), sender.artnet_port) == (art, port), "whoever polls has bound it after us"


def test_one_way_that_is_broken_stops_no_other_and_is_mended_alone(sender: Sender) -> None:
    sender.use({OURS, NOT_OURS})
    assert {by for by in (OURS, NOT_OURS) if sender.way(by).broken} == {NOT_OURS}
    ear = Ear()
    sender.send_once(bytearray(b"level"), [(by, ("127.0.0.1", ear.port)) for by in (NOT_OURS, OURS)])
    ear.until_silent(0.05)
    assert ear.heard == [b"level"]
    port = sender.way(OURS).port
    assert sender.rebuild() == set(), "its interface is not back"
    assert sender.way(OURS).port == port
    sender.use({OURS})
    assert not sender.broken
    ear.close()
