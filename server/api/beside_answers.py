"""What the calls about universes beside a console answer."""

from typing import Any

from pydantic import Field

from server.api.heard_answers import HeardAnswer
from server.api.patch_answers import Answer

__all__ = ["BesideAnswer"]

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


class _BesideUniverse(Answer):
    """join: how it leaves now, null: it does not yet. priority: of our sACN; outrank: of slots in hand.

    left_s: of listening. trouble: why it leaves otherwise than was decided. ways: of the one asked about.
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
    heard: list[HeardAnswer]
    ways: list[_BesideWay]


class BesideAnswer(Answer):
    """Every universe of ours, and how it stands beside consoles."""

    listen_s: float
    universes: list[_BesideUniverse]
