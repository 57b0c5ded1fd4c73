"""An engine on the small show: a clock moved by hand, and a list where frames go."""

from collections.abc import Iterable, Sequence

from server.engine.engine import Engine
from server.engine.heard import NOTHING, Heard
from server.rig.universe import OffLimits
from server.stage import events
from server.stage.commands import Command
from server.stage.decide import Rules
from server.stage.events import Event
from server.stage.holds import Refused
from server.stage.stage import Stage
from tests.shows import LEAD, show_events

__all__ = ["Rig", "Sent", "levels_set"]


class Sent:
    """Where frames go: a list, and how often somebody was woken."""

    def __init__(self) -> None:
        self.writes: list[tuple[int, bytes]] = []
        self.each: dict[int, bytes] = {}
        self.wakes = 0
        self.failures = 0

    def write(self, universe: int, slots: bytes, each: bytes = b"") -> None:
        if self.failures:
            self.failures -= 1
            raise OSError("no room")
        self.writes.append((universe, slots))
        self.each[universe] = each

    def wake(self) -> None:
        self.wakes += 1

    def picture(self, universe: int) -> bytes:
        return next(slots for number, slots in reversed(self.writes) if number == universe)

    def slot(self, universe: int, slot: int) -> int:
        return self.picture(universe)[slot - 1]

    def pair(self, slots: tuple[int, int]) -> int:
        coarse, fine = slots
        return 256 * self.slot(2, coarse) + self.slot(2, fine)


class Rig:
    """A stage, an engine that follows it, a clock moved by hand, and all that was handed on."""

    def __init__(
        self,
        happened: Iterable[Event] = (),
        off_limits: tuple[OffLimits, ...] = (),
        heard: Heard = NOTHING,
        empty: bool = False,
    ) -> None:
        """empty: without the small show."""
        self.now = 1000.0
        self.sent = Sent()
        self.planned: list[tuple[int, ...]] = []
        self.stage = Stage(Rules())
        self.stage.happen([*(() if empty else show_events()), *happened])
        self.engine = Engine(
            self.stage.state, self.sent, lambda: self.now, self.planned.append, off_limits, heard
        )

    def happen(self, *happened: Event) -> None:
        self.stage.happen(happened)
        self.engine.took(happened)

    def ask(self, command: Command) -> Sequence[Event]:
        """What came of it; nothing when it was refused."""
        answer = self.stage.ask(command, self.now)
        if isinstance(answer, Refused):
            return ()
        self.engine.took(answer)
        return answer

    def step(self, after_s: float = 0.0) -> None:
        self.now += after_s
        self.engine.step(self.now)


def levels_set(unit: str, fade_s: float = 0.0, **raws: int | None) -> events.LevelsSet:
    """The event of somebody setting raw values."""
    return events.LevelsSet(LEAD.id, unit, dict(raws), fade_s)
