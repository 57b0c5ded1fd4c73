"""Tells every phone what changed: together, at most thirty times a second, each as fast as it can listen."""

import asyncio
import json
import time
from collections import deque
from collections.abc import Awaitable, Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from typing import cast

import numpy as np

from server.api.laptop import Laptop
from server.api.news import News, note, whole_view
from server.api.stirred import Stirred
from server.api.view import fixture_view, look_view, person_view, said_view, slots_view
from server.engine.engine import Engine
from server.rig.said import Said
from server.stage.events import Event, PersonLeft, PersonRemoved, ShowReplaced
from server.stage.stage import Stage
from server.stage.state import Person

__all__ = ["NOT_JOINED", "Hub", "Phone"]

TICK_S = 1 / 30
LEVELS_S = 0.1  # while something fades, the list's levels follow ten times a second
SILENCE_S = 0.5  # a page that hears nothing for 1.5 s says so: it hears something three times as often
STUCK_S = 10.0  # a phone that takes nothing for so long is let go; its lights stay as they are
NOT_JOINED = 4401  # close codes of ours: the page shows the join screen
REMOVED = 4403
LEFT = Said("You have left. Join with your name again.")
OUT = Said("The lead has removed this phone. Ask them before you join again.")
MOST_REPLIES = 512  # unanswered questions of one phone; a page keeps to 3


class Phone:
    """One connected page: what it is still to be told, and who sends it."""

    def __init__(
        self,
        person: str,
        send: Callable[[str], Awaitable[None]],
        late: Callable[[News], str],
        hello: Iterable[str],
    ) -> None:
        self.person = person
        self.here = ""
        self.ended: int | None = None
        self._send, self._late = send, late
        self._replies, self._last = deque(hello), ""
        self._change: tuple[str, News] | None = None
        self._missed: News | None = None
        self._ready = asyncio.Event()
        self._ready.set()
        self._deaf = False

    def reply(self, message: dict[str, object]) -> None:
        """Answer this phone alone, ahead of any change."""
        if len(self._replies) < MOST_REPLIES:
            self._replies.append(text_of(message))
        else:
            self._deaf = True
        self._ready.set()

    def renew(self, hello: str) -> None:
        """Tell it the whole state again, instead of what it has not been told yet."""
        self._replies.append(hello)
        self._change = self._missed = None
        self._ready.set()

    def end(self, code: int, message: dict[str, object]) -> None:
        """Say one more thing, nothing after it, and hang up with that close code."""
        self.ended, self._last = code, text_of(message)
        self._ready.set()

    def offer(self, text: str, news: News) -> None:
        """Give it the change that all phones get, or remember what it will have missed."""
        if self._change is None and self._missed is None:
            self._change = (text, news)
        else:
            self._missed = self._missed or News()
            if self._change is not None:
                self._missed.merge(self._change[1])
                self._change = None
            self._missed.merge(news)
        self._ready.set()

    async def run(self) -> None:
        """Send until it is ended, or asks and does not listen. Raises TimeoutError: it takes nothing."""
        loop = asyncio.get_running_loop()
        # One for all of it: to enter one each time costs as much as to send.
        async with asyncio.timeout(None) as stuck:
            while not self._deaf:
                silence = loop.call_later(SILENCE_S, self._ready.set)
                await self._ready.wait()
                silence.cancel()
                self._ready.clear()
                ended = self.ended
                stuck.reschedule(loop.time() + STUCK_S)
                for text in self._next() or [self.here]:
                    await self._send(text)
                stuck.reschedule(None)
                if ended is not None:
                    return

    def _next(self) -> list[str]:
        texts = list(self._replies)
        self._replies.clear()
        if self._last:
            return [*texts, self._last]
        if self._change is not None:
            texts.append(self._change[0])
        elif self._missed is not None:
            texts.append(self._late(self._missed))
        self._change = self._missed = None
        return texts


