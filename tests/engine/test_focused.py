"""The focus call on the wire: the next one is up before the last one goes down."""

from server.stage import events
from server.stage.commands import ChangeCall, FocusAt, FocusNext
from tests.engine.rigs import Rig
from tests.shows import LEAD, MO

__all__: list[str] = []

FRAME_S = 1 / 44
ONE, TWO = "dim1", "dim2"


def rig() -> Rig:
    made = Rig([events.OrderSet(LEAD.id, (ONE, TWO))])
    made.step(5.0)
    return made


def levels(made: Rig) -> tuple[float, float]:
    """How far both are up as they leave."""
    found = dict(zip(made.engine.rig.span, made.engine.intensities.tolist(), strict=True))
    return found[ONE], found[TWO]


def test_there_is_no_moment_of_darkness_between_two_units() -> None:
    made = rig()
    made.ask(ChangeCall(LEAD.id, {"fade_s": 0.0, "level": 0.8}))
    made.ask(FocusNext(MO.id))
    made.step(2.0)
    made.ask(FocusNext(MO.id, mark="done"))
    seen = []
    for _ in range(60):
        made.step(FRAME_S)
        seen.append(levels(made))
    assert min(max(pair) for pair in seen) > 0.79
    up = next(at for at, (_, two) in enumerate(seen) if two > 0.79)
    assert min(one for one, _ in seen[:up]) > 0.79  # the last one stayed until then
    assert abs(seen[-1][0] - 0.2) < 0.01  # what the baseline has there
    assert 28 <= up <= 32  # 0.7 s at 44 Hz


def test_what_is_beside_rises_with_the_unit_and_falls_once_the_next_is_up() -> None:
    made = rig()
    made.ask(ChangeCall(LEAD.id, {"fade_s": 1.0, "beside": "position", "beside_level": 0.4}))
    made.ask(FocusAt(MO.id, ONE))
    made.step(2.0)
    assert [round(level, 1) for level in levels(made)] == [0.5, 0.4]
    made.ask(FocusAt(MO.id, None))
    made.step(0.5)
    assert [round(level, 2) for level in levels(made)] == [0.35, 0.2]
    made.step(2.0)
    assert [round(level, 1) for level in levels(made)] == [0.2, 0.0]
