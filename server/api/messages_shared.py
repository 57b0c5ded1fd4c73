"""The messages about universes shared with a console, checked, and the commands they become."""

from typing import Literal

from pydantic import Field

from server.api.message import Message
from server.stage.command import Command
from server.stage.commands_shared import Share
from server.stage.shared import FOLLOWING, Gone, Join, Shared

__all__ = ["SharedMessage"]


class SharedMessage(Message):
    """`join` None: no decision any more. `held`: pressed and held, as `off` asks beside somebody aloft."""

    do: Literal["share"]
    universe: int = Field(ge=1, le=63999)
    join: Join | None
    follow: bool = False
    gone: Gone = "hold"
    held: bool = False

    def command(self, person: str) -> Command:
        """See stage.shared.Shared; where it must follow it does."""
        if self.join is None:
            return Share(person, self.universe, None)
        follow = self.follow or self.join in FOLLOWING
        return Share(person, self.universe, Shared(self.join, follow, self.gone), self.held)
