"""What the calls about universes beside a console answer."""

from typing import Any

from pydantic import Field

from server.api.heard_answers import HeardAnswer
from server.api.patch_answers import Answer

__all__ = ["BesideAnswer", "GivenBackAnswer"]

_JOIN = "^(alone|above|slots|below|off)$"


class _BesideSentence(Answer):
    why: str
    said: list[Any]


class _BesideEffect(_BesideSentence):
    node: str = Field(pattern="^(each|plain|artnet)$")


class _BesideWay(Answer):
    """held: choosing it takes a press that is held, as it takes a console's place or somebody is aloft.

    follows: what is in nobody's hand is always the console's. nodes: what one that reads priorities of slots,
    one that does not and one that hears Art-Net would show; following: the same, where it is followed.
    """

    join: str = Field(pattern=_JOIN)
    possible: bool
    follows: bool
    held: bool
    trouble: _BesideSentence | None
    nodes: list[_BesideEffect]
    following: list[_BesideEffect]


class _BesideDecided(Answer):
    join: str = Field(pattern=_JOIN)
    follow: bool
    gone: str = Field(pattern="^(hold|baseline)$")


class _BorrowedSlot(Answer):
    """before: what the console sent just before the slot became ours. now: what it sends; null: not heard."""

    slot: int = Field(ge=1, le=512)
    channel: int | None
    by: str
    since_s: float
    before: int = Field(ge=0, le=255)
    now: int | None = Field(ge=0, le=255)


class _SlotBack(_BorrowedSlot):
    is_back: bool


class _NotBack(_BesideSentence):
    slot: int = Field(ge=1, le=512)


class _BesideMove(_BesideSentence):
    """where: listening on numbers that are new to it, or waiting for the lead; agreed: they decided."""

    where: str = Field(pattern="^(listening|waiting)$")
    agreed: bool


class GivenBackAnswer(Answer):
    """What became of a universe that was given back. to: who drives it. at: wall-clock seconds.

    compared: how many slots were compared, octet for octet; differing: those that were not the console's by
    the end. slots: what was borrowed. why: of those of them that were not back.
    """

    to: list[str]
    at: float
    compared: int
    differing: list[int]
    slots: list[_SlotBack]
    why: list[_NotBack]


class _BesideUniverse(Answer):
    """join: how it leaves now, null: it does not yet. priority: of our sACN; outrank: of slots in hand.

    left_s: of listening, 0 while its network is not there or cannot be heard. move: it is on its way to other
    numbers, and goes on as before meanwhile; heard: who drives those, too; crowd: there are more of them than
    are kept account of. trouble: why it leaves otherwise than was decided. ways, borrowed, stays (what giving
    it back does not let go of) and given_back (the newest report): of the one asked about. returned: slots
    let go of since the start.
    """

    universe: int = Field(ge=1, le=63999)
    where: str = Field(pattern="^(listening|waiting|joined)$")
    left_s: float
    decided: _BesideDecided | None
    join: str | None = Field(pattern=_JOIN)
    priority: int | None
    outrank: int | None
    artnet: bool
    trouble: _BesideSentence | None
    move: _BesideMove | None
    crowd: _BesideSentence | None
    heard: list[HeardAnswer]
    ways: list[_BesideWay]
    borrowed: list[_BorrowedSlot]
    stays: list[_BesideSentence]
    returned: int
    given_back: GivenBackAnswer | None


class BesideAnswer(Answer):
    """Every universe of ours, and how it stands beside consoles.

    ipv6: consoles that send sACN by IPv6 multicast are heard, too, on every network that is listened on.
    """

    listen_s: float
    ipv6: bool
    universes: list[_BesideUniverse]
