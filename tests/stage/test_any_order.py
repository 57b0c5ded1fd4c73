"""Whatever is asked by whomever in whatever order: what must never happen does not."""

from copy import deepcopy
from dataclasses import replace

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from server.journal.words import event_from_text, event_to_text, state_from_text, state_to_text
from server.rig.compiled import Compiled, Ints, compile_rig
from server.rig.levels import UNSET, Mixer, settle, slots_of
from server.rig.patch import Fixture
from server.stage import commands as ask
from server.stage import events
from server.stage.apply import apply
from server.stage.commands import Command
from server.stage.decide import Rules
from server.stage.events import Event
from server.stage.holds import Refused
from server.stage.stage import Stage
from server.stage.state import Look, State
from tests.rigs import LIMITS, PEOPLE, PROFILES, UNITS, unit
from tests.stage.asks import ROUTING, SHARING, TEACH, TEACHING

__all__: list[str] = []

WHO = st.sampled_from(["ann", "ann", "ann", "mo", "kit", "hal", "eve"])
WHICH = st.sampled_from([*(fixture.id for fixture in UNITS), "new", "nobody"])
ODD = st.sampled_from(
    [1.5, -1, None, "full", {"raw": 65535}, {"raw": 15}, {"range": "open"}, {"range": "Strobe"}]
)
FRACTIONS = st.sampled_from([0.0, 1.0]) | st.floats(0, 1)
LOOKS = st.sampled_from(["one", "two"])
YES = st.booleans()
MARKS = st.sampled_from(["done", "back", None])


@st.composite
def values(draw: st.DrawFn, held: st.SearchStrategy[bool]) -> Command:
    """Controls that the fixture has in one of its modes, most of them at something it can do."""
    fixture = draw(st.sampled_from(UNITS))
    keys = [control.key for mode in PROFILES[fixture.profile].modes for control in mode.controls]
    value = draw(st.sampled_from([FRACTIONS, FRACTIONS, FRACTIONS, ODD]))
    wanted = draw(st.dictionaries(st.sampled_from(keys), value, min_size=1, max_size=2))
    return ask.SetValues(draw(WHO), fixture.id, wanted, draw(held))


@st.composite
def fixtures(draw: st.DrawFn) -> Fixture:
    kind = draw(st.sampled_from(sorted(PROFILES)))
    return unit(
        draw(WHICH),
        kind,
        draw(st.sampled_from([1, 2, 4, 11, 31, 41, 100, 490, 499, 510, 512, None])),
        mode=draw(st.sampled_from([m.name for m in PROFILES[kind].modes])),
        universe=draw(st.sampled_from([1, 2, 9, None])),
        guarded=draw(YES),
        work_light=draw(YES),
        house=draw(YES),
        cap=draw(st.sampled_from([1.0, 0.5, 1.5])),
        inverted=draw(st.sampled_from([(), ("Pan", "Dimmer")])),
    )


@st.composite
def moves(draw: st.DrawFn) -> Fixture:
    """One of the rig somewhere else, or in another mode, so that many are possible."""
    fixture = draw(st.sampled_from(UNITS))
    name = draw(st.sampled_from([m.name for m in PROFILES[fixture.profile].modes]))
    return replace(
        fixture, mode=name, address=draw(st.integers(1, 512)), guarded=draw(YES), work_light=draw(YES)
    )


