"""What the lead decided about universes, in words, for the record."""

from server.rig.said import Fact, Said
from server.stage.commands_shared import ClearUniverse, GiveBack, Share
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


@told.register
def _(command: ClearUniverse, state: State, before: Before) -> Said:
    return Said("Let go of everything on universe {universe}, to give it back.", universe=command.universe)


@told.register
def _(command: GiveBack, state: State, before: Before) -> Said:
    facts: dict[str, Fact] = {"universe": command.universe, "name": command.to}
    if command.differing:
        return Said(
            "Gave universe {universe} back to {name}: {back} of {slots} slots borrowed are as it sends them, "
            "{differing} in all are not.",
            back=command.back,
            slots=command.slots,
            differing=command.differing,
            **facts,
        )
    return Said(
        "Gave universe {universe} back to {name}: all {slots} slots borrowed are as it sends them, octet for "
        "octet.",
        slots=command.slots,
        **facts,
    )
