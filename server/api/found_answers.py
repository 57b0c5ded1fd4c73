"""What the calls about photos, rig checks and faults answer."""

from typing import Any

from server.api.patch_answers import Answer

__all__ = ["CheckRound", "CheckVerdict", "FaultCase", "FaultGuide", "PhotoAnswer"]


class CheckRound(Answer):
    """A round of the rig check: when it began, by whom, lit at what share of full, and what it has seen."""

    number: int
    at: float
    by: str
    level: float
    works: int
    faults: int


class CheckVerdict(Answer):
    """What was seen of a unit: channel and place as they were then, the reason by its name."""

    fixture: str
    works: bool
    by: str
    channel: int | None
    position: str
    unit: str
    at: float
    level: float
    reason: str
    note: str
    photo: str


class PhotoAnswer(Answer):
    """A photo of a fixture: who took it, when (wall-clock seconds), and how many octets it has."""

    photo: str
    fixture: str
    by: str
    at: float
    octets: int


class _FaultStep(Answer):
    what: str
    by: str
    at: float
    words: str
    photo: str


class FaultCase(Answer):
    """One fault and what became of it. status: open, fixed or verified; here: the unit is in the rig now."""

    number: int
    fixture: str
    channel: int | None
    position: str
    unit: str
    type: str
    show: str
    reason: str
    words: str
    status: str
    here: bool
    steps: list[_FaultStep]


class _Told(Answer):
    why: str
    said: list[Any]


class FaultGuide(Answer):
    """What to ask next, or what it comes to; what the laptop knows of the unit, and what it does not."""

    question: _Told | None
    cause: _Told | None
    asked: int
    known: list[_Told]
    unknown: list[_Told]
