"""Events and state as JSON text, and back."""

import json

import pytest

from server.journal.words import event_from_text, event_to_text, state_from_text, state_to_text
from server.rig.universe import SLOTS
from server.stage import events
from server.stage.apply import apply
from server.stage.carried import Carried, carried
from server.stage.events import EVENTS, Event
from server.stage.focus import Call, Focus, FocusNote
from server.stage.found import Case, Checking, FaultStep, Photo, Round, Verdict
from server.stage.outputs import Output, Route, Sync
from server.stage.seek import Seek
from server.stage.shared import Shared
from server.stage.shout import Shout
from server.stage.state import Before, Fault, Settings, Show, SlotLevel, State, Who
from server.stage.teaching import Teaching
from tests.shows import BASELINE, LEAD, MO, PROFILES, fixture, show_events

__all__: list[str] = []


def brought() -> Carried:
    """The small show as it travels."""
    state = State()
    for event in show_events():
        apply(state, event)
    return carried(state)


SEEN = Verdict(False, MO.id, "Mo", 8.5, 0.5, 21, "Bridge", "3", "flickers", "at the top", "photo")
FOCUSED = Focus(MO.id, "done", "Mo", 11.5, FocusNote(spot="centre \u2603"), {"Pan": 7})
OPENED = FaultStep("opened", MO.id, "Mo", 8.5, "at the top", "photo")
CASE = Case(7, "dim1", 21, "Bridge", "3", "Dimmer", "Show", "House", "flickers", "Flickers", (OPENED,))
EVERYWHERE = Before(
    holders={"mover": MO.id, "dim1": None},
    hand={"mover": {"Pan": 7, "Tilt": None}},
    recalled={"dim1": {"Dimmer": 9}},
    faults={"dim1": Fault("lamp out", MO.id), "dim2": None},
    fixtures={"new": fixture("new", "dimmer", 7, 7), "hazer": None},
    profiles={"mover": PROFILES["mover"], "none": None},
    looks={BASELINE.id: BASELINE, "none": None},
    in_looks={BASELINE.id: {"dim1": {"Dimmer": 3}}},
    slots={5: {6: SlotLevel(7, MO.id), 8: None}},
    baseline=(None,),
    order=("dim1",),
    master=0.25,
    blackout=False,
    settings=Settings(let_go_s=3),
    verdicts={1: {"dim1": SEEN, "dim2": None}},
    focus={"mover": FOCUSED, "dim1": None},
    call=Call(level=1 / 3),
    cases={7: CASE, 8: None},
)
DAY: list[Event] = [
    *show_events(),
    events.PersonCame(MO.id),
    events.PersonWent(MO.id, 1772366400.123456),
    events.Taken(MO.id, "mover"),
    events.LevelsSet(MO.id, "mover", {"Pan": 65535, "Color1": None}, 0.7),
    events.Acted(MO.id, "mover", "Control1", "Recalibrate", 110, 3.0),
    events.HandsOnSet(MO.id, "mover", {"Pan": 65535}),
    events.FaultSet(MO.id, "dim1", "lamp out"),
    events.SlotSet(MO.id, 63999, SLOTS, 255),
    events.MasterSet(MO.id, 1 / 3),
    events.BlackoutSet(MO.id, True),
    events.LookRecalled(MO.id, BASELINE.id, 2.5),
    events.OrderSet(LEAD.id, ("dim2", "dim1")),
    events.StarsSet(LEAD.id, ("mover", "dimmer")),
    events.SettingsChanged(LEAD.id, Settings(let_go_s=0.1)),
    events.ShowNamed(LEAD.id, Show("Ærøy “2”", "\u2603 house")),
    events.AloftSet(MO.id, MO.id, "Bridge", 1.5),
    events.StillSet(MO.id, "mover", {"Pan": 1}),
    events.StillSet(MO.id, "mover", None),
    events.OutOfUseSet(MO.id, "dim1", "lamp", {"Dimmer": 0}),
    events.DarkCalled(LEAD.id, 2.5),
    events.DarkAnswered(MO.id, True, 3.5),
    events.DarkEnded(LEAD.id),
    events.ArmedSet(LEAD.id, "hazer", "test", 4.5, 64.5),
    events.Ran(MO.id, "hazer", {"Fog1": 255}, 7, 5.5, 5.5, 1.0),
    events.ClockSet("", -30.5),
    events.Disarmed("", "hazer"),
    events.FlashAsked(MO.id, "mover"),
    events.FlashLifted(LEAD.id, "mover", 6.5, 36.5),
    events.FlashLifted("", None),
    events.ShowReplaced(LEAD.id, brought(), 2.0),
    events.Changed(
        MO.id, 1, 7.5, Who("Mo", "crew", "iPhone"), ("master",), ["Set {x}.", {"x": 0.5}], Before()
    ),
    events.ChangeEnded(MO.id, 1, ["Set {x}.", {"x": ["{y}", {"y": 2}]}]),
    events.Changed(MO.id, 2, 9.5, Who("Mo", "crew"), ("fixture mover",), ["Took it in hand."], None),
    events.PutBack(LEAD.id, 1, 3, 10.5, Who("Ada", "lead"), ["Undid."], EVERYWHERE, 2.0),
    events.PhotoKept(MO.id, "photo", Photo("dim1", MO.id, "Mo", 8.5, 1000)),
    events.PhotoDropped(MO.id, "photo"),
    events.RoundSet(LEAD.id, Round(1, 8.5, "Ada", 0.5)),
    events.CheckStepped(
        MO.id, Checking("dim1", False, "universe", "1", stood={"Pan": 7}, stride=2, strode=8.5)
    ),
    events.Judged(MO.id, 1, "dim1", SEEN),
    events.CheckStopped(MO.id, MO.id),
    events.FocusSet(MO.id, "mover", FOCUSED),
    events.FocusSet(MO.id, "mover", None),
    events.NowSet(LEAD.id, MO.id, "dim1"),
    events.NowSet(LEAD.id, MO.id, None),
    events.BesideSet(MO.id, {"dim2": {"Dimmer": 7}, "dim1": None}, 0.7, 2.0, 0.7),
    events.UniverseShared(LEAD.id, 3, Shared("slots", True, "baseline")),
    events.LooksLifted(LEAD.id, ("dim1", "mover"), 2.0),
    events.RouteSet(LEAD.id, 3, Route((Output("sacn", "host", "10.0.0.21", 5568, "Bar", 120, 7),), True)),
    events.RouteSet(LEAD.id, 3, None),
    events.SyncSet(LEAD.id, Sync(7, True, 2.5)),
    events.Shouted(MO.id, Shout(1, MO.id, "Mo", (LEAD.id,), "stop", 12.5)),
    events.ShoutSeen(LEAD.id, 1),
    events.ShoutsOver("", (1,)),
    events.CallChanged(LEAD.id, Call(0.4, 3.0, "position", 0.1)),
    events.CaseSet(MO.id, CASE),
    events.Sought(MO.id, Seek(MO.id, ("dim1", "dim2"), ("dim1",), 1, ("work",))),
    events.SeekEnded(MO.id, "dim1"),
    events.Entered(MO.id, "e1"),
    events.FixtureRemoved(LEAD.id, "dim2"),
    events.LookDeleted(LEAD.id, BASELINE.id),
    events.LetGone(MO.id, "mover", 2.0),
    events.PersonRenamed(LEAD.id, MO.id, "Mo 2"),
    events.TeachingSet(MO.id, Teaching(MO.id, 5, 101, 4, ("red", "fine 1"), 1, 7, 2.5, 3.5, 4.5)),
    events.TeachingEnded(MO.id),
    events.PinSet(LEAD.id, "crew", "$argon2id$"),
    events.PersonLeft(MO.id),
    events.PersonRemoved(LEAD.id, LEAD.id),
]


def test_every_kind_of_event_comes_back_as_it_was() -> None:
    assert {type(event).__name__ for event in DAY} == EVENTS.keys()
    for event in DAY:
        assert event_from_text(*event_to_text(event)) == event


def test_the_state_comes_back_as_it_was_at_every_moment_of_a_day() -> None:
    state = State()
    for event in DAY:
        apply(state, event)
        assert state_from_text(state_to_text(state)) == state


def test_both_are_plain_json() -> None:
    assert json.loads(event_to_text(events.MasterSet("x", 0.5))[1]) == {"person": "x", "value": 0.5}
    assert json.loads(state_to_text(State()))["master"] == 1.0


def test_what_is_no_event_of_ours_is_refused() -> None:
    with pytest.raises(KeyError):
        event_from_text("Exploded", b"{}")
    with pytest.raises(ValueError, match="value"):
        event_from_text("MasterSet", b'{"person": "x"}')
    with pytest.raises(ValueError, match="JSON"):
        state_from_text(b"{")
