"""A process that writes through stage and journal as fast as it can, to be killed: for the crash tests.

python -m tests.journal.writer

Reads lines "PATH MILLISECONDS"; for each, starts a copy of itself that goes on with that show, and kills it
(SIGKILL) after that time; with no time, whoever asked does. Writes the copy's process number, the number of
each command once it is acknowledged, then "dead". POSIX only.
"""

import asyncio
import os
import signal
import sys
import time
from contextlib import suppress
from functools import partial
from pathlib import Path
from random import Random

from server.journal.store import Journal
from server.journal.words import event_from_text, state_from_text, state_to_text
from server.rig.universe import SLOTS
from server.stage import commands, events
from server.stage.commands import Command
from server.stage.decide import Rules
from server.stage.events import EVENTS, Event
from server.stage.holds import Refused
from server.stage.stage import Stage
from server.stage.state import State
from tests.shows import LEAD, MO, show_events

__all__ = ["AT_ONCE", "happened_at", "number_of"]

AT_ONCE = 6  # commands without an answer; a page keeps to three
SNAPSHOT_EVERY = 300  # events, so that many a kill falls into one
COUNTER = 9  # a universe whose first slots hold the number of the last command, lowest byte first


def number_of(state: State) -> int:
    """The number of the last command that this state knows of."""
    slots = state.slots.get(COUNTER, {})
    return sum(level.raw << 8 * (slot - 1) for slot, level in slots.items())


def happened_at(stage: Stage, n: int) -> list[Event]:
    """Do command number `n`, the same for the same number and state; returns what happened."""
    if n == 1:
        first = show_events()
        stage.happen(first)
    else:
        # Far apart: a start ends what went on, so that no command may be one move more of the last.
        answer = stage.ask(_command(Random(n)), 10.0 * n)
        first = [] if isinstance(answer, Refused) else list(answer)
    count = [events.SlotSet(LEAD.id, COUNTER, at + 1, n >> 8 * at & 255) for at in range(3)]
    stage.happen(count)
    return [*first, *count]


def _command(chance: Random) -> Command:
    who, fixture = chance.choice((LEAD.id, MO.id)), chance.choice(("dim1", "dim2", "work", "mover"))
    look = f"look-{chance.randrange(5)}"
    key = "Pan" if fixture == "mover" else "Dimmer"
    drag = commands.SetValues(who, fixture, {key: chance.random()})
    rare: list[Command] = [
        commands.Take(who, fixture, over=True),
        commands.LetGo(who, "*"),
        commands.SetMaster(who, chance.random()),
        commands.SetSlot(who, 3, chance.randint(1, SLOTS), chance.choice((None, 0, 128, 255))),
        commands.SaveLook(LEAD.id, look, "A look"),
        commands.RecallLook(who, look, 1.0),
        commands.DeleteLook(LEAD.id, look),
        commands.SetBaseline(LEAD.id, look),
        commands.MarkFault(who, fixture, f"fault {chance.random()}"),
        commands.HandsOn(who, fixture, chance.random() < 0.5, leaving={fixture: {"Pan": 1}}),
        commands.SetOrder(LEAD.id, tuple(chance.sample(("dim1", "dim2", "work"), 3))),
        commands.ChangePatch(LEAD.id, remove=("hazer",)),
        commands.SetBlackout(who, chance.random() < 0.5),
    ]
    return drag if chance.random() < 0.7 else chance.choice(rare)


async def _write(path: Path) -> None:
    journal = Journal(path)
    stage = Stage(Rules(), journal.read())
    n = number_of(stage.state)
    while True:
        n += 1
        kept = journal.keep(happened_at(stage, n), float(n))
        kept.add_done_callback(partial(_acknowledge, n))
        journal.snapshot_if_due(stage.state, SNAPSHOT_EVERY)
        if n % AT_ONCE == 0:
            await kept


def _acknowledge(n: int, kept: asyncio.Future[None]) -> None:
    kept.result()
    os.write(1, b"%d\n" % n)  # whole or not at all, and not kept back in this process


def _main() -> None:
    state_from_text(
        state_to_text(State())
    )  # what every start learns once is learnt before the copies are made
    for kind in EVENTS:
        with suppress(ValueError):
            event_from_text(kind, b"{}")
    for line in sys.stdin:
        path, _, milliseconds = line.rpartition(" ")
        child = os.fork()
        if child == 0:
            os.write(1, b"%d\n" % os.getpid())
            asyncio.run(_write(Path(path)))
        if milliseconds.strip():
            time.sleep(float(milliseconds) / 1000)
            os.kill(child, signal.SIGKILL)
        _, how = os.waitpid(child, 0)
        os.write(1, b"dead\n" if os.WIFSIGNALED(how) else b"ended by itself\n")


if __name__ == "__main__":
    _main()
