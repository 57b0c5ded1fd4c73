"""What somebody can ask who calls across the room."""

from dataclasses import dataclass

from server.stage.command import Command

__all__ = ["SeeShout", "SendShout"]


@dataclass(frozen=True, slots=True)
class SendShout(Command):
    """Call a word of shout.SHOUTS. to: somebody (their id); None: the crew the lead, the lead all at work."""

    what: str
    to: str | None = None


@dataclass(frozen=True, slots=True)
class SeeShout(Command):
    """Say that one has seen a call."""

    number: int
