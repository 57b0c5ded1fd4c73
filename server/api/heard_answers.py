"""What the calls about consoles that others drive answer."""

from typing import Any

from pydantic import Field

from server.api.patch_answers import Answer

__all__ = ["HeardAnswer", "SourcesAnswer"]


class HeardAnswer(Answer):
    """Another source on a universe of ours, and who wins at a node that hears us both.

    id: its CID, or address and physical port. number: what it calls the universe. priority: of its packets,
    null by Art-Net, which has none. per_slot: it gives each slot a priority. slots: how many show its level,
    as far as others are heard.
    """

    name: str
    protocol: str = Field(pattern="^(sacn|artnet)$")
    id: str
    number: int
    address: str
    priority: int | None = Field(ge=0, le=200)
    per_slot: bool
    state: str = Field(pattern="^(live|preview|terminated|lost)$")
    frames_per_s: float
    seen_s: float
    since_s: float
    late: int
    slots: int
    wins: str | None = Field(pattern="^(it|we|both|neither|each slot|the node)$")
    why: str
    said: list[Any]


class _UniverseHeard(Answer):
    universe: int = Field(ge=1, le=63999)
    exceeded: int
    sources: list[HeardAnswer]


class _Refused(Answer):
    address: str
    why: str
    count: int


class SourcesAnswer(Answer):
    """Who else sends on our universes, and what arrived that was no packet. priority: of our own sACN.

    exceeded: packets of sources beyond what there is room for. own: packets of ours that came back.
    """

    priority: int | None
    universes: list[_UniverseHeard]
    refused: list[_Refused]
    own: int
