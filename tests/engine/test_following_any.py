"""Following a console, whatever rig, whatever it sends, whatever is asked, in whatever order."""

from collections.abc import Sequence

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from server.rig.levels import raw_in
from server.rig.patch import Fixture
from server.stage import commands, events
from server.stage.commands import Command
from server.stage.commands_shared import Share
from server.stage.shared import Shared
from tests.engine.any_rig import UNITS, UNIVERSES, any_profiles, any_rig
from tests.engine.heard import Desk
from tests.engine.rigs import Rig
from tests.shows import LEAD, MO

__all__: list[str] = []


WHO = st.sampled_from([LEAD.id, MO.id])
UNIT = st.sampled_from(UNITS)
KEYS = st.sampled_from(["Dimmer", "Pan", "Tilt", "Zoom", "ColorAdd_R", "ColorSub_C", "Shutter1"])
SHARED = st.builds(
    Shared,
    st.sampled_from(["above", "slots", "below", "alone"]),
    st.just(True),
    st.sampled_from(["hold", "baseline"]),
)
ASKED = st.one_of(
    st.builds(
        commands.SetValues,
        WHO,
        UNIT,
        st.dictionaries(KEYS, st.floats(0, 1), min_size=1, max_size=2),
        st.booleans(),
    ),
    st.builds(commands.LightUp, WHO, UNIT, st.booleans()),
    st.builds(commands.Take, WHO, UNIT, st.booleans()),
    st.builds(commands.LetGo, WHO, st.one_of(UNIT, st.just("*"))),
    st.builds(
        commands.SetSlot,
        WHO,
        st.sampled_from(UNIVERSES),
        st.integers(1, 512),
        st.none() | st.integers(0, 255),
    ),
    st.builds(commands.SetMaster, WHO, st.sampled_from([0.0, 0.4, 1.0])),
    st.builds(commands.SetBlackout, WHO, st.booleans()),
    st.builds(commands.HandsOn, WHO, UNIT, st.booleans()),
    st.builds(commands.GoAloft, st.just(MO.id), st.sampled_from(["Bar", None])),
    st.builds(commands.SaveLook, WHO, st.just("a"), st.just("A look"), baseline=st.booleans()),
    st.builds(commands.RecallLook, WHO, st.just("a"), st.floats(0, 3)),
    st.builds(commands.SetBaseline, st.just(LEAD.id), st.sampled_from(["a", None])),
    st.builds(Share, st.just(LEAD.id), st.sampled_from(UNIVERSES), SHARED),
    st.builds(Share, st.just(LEAD.id), st.sampled_from(UNIVERSES), st.none()),
)
LEVELS = st.integers(0, 2**32 - 1).map(
    lambda seed: np.random.default_rng(seed).integers(0, 256, 512, np.uint8).tobytes()
)
HEARD = st.tuples(st.sampled_from(UNIVERSES), st.none() | LEVELS)


def _ours(rig: Rig) -> np.ndarray[tuple[int, int], np.dtype[np.bool_]]:
    """Slots of followed universes that something of ours has, worked out unit by unit from the state."""
    state, laid = rig.stage.state, rig.engine.rig
    ours = np.zeros((len(laid.universes), 512), np.bool_)
    for universe, slots in state.slots.items():
        for slot in slots:
            ours[laid.universes.index(universe), slot - 1] = True
    for fixture in state.fixtures:
        mode = state.mode(fixture)
        assert mode is not None
        keys = state.ours(fixture) | set(state.frozen(fixture))
        first, last = laid.span[fixture]
        for row in range(first, last):
            name, control = laid.names[row][1], laid.controls[row]
            scaled_by = next((m for m, colours in mode.multiply.items() if name in colours), None)
            reached = (state.master < 1 and control.mastered) or state.blackout
            # A guard holds a strobe by another control; what reaches all of it reaches its colours.
            depends = any(f.mode_master and f.mode_master.control in keys for f in control.functions)
            dependents = any(
                f.mode_master and f.mode_master.control == name and c.key in keys
                for c in mode.controls
                for f in c.functions
            )
            if (
                name in keys
                or scaled_by in keys
                or reached
                or depends
                or dependents
                or (scaled_by and state.master < 1)
            ):
                ours |= laid.owned == row
    return ours


