"""The engine, whatever is asked of it in whatever order."""

from hypothesis import given
from hypothesis import strategies as st

from server.stage import commands
from server.stage.commands import Command
from tests.engine.rigs import Rig
from tests.shows import LEAD, MO, fixture

__all__ = ["ASKED"]

UNITS = st.sampled_from(["dim1", "dim2", "work", "hazer", "mover"])
WHO = st.sampled_from([LEAD.id, MO.id])
ASKED = st.one_of(
    st.builds(commands.SetValues, WHO, UNITS, st.fixed_dictionaries({"Dimmer": st.floats(0, 1)})),
    st.builds(
        commands.SetValues,
        WHO,
        st.just("mover"),
        st.dictionaries(st.sampled_from(["Pan", "Tilt", "Color1", "Shutter1", "Control1"]), st.floats(0, 1)),
        st.booleans(),
    ),
    st.builds(
        commands.SetMany,
        WHO,
        st.dictionaries(UNITS, st.fixed_dictionaries({"Dimmer": st.floats(0, 1)}), min_size=1),
    ),
    st.builds(commands.MarkFault, WHO, UNITS, st.none() | st.just("lamp out")),
    st.builds(commands.LightUp, WHO, UNITS, st.booleans()),
    st.builds(commands.Take, WHO, UNITS, st.booleans()),
    st.builds(commands.LetGo, WHO, st.one_of(UNITS, st.just("*"))),
    st.builds(commands.SetSlot, WHO, st.integers(1, 3), st.integers(1, 110), st.none() | st.integers(0, 255)),
    st.builds(commands.SetMaster, WHO, st.floats(0, 1)),
    st.builds(commands.SetBlackout, WHO, st.booleans()),
    st.builds(commands.HandsOn, WHO, st.just("mover"), st.booleans()),
    st.builds(
        commands.Act, WHO, st.just("mover"), st.just("Control1"), st.just("Recalibrate"), st.just(True)
    ),
    st.builds(commands.SaveLook, WHO, st.sampled_from(["a", "b"]), st.just("A look"), baseline=st.booleans()),
    st.builds(commands.RecallLook, WHO, st.sampled_from(["a", "b", "base"]), st.floats(0, 20)),
    st.builds(commands.SetBaseline, st.just(LEAD.id), st.sampled_from(["a", "b", "base", None])),
    st.builds(
        commands.ChangePatch,
        st.just(LEAD.id),
        st.builds(lambda at: (fixture("dim2", "dimmer", 1, at),), st.integers(2, 120)),
        st.sampled_from([(), ("dim1",), ("mover",)]),
    ),
)


def _used(rig: Rig) -> set[int]:
    state = rig.stage.state
    return {unit.universe for unit in state.fixtures.values() if unit.universe} | state.opened


def _wanted(rig: Rig, still: dict[str, int]) -> dict[int, list[int]]:
    """What should leave when nothing is on its way, worked out fixture by fixture, slot by slot."""
    state = rig.stage.state
    out = {universe: [0] * 512 for universe in _used(rig)}
    for universe, slots in state.slots.items():
        for slot, level in slots.items():
            out[universe][slot - 1] = level.raw
    for unit in state.fixtures.values():
        mode = state.mode(unit.id)
        assert mode is not None
        assert unit.universe is not None
        assert unit.address is not None
        for control in mode.controls:
            raw: float = state.asked(unit.id, mode)[control.key]
            if control.key == "Dimmer" and not unit.work_light:
                raw = 0 if state.blackout else raw * state.master
            if unit.id in state.hands_on and control.key in still:
                raw = still[control.key]
            if unit.profile == "hazer":
                raw = 0
            octets = int(raw + 0.5).to_bytes(control.width, "big")
            for offset, octet in zip(control.offsets, octets, strict=True):
                out[unit.universe][unit.address + offset - 2] = octet
    return out


@given(st.lists(ASKED, max_size=30))
def test_after_any_commands_what_leaves_is_what_the_state_asks_for(asked: list[Command]) -> None:
    rig = Rig()
    still: dict[str, int] = {}
    for command in asked:
        hands = "mover" in rig.stage.state.hands_on
        rig.ask(command)
        if isinstance(command, commands.HandsOn) and command.on and not hands:
            mode = rig.stage.state.mode("mover")
            asked_now = rig.stage.state.asked("mover", mode) if mode else {}
            still = {key: asked_now[key] for key in ("Pan", "Tilt", "Control1") if mode}
        rig.step(100)  # every fade and action is over by then
        for universe, slots in _wanted(rig, still).items():
            assert list(rig.sent.picture(universe)) == slots


@given(st.lists(st.tuples(ASKED, st.floats(0, 3)), max_size=20))
def test_on_the_way_there_guarded_slots_are_safe_in_every_frame(asked: list[tuple[Command, float]]) -> None:
    rig = Rig()
    for command, after_s in asked:
        rig.ask(command)
        rig.step(after_s)
    # Slot 10 is the hazer's; no other unit can be patched there.
    assert {slots[9] for universe, slots in rig.sent.writes if universe == 1} <= {0}
