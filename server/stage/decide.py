"""State and command to events, or to a refusal with its reason. Changes nothing."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import singledispatch

from server.rig.said import Said
from server.rig.universe import OffLimits, Reserved
from server.stage import commands, events
from server.stage.commands import Command
from server.stage.events import Event
from server.stage.holds import Refused
from server.stage.near import names
from server.stage.outputs import USUAL, Output
from server.stage.state import State

__all__ = ["LONGEST_FAULT", "MOST_UNIVERSES", "Answer", "Rules", "allow", "answer", "decide"]

LONGEST_FAULT = 200  # a line on a phone and in a table
AS_GOOD_AS_DARK = 0.1  # a master below this share takes the light from somebody aloft as a blackout does
MOST_UNIVERSES = 1024  # opened or patched; what the output process has room for

ONLY = {
    ("lead",): Said("Only the lead can do that."),
    ("lead", "crew"): Said("Only the lead or the crew can do that."),
}

Answer = Sequence[Event] | Refused


@dataclass(frozen=True, slots=True)
class Rules:
    """What the venue has laid down in the server's settings; no phone can change it.

    usual: where universes go that have no outputs of their own. offset: universe less Port-Address.
    """

    off_limits: tuple[OffLimits, ...] = ()
    reserved: tuple[Reserved, ...] = ()
    usual: tuple[Output, ...] = USUAL
    offset: int = 0


def decide(state: State, command: Command, now: float, rules: Rules) -> Answer:
    """What becomes of a command at `now` (seconds, the clock of all commands). Nothing is changed.

    Raises TypeError for a command nobody has written a rule for.
    """
    if command.person not in state.people and not isinstance(command, commands.Join):
        return Refused(Said("You have not joined. Join with your name first."))
    return answer(command, state, now, rules)


@singledispatch
def answer(command: Command, state: State, now: float, rules: Rules) -> Answer:
    """The rule for one kind of command; each registers itself below or in the files beside this one."""
    raise TypeError(f"no rule for {type(command).__name__}")


def allow(state: State, person: str, *roles: str) -> Refused | None:
    """None when that person's role is one of `roles`, else the refusal."""
    if state.people[person].role in roles:
        return None
    return Refused(ONLY[roles])


@answer.register
def _(command: commands.SetMaster, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead", "crew"):
        return refused
    if not 0 <= command.value <= 1:
        return Refused(Said("The master goes from 0 to 1, not {value}.", value=command.value))
    if command.value < min(AS_GOOD_AS_DARK, state.master) and (refused := _somebody_aloft(state)):
        return refused
    return [events.MasterSet(command.person, command.value)]


@answer.register
def _(command: commands.SetBlackout, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead", "crew"):
        return refused
    if command.on and not state.blackout and (refused := _somebody_aloft(state)):
        return refused
    return [events.BlackoutSet(command.person, command.on)]


def _somebody_aloft(state: State) -> Refused | None:
    if not state.aloft:
        return None
    why = Said(
        "Somebody is aloft ({names}). Call dark: it waits for their yes.", names=names(state, state.aloft)
    )
    return Refused(why, ask="dark")
