"""What has changed since a phone was last told, however much of it there was."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import singledispatch

from server.api.check_view import check_view
from server.api.fault_view import faults_view
from server.api.laptop import Laptop
from server.api.view import (
    call_view,
    dark_view,
    fixture_marks,
    fixture_view,
    fractions,
    lifted_view,
    look_view,
    person_view,
    profile_view,
    said_view,
    seek_view,
    shared_view,
    shouts_view,
    slots_view,
    teaching_view,
)
from server.rig.said import Said
from server.stage import events
from server.stage.events import Event
from server.stage.state import State

__all__ = ["News", "note", "whole_view"]

WHOLE: dict[type[Event], tuple[str, ...]] = {
    events.MasterSet: ("master",),
    events.BlackoutSet: ("blackout",),
    events.OrderSet: ("order",),
    events.NowSet: ("now",),
    events.CallChanged: ("call",),
    events.SettingsChanged: ("settings",),
    events.ShowNamed: ("show",),
    events.BaselineSet: ("baseline",),
    events.LookDeleted: ("baseline",),
    events.FixturePut: ("profiles", "universes", "check"),
    events.FixtureRemoved: ("profiles", "universes", "order", "check", "now"),
    events.SlotSet: ("universes",),
    events.DarkCalled: ("dark",),
    events.DarkAnswered: ("dark",),
    events.DarkEnded: ("dark",),
    events.ClockSet: ("dark",),
    events.FlashLifted: ("lifted",),
    events.RoundSet: ("check",),
    events.CheckStepped: ("check",),
    events.CheckStopped: ("check",),
    events.Judged: ("check",),
    events.Sought: ("seek",),
    events.SeekEnded: ("seek",),
    events.CaseSet: ("faults",),
    events.PersonLeft: ("seek", "now"),
    events.PersonRemoved: ("seek", "now"),
    events.Shouted: ("shouts",),
    events.ShoutSeen: ("shouts",),
    events.ShoutsOver: ("shouts",),
    events.UniverseShared: ("shared",),
    events.TeachingSet: ("teaching",),
    events.TeachingEnded: ("teaching",),
}
PEOPLE = (events.PersonJoined, events.PersonCame, events.PersonWent, events.PersonLeft)
OTHERS = (events.PersonRemoved, events.PersonRenamed)  # what one does to another


@dataclass(slots=True)
class News:
    """Names of what changed, never the values: those are read when it is told, so the newest is told.

    values: control keys by fixture. fixtures: field names by fixture, "*" for all of it. slots: universe
    and slot. whole: keys of the hello message.
    """

    values: dict[str, set[str]] = field(default_factory=dict)
    fixtures: dict[str, set[str]] = field(default_factory=dict)
    people: set[str] = field(default_factory=set)
    looks: set[str] = field(default_factory=set)
    slots: set[tuple[int, int]] = field(default_factory=set)
    whole: set[str] = field(default_factory=set)

    def merge(self, other: "News") -> None:
        """Add what another knows."""
        for mine, theirs in ((self.values, other.values), (self.fixtures, other.fixtures)):
            for fixture, names in theirs.items():
                mine.setdefault(fixture, set()).update(names)
        self.people |= other.people
        self.looks |= other.looks
        self.slots |= other.slots
        self.whole |= other.whole

    def touched(self) -> Iterable[str]:
        """Ids of all fixtures named."""
        return self.values.keys() | self.fixtures.keys()

    def told(
        self,
        state: State,
        levels: dict[str, float],
        alerts: dict[str, Said],
        signals: dict[str, int],
        laptop: Laptop,
    ) -> dict[str, object]:
        """The change message's content, from the state as it is now.

        levels: 0..1 by fixture. signals: milliseconds there and back by person.
        """
        body = whole_view(state, alerts, laptop, self.whole)
        if fixtures := {f: self._fixture(state, f, levels) for f in self.touched()}:
            body["fixtures"] = fixtures
        if self.people:
            known = state.people
            body["people"] = {
                p: person_view(state, known[p], signals) if p in known else None for p in self.people
            }
        if self.looks:
            body["looks"] = {k: look_view(state, k) if k in state.looks else None for k in self.looks}
        if self.slots:
            body["slots"] = self._slots(state)
        return body

    def _fixture(self, state: State, fixture: str, levels: dict[str, float]) -> dict[str, object] | None:
        unit, mode, names = state.fixtures.get(fixture), state.mode(fixture), self.fixtures.get(fixture, ())
        if unit is None:
            return None
        if "*" in names or mode is None:
            return fixture_view(state, unit, levels.get(fixture, 0.0))
        shown: dict[str, object] = {}
        if fixture in self.values:
            shown["values"] = fractions(state, fixture, mode, self.values[fixture])
        marks = fixture_marks(state, fixture)
        shown.update((name, marks[name]) for name in names if name in marks)
        if "level" in names:
            shown["level"] = round(levels.get(fixture, 0.0), 4)
        return shown

    def _slots(self, state: State) -> dict[str, dict[str, object]]:
        now, told = slots_view(state), dict[str, dict[str, object]]()
        for universe, slot in self.slots:
            level = now.get(str(universe), {}).get(str(slot))
            told.setdefault(str(universe), {})[str(slot)] = level
        return told


def whole_view(
    state: State, alerts: dict[str, Said], laptop: Laptop, keys: Iterable[str] | None = None
) -> dict[str, object]:
    """The parts of the hello message that are always told whole; keys: only these."""
    parts: dict[str, Callable[[], object]] = {
        "show": lambda: {"name": state.show.name, "venue": state.show.venue},
        "profiles": lambda: {k: profile_view(state, k) for k in {f.profile for f in state.fixtures.values()}},
        "baseline": lambda: state.baseline,
        "master": lambda: state.master,
        "blackout": lambda: state.blackout,
        "dark": lambda: dark_view(state),
        "lifted": lambda: lifted_view(state),
        "seek": lambda: seek_view(state),
        "teaching": lambda: teaching_view(state),
        "order": lambda: list(state.order),
        "now": lambda: dict(state.now),
        "call": lambda: call_view(state),
        "shouts": lambda: shouts_view(state),
        "settings": lambda: {name: getattr(state.settings, name) for name in state.settings.__slots__},
        "universes": lambda: sorted({u for f in state.fixtures.values() for u in f.universes} | state.opened),
        "alerts": lambda: {about: said_view(why) for about, why in alerts.items()},
        "laptop": laptop.view,
        "check": lambda: check_view(state),
        "faults": lambda: faults_view(state),
        "shared": lambda: {str(u): shared_view(shared) for u, shared in state.shared.items()},
    }
    return {key: part() for key, part in parts.items() if keys is None or key in keys}


def note(news: News, state: State, happened: Iterable[Event]) -> None:
    """Add what these events, already applied, have changed."""
    for event in happened:
        news.whole.update(WHOLE.get(type(event), ()))
        if isinstance(event, PEOPLE):
            news.people.add(event.person)
        elif isinstance(event, OTHERS):
            news.people.add(event.who)
        _note(event, news, state)


@singledispatch
def _note(event: Event, news: News, state: State) -> None:
    """Most events change nothing beyond what the tables say."""


@_note.register
def _(event: events.LevelsSet, news: News, state: State) -> None:
    news.values.setdefault(event.fixture, set()).update(event.raws)


@_note.register
def _(event: events.Taken, news: News, state: State) -> None:
    news.fixtures.setdefault(event.fixture, set()).add("holder")
    news.people.add(event.person)


@_note.register
def _(event: events.HandsOnSet, news: News, state: State) -> None:
    news.fixtures.setdefault(event.fixture, set()).add("hands_on")


@_note.register
def _(event: events.AloftSet, news: News, state: State) -> None:
    news.people.add(event.who)


@_note.register
def _(event: events.RoundSet, news: News, state: State) -> None:
    if not state.judged:  # a new one: nothing has a verdict any more
        for fixture in state.fixtures:
            news.fixtures.setdefault(fixture, set()).add("checked")


@_note.register
def _(event: events.Judged, news: News, state: State) -> None:
    news.fixtures.setdefault(event.fixture, set()).add("checked")


@_note.register
def _(event: events.OutOfUseSet, news: News, state: State) -> None:
    news.whole.add("check")
    news.fixtures.setdefault(event.fixture, set()).add("out_of_use")


@_note.register
def _(event: events.StillSet, news: News, state: State) -> None:
    news.fixtures.setdefault(event.fixture, set()).add("still")


@_note.register(events.ArmedSet)
@_note.register(events.Disarmed)
def _(event: events.ArmedSet | events.Disarmed, news: News, state: State) -> None:
    news.fixtures.setdefault(event.fixture, set()).add("armed")


@_note.register
def _(event: events.Acted, news: News, state: State) -> None:
    news.fixtures.setdefault(event.fixture, set()).update(("busy", "cools"))


@_note.register
def _(event: events.FaultSet, news: News, state: State) -> None:
    news.fixtures.setdefault(event.fixture, set()).add("fault")


@_note.register
def _(event: events.LetGone, news: News, state: State) -> None:
    news.fixtures.setdefault(event.fixture, set()).add("holder")
    _all_values(news, state, (event.fixture,))


@_note.register(events.LookRecalled)
@_note.register(events.BaselineSet)
def _(event: Event, news: News, state: State) -> None:
    _all_values(news, state, state.fixtures)


@_note.register
def _(event: events.LooksLifted, news: News, state: State) -> None:
    _all_values(news, state, event.fixtures)


@_note.register
def _(event: events.FocusSet, news: News, state: State) -> None:
    news.fixtures.setdefault(event.fixture, set()).add("focus")


@_note.register
def _(event: events.BesideSet, news: News, state: State) -> None:
    _all_values(news, state, event.values)


@_note.register(events.PersonLeft)
@_note.register(events.PersonRemoved)
def _(event: events.PersonLeft | events.PersonRemoved, news: News, state: State) -> None:
    for fixture in state.focus:  # what was given to them is anybody's now
        news.fixtures.setdefault(fixture, set()).add("focus")


@_note.register
def _(event: events.LookSaved, news: News, state: State) -> None:
    news.looks.add(event.look.id)


@_note.register
def _(event: events.LookDeleted, news: News, state: State) -> None:
    news.looks.add(event.look)


@_note.register
def _(event: events.FixturePut, news: News, state: State) -> None:
    news.fixtures.setdefault(event.fixture.id, set()).add("*")


@_note.register
def _(event: events.FixtureRemoved, news: News, state: State) -> None:
    news.fixtures.setdefault(event.fixture, set()).add("*")
    news.looks.update(state.looks)  # it is in none of them any more
    news.people.update(state.people)  # and nobody is at it


@_note.register
def _(event: events.SlotSet, news: News, state: State) -> None:
    news.slots.add((event.universe, event.slot))


@_note.register
def _(event: events.PutBack, news: News, state: State) -> None:
    before = event.before
    for fixture in {**before.holders, **before.hand, **before.faults, **before.focus}:
        news.fixtures.setdefault(fixture, set()).update(("holder", "fault", "focus"))
        _all_values(news, state, (fixture,))
    for fixture in before.fixtures:
        news.fixtures.setdefault(fixture, set()).add("*")
    if before.fixtures:
        news.whole.update(("profiles", "universes", "order", "check", "now"))
        news.people.update(state.people)
    if before.recalled or before.looks or before.in_looks or before.baseline is not None:
        _all_values(news, state, state.fixtures)
    news.looks.update(before.looks, before.in_looks, state.looks if before.fixtures else ())
    news.slots.update((universe, slot) for universe, slots in before.slots.items() for slot in slots)
    if before.slots:
        news.whole.add("universes")
    for fixture in (f for seen in before.verdicts.values() for f in seen):
        news.fixtures.setdefault(fixture, set()).add("checked")
        news.whole.add("check")
    if before.cases:
        news.whole.add("faults")
    if before.shared:
        news.whole.add("shared")
    whole = ("baseline", "order", "call", "master", "blackout", "settings")
    news.whole.update(name for name in whole if getattr(before, name) is not None)


def _all_values(news: News, state: State, fixtures: Iterable[str]) -> None:
    for fixture in fixtures:
        mode = state.mode(fixture)
        if mode is not None:
            news.values.setdefault(fixture, set()).update(c.key for c in mode.controls)