def commands(held: st.SearchStrategy[bool] = YES) -> st.SearchStrategy[list[Command]]:
    any_of = st.one_of(
        values(held),
        values(held),
        st.builds(ask.Take, WHO, WHICH, YES),
        st.builds(ask.LetGo, WHO, WHICH | st.just("*")),
        st.builds(ask.LightUp, WHO, WHICH, YES),
        st.builds(
            ask.Act, WHO, WHICH, st.just("Control1"), st.sampled_from(["Recalibrate", "Lamp off"]), YES
        ),
        st.builds(ask.HandsOn, WHO, WHICH, YES),
        st.builds(ask.TagOut, WHO, WHICH, st.sampled_from(["lamp", None])),
        st.builds(ask.GoAloft, WHO, st.sampled_from(["Bridge 1", "House", None])),
        st.builds(ask.CallDark, WHO) | TEACHING,
        st.builds(ask.AnswerDark, WHO, YES),
        st.builds(ask.Arm, WHO, WHICH, st.sampled_from(["test", None])),
        st.builds(ask.RunGuarded, WHO, WHICH, st.just({"Fog1": 1.0}), st.integers(1, 2), YES),
        st.builds(ask.LiftFlashes, WHO, WHICH | st.none()),
        st.builds(
            ask.SetSlot,
            WHO,
            st.sampled_from([1, 1, 2, 3, 9, 0]),
            st.integers(1, 50) | st.integers(490, 513),
            st.integers(0, 255) | st.sampled_from([None, -1, 256]),
        ),
        st.builds(ask.SetMaster, WHO, st.floats(0, 1) | st.just(1.1)),
        st.builds(ask.SetBlackout, WHO, YES),
        st.builds(ask.SaveLook, WHO, LOOKS, st.sampled_from(["A", "A", ""]), st.none(), YES),
        st.builds(ask.SaveLook, WHO, LOOKS, st.just("B"), st.tuples(WHICH), YES),
        st.builds(ask.RenameLook, WHO, LOOKS, st.just("C")),
        st.builds(ask.DeleteLook, WHO, LOOKS),
        st.builds(ask.RecallLook, WHO, LOOKS, st.floats(0, 3600) | st.just(-1.0)),
        st.builds(ask.SetBaseline, WHO, st.none() | LOOKS),
        st.builds(ask.ChangePatch, WHO, st.tuples(fixtures())),
        st.builds(ask.ChangePatch, st.just("ann"), st.tuples(moves())),
        st.builds(ask.ChangePatch, WHO, st.tuples(moves()), st.tuples(WHICH)),
        st.builds(ask.AddProfile, WHO, st.sampled_from(list(PROFILES.values()))),
        st.builds(ask.StarProfile, WHO, st.sampled_from(["wash", "dimmer"]), YES),
        st.builds(ask.SetOrder, WHO, st.lists(WHICH, max_size=3).map(tuple)),
        st.builds(
            ask.ChangeSettings, WHO, st.dictionaries(st.just("let_go_s"), st.floats(0, 61), max_size=1)
        ),
        st.sampled_from(PEOPLE).map(lambda person: ask.Join(person.id, person)),
        st.builds(ask.Leave, st.sampled_from(["kit", "hal", "eve"])),
        st.builds(ask.LetGo, WHO, st.just("*"), WHO),
        st.builds(ask.RenamePerson, WHO, WHO, st.sampled_from(["Mo", "Bo", ""])),
        st.builds(ask.RemovePerson, WHO, st.sampled_from(["mo", "kit", "hal", "eve"])),
        st.builds(ask.SetPin, WHO, st.sampled_from(["crew", "king"]), st.just("hash")),
        st.builds(
            ask.FocusNext, WHO, st.none() | WHO, st.none(), st.sampled_from(["done", "back", None]), YES
        ),
        st.builds(ask.FocusAt, WHO, WHICH | st.none(), st.none() | WHO, st.sampled_from(["done", None]), YES),
        st.builds(ask.UpdateLook, WHO, LOOKS),
        st.builds(ask.SendShout, WHO, st.sampled_from(["stop", "ready", "odd"]), st.none() | WHO),
        st.builds(ask.SeeShout, WHO, st.integers(1, 3)),
        SHARING | ROUTING,
        st.builds(ask.MarkFocus, WHO, WHICH, st.sampled_from(["done", "back", "todo", "x"])),
        st.builds(ask.GiveFocus, WHO, st.tuples(WHICH), st.none() | WHO),
        st.builds(ask.WriteNote, WHO, WHICH, st.just({"spot": "centre"})),
        st.builds(ask.ChangeCall, WHO, st.sampled_from([{"beside": "position"}, {"beside_level": 0.5}])),
        *2 * [st.builds(ask.Undo, WHO, st.integers(1, 30), YES, held)],
        st.builds(ask.MarkFault, WHO, WHICH, st.sampled_from(["dark", "", None])),
        st.builds(
            ask.SettleFault,
            WHO,
            st.integers(1, 3),
            st.sampled_from(["fixed", "verified", "reopened", "said", "odd"]),
            st.sampled_from(["", "lamp"]),
        ),
        st.builds(ask.BeginRound, WHO, st.sampled_from([0.3, 1.0, 0.0])),
        st.builds(ask.SetCheckLevel, WHO, st.sampled_from([0.3, 1.0])),
        st.builds(
            ask.StartCheck,
            WHO,
            st.sampled_from(["position", "channel", "universe", "odd"]),
            st.sampled_from(["", "Bridge 1", "1"]),
            YES,
            st.none() | WHICH,
            st.none() | WHO,
        ),
        st.builds(ask.StepCheck, WHO, YES),
        st.builds(ask.WalkCheck, WHO, st.none() | st.integers(0, 8)),
        st.builds(ask.StopCheck, WHO),
        st.builds(ask.Judge, WHO, WHICH, YES, st.sampled_from(["", "flickers", "odd"]), st.just("note")),
        st.builds(ask.KeepPhoto, WHO, WHICH, st.sampled_from(["p", "q"]), st.integers(0, 9)),
        st.builds(ask.DropPhoto, WHO, st.sampled_from(["p", "q"])),
        st.builds(ask.Seek, WHO, st.none() | st.tuples(WHICH, WHICH)),
        st.builds(ask.AnswerSeek, WHO, YES | st.none()),
        st.builds(ask.EndSeek, WHO, YES),
        st.builds(ask.Arrive, WHO),
        st.builds(ask.Withdraw, WHO),
    )
    return st.lists(any_of, min_size=8, max_size=40)


