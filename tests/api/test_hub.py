"""What phones are told: all of it, together, each as fast as it listens."""

import asyncio
import json
import time
from collections.abc import Coroutine
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.api import hub as hub_module
from server.api.hub import REMOVED, Hub, Phone
from server.api.laptop import Laptop
from server.rig.said import Said
from server.stage import events
from server.stage.commands import Command
from server.stage.events import Event
from tests.engine.rigs import Rig, levels_set
from tests.engine.test_engine_always import ASKED
from tests.phones import Message, merge
from tests.shows import LEAD, MO

__all__: list[str] = []


class Page:
    """A page: texts as they reach it, while it reads."""

    def __init__(self, room: "Room", opened: str = "") -> None:
        self.texts: list[Message] = []
        self.reads = asyncio.Event()
        self.reads.set()
        self.phone: Phone = room.hub.connect(MO, self._take, opened)
        self.running = asyncio.create_task(self.phone.run())

    async def _take(self, text: str) -> None:
        await self.reads.wait()
        self.texts.append(json.loads(text))

    @property
    def changes(self) -> list[Message]:
        return [text for text in self.texts if text["is"] == "change"]

    def rig(self) -> Message:
        """What it makes of it all."""
        hello, *rest = self.texts
        assert hello["is"] == "hello"
        for text in rest:
            if text["is"] == "rest":
                hello["profiles"] |= text["profiles"]
                hello["fixtures"] = text["fixtures"]
            elif text["is"] == "change":
                merge(hello, text)
        return {key: value for key, value in hello.items() if key != "more"}


class Room(Rig):
    """The small show with a hub that is told of everything, as the real room tells it."""

    def __init__(self) -> None:
        super().__init__()
        self.alerts: dict[str, Said] = {}
        self.laptop = Laptop(8010)
        self.hub = Hub(self.stage, self.engine, self.alerts, self.laptop)
        self.step()

    def happen(self, *happened: Event) -> None:
        super().happen(*happened)
        self.hub.happened(happened)

    def do(self, command: Command) -> None:
        if happened := self.ask(command):
            self.hub.happened(happened)


def _run(work: Coroutine[Any, Any, None]) -> None:
    async def main() -> None:
        await work
        others = asyncio.all_tasks() - {asyncio.current_task()}
        for other in others:
            other.cancel()
        await asyncio.gather(*others, return_exceptions=True)

    asyncio.run(main())


async def _breathe() -> None:
    for _ in range(20):
        await asyncio.sleep(0)


@given(st.lists(st.tuples(ASKED, st.booleans(), st.floats(0, 2)), max_size=15))
def test_hello_with_all_changes_is_what_a_new_hello_says(asked: list[tuple[Command, bool, float]]) -> None:
    async def work() -> None:
        room = Room()
        quick, slow = Page(room), Page(room)
        await _breathe()
        slow.reads.clear()
        for command, ticks, after_s in asked:
            room.do(command)
            room.step(after_s)
            if ticks:
                room.hub.tick()
                await _breathe()
        late = Page(room)  # joins while there is something to tell
        opens = Page(room, "mover")  # and so does one that is told in two pieces
        room.step(100)
        room.hub.tick()
        slow.reads.set()
        await _breathe()
        fresh = json.loads(room.hub.hello(MO))
        for page in (quick, slow, late, opens):
            assert page.rig() == fresh
        assert len(slow.changes) <= 2

    _run(work())


def test_a_phone_at_a_sheet_is_told_that_unit_first_and_then_the_rig_in_its_order() -> None:
    async def work() -> None:
        room = Room()
        page, other = Page(room, "mover"), Page(room, "nothing")
        await _breathe()
        room.happen(levels_set("dim1", Dimmer=255))
        room.hub.tick()
        await _breathe()
        hello, rest, change = (text for text in page.texts if text["is"] != "here")
        fresh = json.loads(room.hub.hello(MO))
        assert (hello["is"], hello["more"], list(hello["fixtures"])) == ("hello", True, ["mover"])
        assert list(hello["profiles"]) == [hello["fixtures"]["mover"]["profile"]]
        assert (rest["is"], list(rest["fixtures"])) == ("rest", list(fresh["fixtures"]))
        assert hello["profiles"] | rest["profiles"] == fresh["profiles"]
        assert change["fixtures"]["dim1"]["values"] == {"Dimmer": 1.0}
        assert other.texts[0].keys() == fresh.keys(), "there is no such unit: all at once"

    _run(work())


