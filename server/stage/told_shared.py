"""What the lead decided about universes, in words, for the record."""

from server.rig.said import Said
from server.stage.commands_shared import Share
from server.stage.state import Before, State
from server.stage.told import told

__all__ = ["JOINED"]

JOINED = {
    "alone": Said("as if nobody else drove it"),
    "above": Said("above the console, its levels passed through"),
    "slots": Said("only slots in hand above the console"),
    "below": Said("below the console"),
    "off": Said("nothing is sent"),
}


@told.register
def _(command: Share, state: State, before: Before) -> Said:
    shared = state.shared.get(command.universe)
    if shared is None:
        return Said("Universe {universe}: no decision any more.", universe=command.universe)
    return Said("Universe {universe}: {what}.", universe=command.universe, what=JOINED[shared.join])