def begin() -> list[Event]:
    """What fills an empty show, as the journal would have it."""
    look = Look("one", "One", {"head": {"Dimmer": 65535, "Pan": 9}, "work": {"Dimmer": 128}})
    return [
        *(events.PersonJoined(person.id, person) for person in PEOPLE),
        *(events.ProfileAdded("", profile) for profile in PROFILES.values()),
        *(events.FixturePut("", fixture) for fixture in UNITS),
        events.LookSaved("", look),
    ]


def play(asked: list[Command]) -> tuple[Stage, list[Event]]:
    """Ask them all, seven seconds apart, from the filled show; the stage and everything that happened."""
    stage = Stage(Rules(LIMITS))
    happened = begin()
    stage.happen(happened)
    for turn, command in enumerate(asked):
        answer = stage.ask(command, 7.0 * turn)
        if not isinstance(answer, Refused):
            happened += answer
    return stage, happened


def wire(state: State) -> tuple[Compiled, Ints, np.ndarray]:
    """The rig, its settled raw values and its slots, with nothing fading and no action under way."""
    rig = compile_rig(state.fixtures.values(), state.profiles, state.opened)
    wanted, frozen = rig.home.copy(), np.full(len(rig.names), np.nan)
    for (fixture, key), row in rig.row.items():
        mode = state.mode(fixture)
        assert mode is not None
        wanted[row] = state.asked(fixture, mode)[key]
        frozen[row] = state.frozen(fixture).get(key, np.nan)
    by_hand = np.full((len(rig.universes), 512), UNSET, np.int16)
    for universe, slots in state.slots.items():
        for slot, level in slots.items():
            by_hand[rig.universes.index(universe), slot - 1] = level.raw
    unarmed = np.zeros(len(rig.names), np.bool_)
    flashing = np.array([fixture in state.flashing for fixture in rig.span], np.bool_)
    raw = settle(rig, wanted, Mixer(state.master, state.blackout, frozen, unarmed, flashing))
    return rig, raw, slots_of(rig, raw, by_hand)