def test_many_moves_between_two_ticks_are_one_change_with_the_newest_value() -> None:
    async def work() -> None:
        room = Room()
        page = Page(room)
        await _breathe()
        for raw in range(0, 256, 5):
            room.happen(levels_set("dim1", Dimmer=raw))
        room.hub.tick()
        await _breathe()
        assert [change["fixtures"]["dim1"]["values"] for change in page.changes] == [{"Dimmer": 1.0}]

    _run(work())


def test_a_signal_is_told_with_the_person_and_never_kept() -> None:
    async def work() -> None:
        room = Room()
        page = Page(room)
        await _breathe()
        rev = room.stage.rev
        for told in (18, None):
            room.hub.signal(MO.id, told)
            room.hub.signal(MO.id, told)  # the same again is nothing new
            room.hub.tick()
            await _breathe()
            assert page.changes[-1]["people"][MO.id]["rtt_ms"] == told
            assert json.loads(room.hub.hello(MO))["people"][MO.id]["rtt_ms"] == told
        assert len(page.changes) == 2
        assert room.stage.rev == rev

    _run(work())


def test_a_change_names_only_what_is_different() -> None:
    async def work() -> None:
        room = Room()
        page = Page(room)
        room.hub.tick()
        await _breathe()
        room.happen(levels_set("mover", Pan=0))
        room.hub.tick()
        room.happen(events.MasterSet(LEAD.id, 0.5))
        await _breathe()
        room.hub.tick()
        await _breathe()
        first, second = page.changes[-2:]
        assert first.keys() == {"is", "rev", "fixtures"}
        assert first["fixtures"] == {"mover": {"values": {"Pan": 0.0}}}
        assert second.keys() == {"is", "rev", "master"}
        assert second["rev"] == first["rev"] + 1

    _run(work())


def test_nothing_new_is_no_change() -> None:
    async def work() -> None:
        room = Room()
        page = Page(room)
        room.hub.tick()
        await _breathe()
        before = len(page.changes)
        room.hub.tick()
        await _breathe()
        assert len(page.changes) == before

    _run(work())


def test_what_happens_while_hello_is_on_its_way_is_told_after_it() -> None:
    async def work() -> None:
        room = Room()
        page = Page(room)
        page.reads.clear()
        await _breathe()
        room.happen(levels_set("dim1", Dimmer=255))
        room.hub.tick()
        page.reads.set()
        await _breathe()
        assert page.texts[0]["is"] == "hello"
        assert page.rig()["fixtures"]["dim1"]["values"]["Dimmer"] == 1.0

    _run(work())


def test_levels_follow_what_really_leaves() -> None:
    async def work() -> None:
        room = Room()
        page = Page(room)
        await _breathe()
        room.happen(levels_set("dim2", 10.0, Dimmer=200))
        room.step(5)
        room.hub.tick()
        await _breathe()
        told = page.changes[-1]["fixtures"]["dim2"]
        assert told == {"values": {"Dimmer": 0.7843}, "level": 0.3922}
        room.happen(events.BlackoutSet(LEAD.id, True))
        room.step()
        room.hub.tick()
        await _breathe()
        assert page.changes[-1]["fixtures"]["dim2"] == {"level": 0.0}
        assert "work" not in page.changes[-1]["fixtures"]

    _run(work())


