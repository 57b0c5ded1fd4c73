"""One running show: everything it needs opened, kept going, and taken down in order."""

import asyncio
import tempfile
import time
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path

from server.api.hub import Hub
from server.api.laptop import Laptop
from server.api.rig_read import Import, add_to_library, read_file
from server.api.room import Room
from server.consoles import Consoles, Known
from server.demo import demo_events
from server.engine.engine import Engine
from server.identity import Identity
from server.journal.show_file import backup
from server.journal.store import Journal
from server.network import Network
from server.output.link import Output
from server.output.trouble import GONE
from server.paperwork.library import Library, read_folder
from server.paperwork.shelf import Shelf
from server.paperwork.stock import Stock
from server.places import profiles_folder
from server.rig.said import Said
from server.settings import Settings
from server.stage.decide import Rules
from server.stage.decide_patch import change_patch
from server.stage.events import Disarmed, Event, FlashLifted, PersonWent
from server.stage.holds import Refused
from server.stage.stage import Stage

__all__ = ["Parts"]

BEAT_S = 0.5
SHOW_FILE = "show.sqlite"
SHELF_FILE = "library.sqlite"
PROFILES = "profiles"


class Parts:
    """One running show: its room, and the output process it feeds."""

    def __init__(self, settings: Settings) -> None:
        """Open everything and bring the kept picture out.

        Raises OutputBusy, OutputFailed, ShowFileError, OSError: with a sentence that says what to do.
        """
        self.broken = False  # one of its own tasks has ended by a fault
        folder = settings.show_folder
        self.output = Output.start(folder)
        try:
            backup(folder / SHOW_FILE, datetime.now().astimezone())
            journal = Journal(folder / SHOW_FILE)
            state = journal.read()
        except BaseException:
            # What was sending before goes on; a process of our own would run for nobody.
            leave = self.output.leave if self.output.taken_over else self.output.end
            leave()
            raise
        identity = Identity(folder)
        self.consoles = Consoles(settings, identity)
        self.network = Network(settings, identity.cid, self.consoles.arriving.take_artnet)
        self.consoles.take_over(self.output, state, self.network)
        self._state = state
        rules = Rules(
            settings.off_limits, settings.reserved, self.network.routing.usual, settings.artnet_offset
        )
        stage = Stage(rules, state)
        self.stock = _stock(settings)
        library = Library(read_folder(profiles_folder()), state.profiles.values(), self.stock.shelf)
        known = Known(self.consoles, self.output)
        engine = Engine(state, self.output, time.monotonic, self._plan, settings.off_limits, known)
        self.consoles.arriving.stir = engine.stir
        engine.outrank(self.consoles.joining.outranking())
        self._first: list[Event] = []
        self._wrong = ""
        alerts: dict[str, Said] = {}
        laptop = Laptop(settings.port)
        hub = Hub(stage, engine, alerts, laptop)
        self.room = Room(settings, library, stage, engine, journal, hub, alerts, laptop, self.stock)

    def _plan(self, universes: Iterable[int]) -> None:
        joining, moving, wanted = self.consoles.joining, self.consoles.moving, tuple(universes)
        network, state = self.network, self._state
        joining.follow(wanted, state.shared)
        routing = network.routing
        joining.again(moving.follow(wanted, state.routes, routing.ears, joining.sends, routing.has_network))
        self.output.set_plan(
            routing.plan(wanted, network.subscribers, joining.terms, moving.routes, state.sync, moving.moves)
        )

    def _plan_again(self) -> None:
        self._plan(self.room.engine.rig.universes)

    def read_rig(self, path: Path) -> str | None:
        """Make the rig what a file says, before anybody is here; the sentence when it cannot be."""
        with tempfile.TemporaryDirectory(prefix="focuscall-") as place:
            return self._made_of(asyncio.run(read_file(self.room, path, Path(place))))

    def _made_of(self, read: Import) -> str | None:
        if read.problems:
            many = f" ({len(read.problems) - 1} more problems)" if len(read.problems) > 1 else ""
            return f"{read.problems[0]}{many}"
        stage = self.room.stage
        answer = change_patch(stage.state, read.command(self.room, ""), stage.rules)
        if isinstance(answer, Refused):
            return answer.why
        self._first += answer
        asyncio.run(add_to_library(self.room, read))
        return None

    def begin(self) -> None:
        """What happens once at each start: nobody is here yet, and an empty demo show is filled."""
        state = self.room.stage.state
        now = time.time()
        news: list[Event] = [PersonWent(p, now) for p in state.people if p not in state.gone]
        # How long it was away only the wall clock says, and that may have been set meanwhile.
        news += [Disarmed("", fixture) for fixture in state.armed]
        news += [FlashLifted("", None)] if state.lifted else []
        news += self._first
        if self.room.settings.demo and not state.fixtures and not self._first:
            news += demo_events(self.room.library)
        self.room.happen(news)

    async def run(self) -> None:
        """Keep everything going until cancelled."""
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(self.room.engine.run())
            tasks.create_task(self.room.hub.run())
            tasks.create_task(self._beat())
            tasks.create_task(self.stock.run())
            tasks.create_task(self.network.run(self.room, self._plan_again))
            tasks.create_task(self.consoles.run(self.room, self.network, self.output, self._plan_again))

    async def _beat(self) -> None:
        before: dict[int, int] = {}
        last = time.monotonic()
        while True:
            await asyncio.sleep(BEAT_S)
            self.output.beat()
            self.room.by_the_clock()
            now, counts = time.monotonic(), self.output.counts()
            if now - last >= 2 * BEAT_S:
                rates = {u: (c.frames - before.get(u, c.frames)) / (now - last) for u, c in counts.items()}
                self.room.frames_per_s = {u: round(rate, 1) for u, rate in rates.items()}
                before, last = {u: c.frames for u, c in counts.items()}, now
            self._tell_trouble()
            self.room.alert("engine", self.room.engine.trouble)
            self.room.look_at_disk()

    def _tell_trouble(self) -> None:
        wrong = self.output.last_error() or ""
        if not self.room.laptop.is_there:  # the network itself says more about that
            wrong = wrong.replace(GONE, "").strip()
        if wrong != self._wrong:
            since = datetime.now().astimezone().strftime("%H:%M:%S")
            self._wrong = wrong
            self.room.alert("output", Said("Since {time}: {why}", time=since, why=wrong) if wrong else None)

    def close(self, streams_too: bool = True) -> None:
        """Keep the last state; then end the streams properly, or leave them to the output process."""
        self.stock.shelf.close()
        self.room.journal.close(self.room.stage.state)
        if streams_too:
            self.output.end()
        else:
            self.output.leave()


def _stock(settings: Settings) -> Stock:
    """The library of this laptop. Like settings.toml it belongs to the data folder, also in the demo."""
    folder = settings.data / PROFILES
    folder.mkdir(exist_ok=True)
    folders = (folder, settings.profiles) if settings.profiles else (folder,)
    return Stock(Shelf(settings.data / SHELF_FILE), [each.resolve() for each in folders])