@settings(max_examples=60, deadline=None)
@given(commands())
def test_replaying_what_happened_gives_the_same_state_also_by_way_of_the_journals_text(
    asked: list[Command],
) -> None:
    stage, happened = play(asked)
    again, from_text = State(), State()
    for event in happened:
        apply(again, event)
        apply(from_text, event_from_text(*event_to_text(event)))
    assert again == stage.state
    assert from_text == stage.state
    assert state_from_text(state_to_text(stage.state)) == stage.state


@settings(max_examples=40, deadline=None)
@given(commands())
def test_a_refusal_is_a_sentence_and_changes_nothing(asked: list[Command]) -> None:
    stage, _ = play([])
    for turn, command in enumerate(asked):
        before = deepcopy(stage.state)
        answer = stage.ask(command, 7.0 * turn)
        if isinstance(answer, Refused):
            assert answer.why.endswith((".", "?"))
            assert stage.state == before


@settings(max_examples=80, deadline=None)
@given(commands())
def test_guarded_controls_and_slots_off_limits_are_never_driven(asked: list[Command]) -> None:
    stage, _ = play(asked)
    rig, raw, frame = wire(stage.state)
    assert ((raw >= 0) & (raw <= rig.maximum)).all()
    for (fixture, key), row in rig.row.items():
        unit_there = stage.state.fixtures[fixture]
        control = rig.controls[row]
        if control.guard is not None:
            assert raw[row] == control.guard.safe, (fixture, key)
        elif stage.state.guarded(unit_there):
            assert raw[row] == control.home, (fixture, key)
    for limit in LIMITS:
        if limit.universe in rig.universes:
            at = rig.universes.index(limit.universe)
            assert not frame[at, limit.first - 1 : limit.last].any()
            assert (rig.owned[at, limit.first - 1 : limit.last] == -1).all()


@settings(max_examples=80, deadline=None)
@given(commands(), st.floats(0, 1))
def test_neither_master_nor_blackout_darkens_a_work_light(asked: list[Command], master: float) -> None:
    stage, _ = play(asked)
    state = stage.state
    work = [f.id for f in state.fixtures.values() if f.work_light]
    state.master, state.blackout = 1.0, False
    rig, bright, _ = wire(state)
    state.master, state.blackout = master, True
    _, dark, _ = wire(state)
    for fixture in work:
        first, last = rig.span[fixture]
        assert (dark[first:last] == bright[first:last]).all()


@settings(max_examples=80, deadline=None)
@given(commands(held=st.just(False)))
def test_without_press_and_hold_nothing_flashes_and_no_value_ever_sets_an_action_off(
    asked: list[Command],
) -> None:
    stage, happened = play(asked)
    for fixture in stage.state.fixtures:
        mode = stage.state.mode(fixture)
        assert mode is not None
        values = stage.state.asked(fixture, mode)
        doing = [f for control in mode.controls for f in mode.doing(control, values)]
        assert not [f.name for f in doing if f.strobes or f.action]
    assert all(e.person in {"ann", "mo", "kit"} for e in happened if isinstance(e, events.Acted))


@settings(max_examples=60, deadline=None)
@given(commands())
def test_a_look_never_holds_guarded_controls_flashing_or_actions(asked: list[Command]) -> None:
    stage, _ = play([])
    for turn, command in enumerate(asked):
        answer = stage.ask(command, 7.0 * turn)
        saved = (
            [e.look for e in answer if isinstance(e, events.LookSaved)]
            if not isinstance(answer, Refused)
            else []
        )
        if not isinstance(command, ask.SaveLook):
            continue
        for fixture, values in (pair for look in saved for pair in look.values.items()):
            mode = stage.state.mode(fixture)
            assert mode is not None
            assert not stage.state.guarded(stage.state.fixtures[fixture])
            kept = {key: mode.control(key) for key in values}
            assert not [key for key, control in kept.items() if control is None or control.guard]
            functions = [f for key, c in kept.items() if c for f in c.functions_at(values[key])]
            assert not [f.name for f in functions if f.strobes or f.action]