def test_the_end_of_a_fade_is_told_without_anything_else_happening(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(hub_module, "LEVELS_S", 0.01)

    async def work() -> None:
        room = Room()
        page = Page(room)
        ticking = asyncio.create_task(room.hub.run())
        running = asyncio.create_task(room.engine.run())
        await _breathe()
        room.happen(levels_set("dim2", Dimmer=255))
        async with asyncio.timeout(10):
            while page.rig()["fixtures"]["dim2"]["level"] != 1.0:  # noqa: ASYNC110 (the page tells nobody)
                await asyncio.sleep(0.01)
        assert not ticking.done()
        assert not running.done()

    _run(work())


def test_alerts_are_told_whole() -> None:
    async def work() -> None:
        room = Room()
        page = Page(room)
        await _breathe()
        room.alerts["disk"] = Said("It is full.")
        room.hub.alerts_changed()
        room.hub.tick()
        await _breathe()
        assert page.changes[-1]["alerts"] == {"disk": {"why": "It is full.", "said": ["It is full."]}}

    _run(work())


def test_answers_go_ahead_of_changes_and_nothing_after_the_last_words() -> None:
    async def work() -> None:
        room = Room()
        page = Page(room)
        await _breathe()
        room.happen(levels_set("dim1", Dimmer=255))
        room.hub.tick()
        page.phone.reply({"is": "ok", "n": 1, "rev": 1})
        page.phone.reply({"is": "ok", "n": 2, "rev": 1})
        await _breathe()
        assert [text["is"] for text in page.texts[1:]] == ["ok", "ok", "change"]
        room.happen(levels_set("dim1", Dimmer=0))
        page.phone.end(REMOVED, {"is": "refused", "n": 0, "why": "Out"})
        page.phone.reply({"is": "ok", "n": 3, "rev": 1})
        room.hub.tick()
        await page.running
        assert [text["is"] for text in page.texts[4:]] == ["ok", "refused"]

    _run(work())


def test_a_silent_phone_hears_that_the_server_is_here(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(hub_module, "SILENCE_S", 0.01)

    async def work() -> None:
        room = Room()
        room.happen(events.MasterSet(LEAD.id, 0.5))
        page = Page(room)
        room.hub.tick()
        async with asyncio.timeout(10):
            while [text["is"] for text in page.texts[-2:]] != ["here", "here"]:  # noqa: ASYNC110 (as above)
                await asyncio.sleep(0.005)
        assert page.texts[-1] == {"is": "here", "rev": room.stage.rev}

    _run(work())


def test_a_phone_that_asks_and_never_listens_is_let_go() -> None:
    async def work() -> None:
        page = Page(Room())
        page.reads.clear()
        await _breathe()
        for n in range(hub_module.MOST_REPLIES + 2):
            page.phone.reply({"is": "ok", "n": n, "rev": 0})
        page.reads.set()
        async with asyncio.timeout(10):
            await page.running
        assert len(page.texts) <= hub_module.MOST_REPLIES + 2

    _run(work())


def test_a_phone_that_takes_nothing_for_long_is_let_go(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(hub_module, "STUCK_S", 0.01)

    async def work() -> None:
        page = Page(Room())
        page.reads.clear()
        with pytest.raises(TimeoutError):
            await page.running

    _run(work())


def test_a_phone_that_left_is_told_nothing_more() -> None:
    async def work() -> None:
        room = Room()
        page = Page(room)
        await _breathe()
        room.hub.disconnect(page.phone)
        room.happen(levels_set("dim1", Dimmer=255))
        room.hub.tick()
        await _breathe()
        assert page.changes == []
        assert room.hub.phones == set()

    _run(work())


def test_what_is_left_of_a_time_is_told_as_it_is_at_that_moment(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = [1000.0]
    monkeypatch.setattr(time, "time", lambda: clock[0])

    async def work() -> None:
        room = Room()
        room.happen(
            events.ArmedSet(LEAD.id, "hazer", "Test", 1000.0, 1060.0),
            events.FlashLifted(LEAD.id, "mover", 1000.0, 1030.0),
            events.DarkCalled(LEAD.id, 1000.0),
        )
        for now, armed_s, lifted_s, dark_s in ((1000.0, 60, 30, 5), (1010.5, 49.5, 19.5, 0), (2000, 0, 0, 0)):
            clock[0] = now
            told = json.loads(room.hub.hello(MO))
            assert told["fixtures"]["hazer"]["armed"]["left_s"] == armed_s
            assert told["lifted"]["left_s"] == lifted_s
            assert told["dark"]["left_s"] == dark_s

    _run(work())


def test_what_is_left_of_an_action_is_told_to_all_and_to_who_comes_later(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    clock = [1000.0]
    monkeypatch.setattr(time, "time", lambda: clock[0])

    async def work() -> None:
        room = Room()
        page = Page(room)
        await _breathe()
        assert page.rig()["fixtures"]["mover"]["busy"] is None
        room.happen(events.Acted(LEAD.id, "mover", "Control1", "Recalibrate", 110, 3.0, "reset", 1000.0))
        room.hub.tick()
        await _breathe()
        told = page.changes[-1]["fixtures"]["mover"]
        assert (told["busy"], told["cools"]) == ({"left_s": 3.0}, None)  # as its profile has it
        for now, left in ((1002.0, {"left_s": 1.0}), (1003.0, None)):
            clock[0] = now
            assert json.loads(room.hub.hello(MO))["fixtures"]["mover"]["busy"] == left
        page.running.cancel()

    _run(work())