def _as_ever(rig: Rig) -> dict[int, int]:
    """The raw value of each control of ours, by row, by the rules that hold without a console."""
    state, laid, wanted = rig.stage.state, rig.engine.rig, dict[int, int]()
    for unit in state.fixtures.values():
        mode, frozen = state.mode(unit.id), state.frozen(unit.id)
        if mode is None or unit.profile not in ("dimmer", "wide"):
            continue  # what scales colours and what flashes is judged elsewhere
        for key in (state.ours(unit.id) | frozen.keys()) & {control.key for control in mode.controls}:
            row = laid.row[unit.id, key]
            raw: float = state.asked(unit.id, mode)[key]
            if key == "Dimmer":
                raw *= 1.0 if unit.work_light else state.master
                raw = min(raw, unit.cap * laid.maximum[row])
                raw = 0 if state.blackout and not unit.work_light else raw
            wanted[row] = frozen.get(key, int(raw + 0.5))
    return wanted


def _happens(rig: Rig, desk: Desk, what: Command | tuple[int, bytes | None]) -> None:
    if not isinstance(what, tuple):
        leaving = {"leaving": rig.engine.leaving(UNITS)} if hasattr(what, "leaving") else {}
        rig.ask(type(what)(**{**{n: getattr(what, n) for n in what.__dataclass_fields__}, **leaving}))
        return
    universe, levels = what
    if levels is not None:
        desk.drive(universe, levels, rig.engine)
    elif universe in desk.sends:
        desk.go(universe, rig.engine)


def _moves(rig: Rig, desk: Desk, by: int) -> None:
    """Every level of the console becomes another, and a frame is made."""
    for universe, levels in desk.sends.items():
        desk.drive(universe, bytes((octet + by) % 256 for octet in levels.tobytes()), rig.engine)
    rig.step(0.02)


@given(
    any_rig(),
    st.tuples(*[SHARED] * 3),
    st.lists(st.tuples(st.one_of(ASKED, HEARD), st.floats(0, 4)), max_size=25),
)
@settings(max_examples=60)
def test_what_is_not_ours_is_the_newest_frame_of_the_console_and_what_is_ours_is_as_ever(
    units: list[Fixture],
    shared: Sequence[Shared],
    happening: Sequence[tuple[Command | tuple[int, bytes | None], float]],
) -> None:
    desk = Desk()
    for universe in UNIVERSES:
        desk.drive(universe, bytes((universe * slot) % 256 for slot in range(512)))
    people = [events.PersonJoined(who.id, who) for who in (LEAD, MO)]
    known = [events.ProfileAdded("", profile) for profile in any_profiles().values()]
    patch = [events.FixturePut("", unit) for unit in units]
    decided = [events.UniverseShared(LEAD.id, u, one) for u, one in zip(UNIVERSES, shared, strict=True)]
    rig = Rig([*people, *known, *patch, *decided], heard=desk, empty=True)
    rig.step()
    for what, after_s in happening:
        _happens(rig, desk, what)
        rig.step(after_s)
        _moves(rig, desk, 1)  # while whatever fades is on its way
        rig.step(100)  # every fade is over by then
        _moves(rig, desk, 9)  # and what it sends now is in the very next frame
        ours = _ours(rig)
        for index, universe in enumerate(rig.engine.rig.universes):
            if rig.stage.state.shared_as(universe).follow and universe in desk.sends:
                sent, theirs = rig.sent.picture(universe), desk.sends[universe]
                wrong = [s + 1 for s in range(512) if not ours[index, s] and sent[s] != theirs[s]]
                assert not wrong, (universe, wrong)
        lies = raw_in(rig.engine.rig, rig.engine.frame)
        for row, raw in _as_ever(rig).items():
            assert lies[row] == raw, rig.engine.rig.names[row]