@settings(max_examples=60, deadline=None)
@given(commands())
def test_what_is_in_hand_is_in_the_hand_of_somebody_known(asked: list[Command]) -> None:
    state = play(asked)[0].state
    assert set(state.hand) <= set(state.holders) <= set(state.fixtures)
    assert set(state.holders.values()) <= set(state.people)
    assert set(state.gone) <= set(state.people)
    assert set(state.order) <= set(state.fixtures)
    assert set(state.now) <= set(state.people)
    assert {*state.now.values(), *state.focus, *state.beside} <= set(state.fixtures)
    assert {each.given for each in state.focus.values()} - {None} <= set(state.people)
    for look in state.looks.values():
        assert set(look.values) <= set(state.fixtures)
    if state.baseline is not None:
        assert state.baseline in state.looks
    for universe, slots in state.slots.items():
        assert not [slot for slot in slots if state.slot_owner(universe, slot)]


# What is undone whole: no marks of people at work, which stay, no lights of a rig check or a search, and
# nobody who leaves with what they held.
CHECKS = (ask.StartCheck, ask.StepCheck, ask.WalkCheck, ask.StopCheck)
STAYS = (
    *CHECKS,
    *(ask.Seek, ask.AnswerSeek, ask.EndSeek),
    ask.FocusNext,
    ask.FocusAt,
    ask.HandsOn,
    ask.TagOut,
    ask.GoAloft,
    ask.CallDark,
    ask.Leave,
    ask.RemovePerson,
    ask.Join,
    ask.Act,
)


def shown(state: State) -> dict[str, object]:
    """What undoing is to bring back: levels, holds, looks, patch, settings, faults."""
    names = (
        "holders",
        "looks",
        "baseline",
        "faults",
        "focus",
        "call",
        "cases",
        "fixtures",
        "profiles",
        "order",
        "settings",
        "master",
        "blackout",
    )
    return {
        "hand": {fixture: values for fixture, values in state.hand.items() if values},
        "recalled": {fixture: values for fixture, values in state.recalled.items() if values},
        "slots": {universe: slots for universe, slots in state.slots.items() if slots},
        **{name: getattr(state, name) for name in names},
    }


@settings(max_examples=150, deadline=None)
@given(commands(held=st.just(False)), st.lists(st.floats(0.1, 3), min_size=40, max_size=40))
def test_undoing_everything_latest_first_gives_the_state_before_and_doing_it_again_the_one_after(
    asked: list[Command], pauses: list[float]
) -> None:
    stage, happened = play([])
    before, now = deepcopy(shown(stage.state)), 0.0
    for command, pause in zip(asked, pauses, strict=False):
        now += pause
        answer = [] if isinstance(command, (*STAYS, *TEACH, ask.Undo)) else stage.ask(command, now)
        happened += [] if isinstance(answer, Refused) else [*answer, *stage.by_the_clock(now)]
    after = deepcopy(shown(stage.state))
    numbers = [number for number, change in stage.state.changes.items() if change.before is not None]
    for turn in (reversed(numbers), numbers):
        for number in turn:
            answer = stage.ask(ask.Undo("ann", number, over=True, held=True), 999.0)
            # Let go of after it was marked as guarded: it does not go back into a hand.
            assume(not (isinstance(answer, Refused) and "is guarded" in answer.why))
            assert not isinstance(answer, Refused), (answer.why, stage.state.changes[number])
            happened += answer
        assert shown(stage.state) == (after if turn is numbers else before)
    from_text = State()
    for event in happened:
        apply(from_text, event_from_text(*event_to_text(event)))
    assert from_text == stage.state
