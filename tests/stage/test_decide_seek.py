"""Looking for the light one stands under: how a rig is halved, and whose lights stay alone."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.stage import events
from server.stage.commands import AnswerSeek, EndSeek, HandsOn, Leave, LetGo, Seek, SetBlackout, Take
from server.stage.seeking import most_answers, still_breathing, still_left
from server.stage.stage import Stage
from server.stage.state import State
from tests.rigs import done, refused, stage_with, unit

__all__: list[str] = []


def rig(count: int) -> Stage:
    stage = stage_with()
    more = [unit(f"u{at}", address=100 + at, position="LX", unit=str(at)) for at in range(count)]
    stage.happen([events.FixtureRemoved("", f) for f in tuple(stage.state.fixtures)])
    stage.happen([events.FixturePut("", f) for f in more])
    return stage


def found(stage: Stage, light: str) -> tuple[str | None, int]:
    """Answer truthfully until one is left; which, and how many answers that took."""
    done(stage, Seek("mo"))
    answers = 0
    while len(still_left(stage.state)) > 1:
        done(stage, AnswerSeek("mo", light in still_breathing(stage.state)))
        answers += 1
    return next(iter(still_left(stage.state)), None), answers


@settings(max_examples=30, deadline=None)
@given(st.integers(1, 200), st.data())
def test_any_light_is_found_in_as_few_answers_as_can_be(count: int, data: st.DataObject) -> None:
    light = f"u{data.draw(st.integers(0, count - 1))}"
    one, answers = found(rig(count), light)
    assert one == light
    assert answers <= most_answers(count)


def test_two_hundred_take_eight_answers_at_the_most() -> None:
    assert most_answers(200) == 8
    assert max(found(rig(200), f"u{at}")[1] for at in (0, 99, 100, 199)) == 8


def test_half_of_the_rig_breathes_in_the_hand_of_who_looks_and_the_rest_stays_alone() -> None:
    stage = rig(8)
    happened = done(stage, Seek("mo"))
    assert still_breathing(stage.state) == ("u0", "u1", "u2", "u3")
    assert set(stage.state.holders) == {"u0", "u1", "u2", "u3"}
    assert {e.fade_s for e in happened if isinstance(e, events.LevelsSet)} == {1.0}
    done(stage, AnswerSeek("mo", False))
    assert still_left(stage.state) == ("u4", "u5", "u6", "u7")
    assert set(stage.state.holders) == {"u4", "u5"}


def test_who_cannot_tell_is_shown_the_others_and_has_not_answered() -> None:
    stage = rig(4)
    done(stage, Seek("mo"))
    done(stage, AnswerSeek("mo", None))
    assert still_breathing(stage.state) == ("u2", "u3")
    assert stage.state.seek
    assert stage.state.seek.answered == 0
    assert len(still_left(stage.state)) == 4


def test_the_one_that_is_left_stays_in_hand_once_it_is_confirmed() -> None:
    stage = rig(2)
    done(stage, Seek("mo"))
    assert refused(stage, EndSeek("mo", found=True)).why == "2 lights are left: it is not found yet."
    done(stage, AnswerSeek("mo", False))
    happened = done(stage, EndSeek("mo", found=True))
    assert events.SeekEnded("mo", "u1") in happened
    assert stage.state.seek is None
    assert stage.state.holders == {"u1": "mo"}


def test_a_light_that_is_none_of_them_ends_it_and_lets_go_of_everything() -> None:
    stage = rig(3)
    done(stage, Seek("mo"))
    for _ in range(3):
        if stage.state.seek:
            done(stage, AnswerSeek("mo", False))
    assert stage.state.seek is None
    assert stage.state.holders == {}


def test_lights_of_others_guarded_ones_work_light_and_those_with_hands_on_are_left_out() -> None:
    stage = stage_with()
    done(stage, Take("kit", "spot"))
    done(stage, HandsOn("kit", "head", True))
    done(stage, Seek("mo"))
    assert set(still_left(stage.state)) == {"aisle", "wash", "batten"}
    assert stage.state.seek
    assert set(stage.state.seek.outside) == {"spot", "head", "work", "fog", "pump"}
    assert stage.state.holders["spot"] == "kit"


def test_house_staff_look_among_house_fixtures() -> None:
    stage = stage_with()
    done(stage, Seek("hal"))
    assert still_left(stage.state) == ("aisle",)


def test_only_one_looks_at_a_time_and_only_they_answer() -> None:
    stage = rig(4)
    done(stage, Seek("mo"))
    assert refused(stage, Seek("kit")).why == "Mo looks for a light already."
    assert refused(stage, AnswerSeek("kit", True)).why == "Nobody looks for a light."
    assert refused(stage, EndSeek("kit")).why == "Only the lead can do that."
    done(stage, EndSeek("ann"))
    assert stage.state.seek is None
    assert stage.state.holders == {}


def test_nothing_is_looked_for_in_a_rig_that_is_dark() -> None:
    stage = rig(2)
    done(stage, SetBlackout("ann", True))
    assert refused(stage, Seek("mo")).why == "The rig is dark: no light would show."


def test_one_that_somebody_takes_over_is_out_of_the_question() -> None:
    stage = rig(4)
    done(stage, Seek("mo"))
    done(stage, Take("ann", "u0", over=True))
    assert still_breathing(stage.state) == ("u1",)
    assert still_left(stage.state) == ("u1", "u2", "u3")
    done(stage, AnswerSeek("mo", True))
    assert still_left(stage.state) == ("u1",)
    assert stage.state.holders["u0"] == "ann"


def test_it_ends_with_the_phone_of_who_looks_and_survives_a_let_go_of_everything() -> None:
    stage = rig(4)
    done(stage, Seek("mo"))
    done(stage, LetGo("mo", "*"))
    assert still_left(stage.state) == ("u2", "u3")
    done(stage, AnswerSeek("mo", None))
    assert still_breathing(stage.state) == ("u2", "u3")
    done(stage, Leave("mo"))
    assert stage.state.seek is None
    assert stage.state.holders == {}


@pytest.mark.parametrize("count", [0, 1, 2, 3, 200])
def test_the_most_answers_are_the_bits_it_takes(count: int) -> None:
    assert 2 ** most_answers(count) >= max(count, 1)


def test_a_rig_in_which_nothing_gives_light_is_said_so() -> None:
    stage = Stage(stage_with().rules, State(people=dict(stage_with().state.people)))
    assert refused(stage, Seek("mo")).why == "None of these lights is free to be looked for."
