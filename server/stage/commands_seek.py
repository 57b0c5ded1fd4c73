"""What somebody can ask who looks for the light they stand under."""

from dataclasses import dataclass, field

from server.stage.command import Command
from server.stage.state import Leaving

__all__ = ["AnswerSeek", "EndSeek", "Seek"]


@dataclass(frozen=True, slots=True)
class Seek(Command):
    """Find out which light one stands under. fixtures: ids it may be; None: any of the rig."""

    fixtures: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True)
class AnswerSeek(Command):
    """Whether the light one stands under is among those that breathe; None: cannot tell, show the others."""

    mine: bool | None
    leaving: Leaving = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class EndSeek(Command):
    """Stop looking, or (the lead) stop somebody who looks. found: keep the one that is left in hand."""

    found: bool = False
    leaving: Leaving = field(default_factory=dict)