class Hub:
    """All connected phones, and what has happened since they were last told."""

    def __init__(self, stage: Stage, engine: Engine, alerts: dict[str, Said], laptop: Laptop) -> None:
        self.phones: set[Phone] = set()
        self._stage, self._engine, self._alerts, self._laptop = stage, engine, alerts, laptop
        self._news = News()
        self._rev = stage.rev
        self._something = asyncio.Event()
        self._levels = np.zeros(0)
        self._stirred = Stirred()
        self._hung: tuple[str, ...] = ()  # whose levels these are
        self._replaced = False
        self._signals: dict[str, int] = {}  # milliseconds there and back by person; of this hour, never kept
        self._texts: dict[str, str] = {}  # a fixture's part of hello, until something about it changes

    def connect(self, person: Person, send: Callable[[str], Awaitable[None]], opened: str = "") -> Phone:
        """A new phone, to be told hello first; call its `run`, then `disconnect` it.

        opened: the fixture whose sheet it waits for, if there is one: hello comes in two pieces then.
        """
        # Counted in before hello has gone through: what happens meanwhile must not pass it by.
        two = opened in self._stage.state.fixtures
        hello = self._in_two(person, opened) if two else (self.hello(person),)
        phone = Phone(person.id, send, self._message, hello)
        phone.here = text_of({"is": "here", "rev": self._rev})
        self.phones.add(phone)
        return phone

    def disconnect(self, phone: Phone) -> None:
        """Forget a phone."""
        self.phones.discard(phone)

    def happened(self, events: Sequence[Event]) -> None:
        """Tell what these events, already applied, have changed, at the next tick."""
        note(self._news, self._stage.state, events)
        self._replaced = self._replaced or any(isinstance(event, ShowReplaced) for event in events)
        self._something.set()
        for event in events:
            if isinstance(event, PersonLeft):
                self._end(event.person, NOT_JOINED, LEFT)
            elif isinstance(event, PersonRemoved):
                self._end(event.who, REMOVED, OUT)

    def _end(self, person: str, code: int, why: Said) -> None:
        for phone in self.phones:
            if phone.person == person:
                phone.end(code, {"is": "refused", "n": 0, **said_view(why)})

    def alerts_changed(self) -> None:
        """Tell the alerts again."""
        self._news.whole.add("alerts")
        self._something.set()

    def laptop_changed(self) -> None:
        """Tell again where the page is found."""
        self._news.whole.add("laptop")
        self._something.set()

    def signal(self, person: str, rtt_ms: int | None) -> None:
        """Tell how long that person's phone waits for an answer; None: nobody knows (any more)."""
        if self._signals.get(person) == rtt_ms:
            return
        if rtt_ms is None:
            del self._signals[person]
        else:
            self._signals[person] = rtt_ms
        self._news.people.add(person)
        self._something.set()

    def hello(self, person: Person) -> str:
        """The whole state, for a phone that has just connected."""
        return self._with_fixtures(self._all_but_fixtures(person), self._stage.state.fixtures)

    def _in_two(self, person: Person, opened: str) -> tuple[str, str]:
        """Hello with one fixture in it, which is short; and the rest, with every fixture in its order."""
        hello = self._all_but_fixtures(person)
        profiles = dict(cast("Mapping[str, object]", hello["profiles"]))
        own = self._stage.state.fixtures[opened].profile
        hello |= {"profiles": {own: profiles.pop(own)}, "more": True}
        rest = {"is": "rest", "rev": self._stage.rev, "profiles": profiles}
        return (
            self._with_fixtures(hello, (opened,)),
            self._with_fixtures(rest, self._stage.state.fixtures),
        )

    def _all_but_fixtures(self, person: Person) -> dict[str, object]:
        state = self._stage.state
        return {
            "is": "hello",
            "rev": self._stage.rev,
            "you": {"id": person.id, "name": person.name, "role": person.role},
            "people": {p.id: person_view(state, p, self._signals) for p in state.people.values()},
            "looks": {look: look_view(state, look) for look in state.looks},
            "slots": slots_view(state),
            **whole_view(state, self._alerts, self._laptop),
        }

    def _with_fixtures(self, message: dict[str, object], fixtures: Iterable[str]) -> str:
        state, levels = self._stage.state, self._levels_told()
        for touched in self._news.touched():
            self._texts.pop(touched, None)
        for name in fixtures:
            times_run = name in state.armed or name in state.acted
            if name not in self._texts or times_run:
                view = fixture_view(state, state.fixtures[name], levels.get(name, 0.0))
                self._texts[name] = f'"{name}":{text_of(view)}'
        told = ",".join(self._texts[name] for name in fixtures)
        return f'{text_of(message)[:-1]},"fixtures":{{{told}}}}}'

    async def run(self) -> None:
        """Tick while there is something to tell. Ends by cancellation."""
        while True:
            following = self._engine.unsettled  # asked before the tick: it ends between two of them
            began = time.monotonic()
            self.tick()
            await asyncio.sleep(began + TICK_S - time.monotonic())
            with suppress(TimeoutError):
                async with asyncio.timeout(LEVELS_S if following else None):
                    await self._something.wait()
            self._something.clear()

    def tick(self) -> None:
        """Tell all phones what is new: one message, written once."""
        if self._replaced:
            self._greet_again()
        self._note_levels()
        news, self._news = self._news, News()
        for fixture in news.touched():
            self._texts.pop(fixture, None)
        if news == News() and self._rev == self._stage.rev:
            return
        self._rev = self._stage.rev
        here = text_of({"is": "here", "rev": self._rev})
        text = self._message(news) if self.phones else ""
        for phone in self.phones:
            phone.here = here
            phone.offer(text, news)

    def _greet_again(self) -> None:
        """Another show: hardly anything of what the phones know is left."""
        self._replaced = False
        self._note_levels()
        self._news, self._rev = News(), self._stage.rev
        self._texts.clear()
        for phone in self.phones:
            if (person := self._stage.state.people.get(phone.person)) is not None:
                phone.here = text_of({"is": "here", "rev": self._rev})
                phone.renew(self.hello(person))

    def _note_levels(self) -> None:
        levels, fixtures = self._engine.intensities, tuple(self._engine.rig.span)
        theirs = self._engine.units_followed
        differ = (
            np.flatnonzero((levels != self._levels) & ~theirs)
            if fixtures == self._hung
            else range(len(levels))
        )
        for index in differ:
            self._news.fixtures.setdefault(fixtures[index], set()).add("level")
        for fixture, keys in self._stirred.pick(self._engine, self._stage.state, time.monotonic()).items():
            self._news.fixtures.setdefault(fixture, set()).add("level")
            self._news.values.setdefault(fixture, set()).update(keys)
        self._levels, self._hung = levels, fixtures

    def _level_by_fixture(self) -> dict[str, float]:
        return dict(zip(self._engine.rig.span, self._engine.intensities.tolist(), strict=True))

    def _levels_told(self) -> dict[str, float]:
        # Between two ticks a hello says what the last one told: what came and went since is told to nobody.
        return self._level_by_fixture() | dict(zip(self._hung, self._levels.tolist(), strict=True))

    def _message(self, news: News) -> str:
        levels = self._level_by_fixture()
        body = news.told(self._stage.state, levels, self._alerts, self._signals, self._laptop)
        return text_of({"is": "change", "rev": self._rev, **body})


def text_of(message: object) -> str:
    """A message as it goes over the socket."""
    return json.dumps(message, separators=(",", ":"))
