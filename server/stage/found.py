"""What people find out about the rig, as the state keeps it."""

from dataclasses import dataclass, field

__all__ = ["OPENS", "ORDERS", "Case", "Checking", "FaultStep", "Photo", "Round", "Verdict"]

OPENS = ("opened", "reopened")  # steps after which a fault is open
ORDERS = ("position", "channel", "universe")  # in which a rig check goes through the rig


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo of a unit: who took it, what they were called, when (wall-clock seconds), and its octets.

    The picture itself lies in the show's file, never in the state.
    """

    fixture: str
    person: str
    name: str
    at: float
    octets: int


@dataclass(frozen=True, slots=True)
class Round:
    """One check of the whole rig: when it began (wall-clock seconds), by whom, and the share of full it is
    lit at."""

    number: int
    at: float
    name: str
    level: float


@dataclass(frozen=True, slots=True)
class Verdict:
    """What somebody saw of a unit in a round. channel, position, unit: as they were then.

    reason: one of stage.reasons.REASONS, "" when it works or only the note says. photo: its name, or "".
    """

    works: bool
    person: str
    name: str
    at: float
    level: float
    channel: int | None
    position: str
    unit: str
    reason: str = ""
    note: str = ""
    photo: str = ""


@dataclass(frozen=True, slots=True)
class Checking:
    """Where somebody is in a rig check.

    fixture: lit for them now. ended: there is nothing after it; it stays lit until they stop. order: one of
    ORDERS. where: only that position or universe, "" for everywhere. unproved: only what has no verdict yet.
    had: it was in their hand before. skipped: what they came past because others have it in hand. stood: raw
    values of what makes it swing, as it was lit. stride: of its walk. strode: when (wall-clock seconds).
    """

    fixture: str | None
    ended: bool = False
    order: str = "position"
    where: str = ""
    unproved: bool = True
    had: bool = False
    skipped: tuple[str, ...] = ()
    stood: dict[str, int] = field(default_factory=dict)
    stride: int | None = None
    strode: float = 0.0


@dataclass(frozen=True, slots=True)
class FaultStep:
    """What became of a fault, at `at` (wall-clock seconds). what: one of stage.cases.STEPS."""

    what: str
    person: str
    name: str
    at: float
    words: str = ""
    photo: str = ""


@dataclass(frozen=True, slots=True)
class Case:
    """One fault of one unit, with all that became of it. channel to venue: as they were when it was opened.

    reason: one of stage.reasons.REASONS, or "". words: what is wrong, as it was last said.
    """

    number: int
    fixture: str
    channel: int | None
    position: str
    unit: str
    type: str
    show: str
    venue: str
    reason: str
    words: str
    steps: tuple[FaultStep, ...]

    @property
    def status(self) -> str:
        """open, fixed (somebody is still to see it work), or verified."""
        last = next(step.what for step in reversed(self.steps) if step.what in ("fixed", "verified", *OPENS))
        return "open" if last in OPENS else last
