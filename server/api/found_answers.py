"""What the calls about photos and rig checks answer."""

from server.api.patch_answers import Answer

__all__ = ["CheckRound", "CheckVerdict", "PhotoAnswer"]


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
