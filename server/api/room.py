"""What every request has at hand: one show, its stage, engine, journal and phones."""

import asyncio
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from server.api.attempts import Attempts
from server.api.clock import Clock
from server.api.hub import Hub
from server.api.laptop import Laptop
from server.api.pins import Pins
from server.api.press import Press
from server.beside.borrowed import Borrowed
from server.beside.joining import Joining
from server.beside.moving import Moving
from server.engine.engine import Engine
from server.engine.routing import Routing
from server.hearing.sources import Sources
from server.hearing.told import Ours
from server.journal.record import Write, writes
from server.journal.store import Journal, NotKeptError
from server.net.findings import Finding
from server.net.nodes import Nodes
from server.paperwork.library import Library
from server.paperwork.stock import Stock
from server.rig.said import Said
from server.settings import Settings
from server.stage.apply_outputs import reroutes
from server.stage.commands import (
    Arrive,
    Command,
    FocusAt,
    FocusNext,
    GoAloft,
    HandsOn,
    Leave,
    LetGo,
    RemovePerson,
    StartCheck,
    StepCheck,
    StopCheck,
    TagOut,
    Undo,
    Withdraw,
)
from server.stage.commands_shared import ClearUniverse
from server.stage.events import ClockSet, Event
from server.stage.holds import Refused
from server.stage.stage import Stage

__all__ = ["Done", "Room"]

# What may leave a unit where it points just now.
CHECKS = (StartCheck, StepCheck, StopCheck)
STEPS = (FocusAt, FocusNext)
FREEZING = (GoAloft, HandsOn, Leave, LetGo, RemovePerson, TagOut, Undo, *CHECKS, *STEPS, ClearUniverse)


@dataclass(frozen=True, slots=True)
class Done:
    """A command that was done. rev: the state it led to. kept: done once it is durable."""

    rev: int
    kept: asyncio.Future[None]


@dataclass(slots=True)
class Room:
    """The one way from outside to the stage: asked, applied, brought out, told, kept.

    frames_per_s: by universe, over the last second. alerts: sentences for everybody, by what they are about.
    laptop: where phones find the page, and the network levels leave by. stock: the library by the thousand.
    about_nodes: what is to be said of the nodes. routing: how levels leave now; replan: have it done.
    sources: what others send on our universes; ahead: on numbers that universes are still to go by, which
    moving keeps; hears_ipv6: also by IPv6. sacn_priority: that of our own sACN on a universe.
    ours: how each universe leaves beside them. joining: where each one stands.
    borrowed: what consoles sent on slots that are ours; given_back: the newest report of each universe.
    """

    settings: Settings
    library: Library
    stage: Stage
    engine: Engine
    journal: Journal
    hub: Hub
    alerts: dict[str, Said]
    laptop: Laptop
    stock: Stock
    started: float = field(default_factory=time.monotonic)
    frames_per_s: dict[int, float] = field(default_factory=dict)
    nodes: Nodes | None = None
    about_nodes: Callable[[], Sequence[Finding]] = tuple
    routing: Callable[[], Routing] = lambda: Routing("", "")
    replan: Callable[[], None] = lambda: None
    sources: Sources = field(default_factory=lambda: Sources(b""))
    ahead: Sources = field(default_factory=lambda: Sources(b""))
    hears_ipv6: Callable[[], bool] = lambda: False
    moving: Moving = field(default_factory=lambda: Moving(0))
    sacn_priority: Callable[[int], int | None] = lambda _: None
    borrowed: Borrowed = field(default_factory=Borrowed)
    given_back: dict[int, dict[str, Any]] = field(default_factory=dict)
    joining: Joining = field(default_factory=lambda: Joining(0, lambda _: 100, ()))
    ours: Callable[[int], Ours] = field(default=lambda _: Ours(None))
    pins: Pins = field(default_factory=Pins)
    attempts: Attempts = field(default_factory=Attempts)
    press: Press = field(default_factory=Press)
    clock: Clock = field(default_factory=Clock)
    _sockets: dict[str, int] = field(default_factory=dict)

    def ask(
        self, command: Command, also: Sequence[Write] = (), *, entry: str = "", ago_s: float = 0.0
    ) -> Done | Refused:
        """Do a command now; what it takes to keep it follows in `Done.kept`.

        also: what goes into the file with it, or not at all. entry: the phone's name for what may come twice;
        ago_s: how long ago it was written there.
        """
        at = self._now()
        if isinstance(command, FREEZING):  # only the engine knows where a fade has come to
            command = replace(command, leaving=self.engine.leaving(self.stage.state.fixtures))
        answer = self.stage.ask(command, at - ago_s, entry)
        if isinstance(answer, Refused):
            return answer
        return Done(self.stage.rev, self._follow(answer, at, also))

    def by_the_clock(self) -> None:
        """Let happen what the time has come for."""
        at = self._now()
        if happened := self.stage.by_the_clock(at):
            self._follow(happened, at)

    def happen(self, happened: Sequence[Event]) -> None:
        """Let something happen that nobody asked for."""
        self.stage.happen(happened)
        self._follow(happened, self.clock.wall())

    def _now(self) -> float:
        """Wall-clock seconds. What counts by them hears first that they were set, by whoever or whatever."""
        at, by_s = self.clock.read()
        if by_s:
            self.happen([ClockSet("", by_s)])
        return at

    def _follow(
        self, happened: Sequence[Event], at: float, also: Sequence[Write] = ()
    ) -> asyncio.Future[None]:
        if happened:
            # Light first: the disk may take its time, the person aloft may not.
            self.engine.took(happened)
            if any(reroutes(event) for event in happened):
                self.replan()
            self.hub.happened(happened)
        # Nothing is kept, too: an answer must not overtake what it rests on.
        kept = self.journal.keep(happened, at, [*writes(self.stage.state, happened), *also])
        kept.add_done_callback(self._kept)
        return kept

    def _kept(self, kept: asyncio.Future[None]) -> None:
        if not kept.cancelled():
            kept.exception()  # looked at here, or it would be logged as forgotten
            self.look_at_disk()

    def look_at_disk(self) -> None:
        """Tell everybody how the disk is doing; to be called now and then, as it gets well by itself."""
        self.journal.snapshot_if_due(self.stage.state)
        self.alert("disk", self.journal.trouble)

    async def do(self, command: Command, also: Sequence[Write] = ()) -> int | Refused:
        """Do a command and return the rev once it is kept. A disk that does not take it is a refusal, too."""
        done = self.ask(command, also)
        return done if isinstance(done, Refused) else await self.settled(done)

    async def settled(self, done: Done) -> int | Refused:
        """The rev once it is kept, or the refusal when the disk did not take it."""
        try:
            await done.kept
        except NotKeptError as wrong:
            return Refused(wrong.why)
        return done.rev

    def alert(self, about: str, sentence: Said | None) -> None:
        """Say something to everybody until it is taken back with None."""
        if self.alerts.get(about) == sentence:
            return
        if sentence is None:
            del self.alerts[about]
        else:
            self.alerts[about] = sentence
        self.hub.alerts_changed()

    def arrive(self, person: str) -> None:
        """One more page of that person is connected."""
        self._sockets[person] = self._sockets.get(person, 0) + 1
        if self._sockets[person] == 1:
            self.ask(Arrive(person))

    def withdraw(self, person: str) -> None:
        """One page fewer; with the last one the person is away."""
        self._sockets[person] -= 1
        if not self._sockets[person]:
            del self._sockets[person]
            self.hub.signal(person, None)  # what it was says nothing about a phone that is away
            self.ask(Withdraw(person))
