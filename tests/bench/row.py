"""One line of the table of budgets."""

import sys
import time
from dataclasses import dataclass, field

from tests.bench.pacing import Evenness
from tests.bench.senders import OURS

__all__ = ["HZ", "Row", "both", "closest", "done", "ours"]

HZ = "43.9-44.1", "44.00 +-0.02"  # goal and superb of every rate


@dataclass(slots=True)
class Row:
    """One figure, by sender, and what it ought to be."""

    what: str
    goal: str = ""
    superb: str = ""
    by: dict[str, str] = field(default_factory=dict)


def ours(what: str, goal: str, superb: str, value: float | str) -> Row:
    """A figure of ours alone."""
    return Row(what, goal, superb, {OURS: value if isinstance(value, str) else f"{value:.2f}"})


def closest(what: str, found: Evenness) -> Row:
    """The closest two packets, and numbers that are missing."""
    return ours(f"{what}: closest two, ms; lost", ">= 22; 0", "", f"{found.closest_ms:.2f}; {found.lost}")


def both(figures: tuple[object, ...]) -> str:
    """Two figures in one cell."""
    return " ".join(f"{float(str(each)):.2f}" for each in figures)


def done(what: str) -> None:
    """Tell whoever waits what is through."""
    print(f"{time.strftime('%H:%M:%S')} {what}", file=sys.stderr, flush=True)
