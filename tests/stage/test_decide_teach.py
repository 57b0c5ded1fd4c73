"""Teaching a fixture: nothing is up unless a button is held, and nothing of anybody else's is touched."""

from server.rig.teaching import PROBE
from server.stage import events
from server.stage.commands import ChangePatch, Leave, SetBlackout, SetSlot, Undo
from server.stage.commands_teach import AnswerTeach, BeginTeach, EndTeach, HoldTeach, TakeTeach
from server.stage.decide_teach import CHANGE_S, HELD_ON_S
from server.stage.stage import Stage
from tests.rigs import LIMITS, UNITS, done, refused, stage_with, unit

__all__: list[str] = []

HERE = 8  # a universe of nobody


def taught(person: str = "mo", slots: int = 3) -> Stage:
    stage = stage_with()
    done(stage, BeginTeach(person, HERE, 101, slots))
    return stage


def up(stage: Stage) -> dict[int, int]:
    return {slot: level.raw for slot, level in stage.state.slots.get(HERE, {}).items()}


def test_a_slot_is_up_only_while_the_button_is_held() -> None:
    stage = taught()
    assert up(stage) == {101: 0, 102: 0, 103: 0}
    done(stage, HoldTeach("mo", 1, 0, True), now=10.0)
    assert up(stage) == {101: PROBE, 102: 0, 103: 0}
    done(stage, HoldTeach("mo", 1, 0, False), now=10.5)
    assert up(stage) == {101: 0, 102: 0, 103: 0}


def test_a_phone_that_is_lost_lets_go_within_a_second() -> None:
    stage = taught()
    done(stage, HoldTeach("mo", 1, 0, True), now=10.0)
    assert stage.by_the_clock(10.0 + HELD_ON_S - 0.1) == []
    stage.by_the_clock(10.0 + HELD_ON_S)
    assert up(stage) == {101: 0, 102: 0, 103: 0}
    # What it sends late, of the same press, brings nothing back.
    assert "stopped by itself" in refused(stage, HoldTeach("mo", 1, 0, True), now=11.5).why


def test_a_press_ends_by_itself_however_often_it_is_asked_again() -> None:
    stage = taught()
    for step in range(24):
        done(stage, HoldTeach("mo", 1, 0, True), now=10 + step * 0.4)
    refused(stage, HoldTeach("mo", 1, 0, True), now=20.0)
    stage.by_the_clock(20.0)
    assert up(stage)[101] == 0


def test_light_changes_no_faster_than_three_times_a_second() -> None:
    stage = taught()
    done(stage, HoldTeach("mo", 1, 0, True), now=10.0)
    done(stage, HoldTeach("mo", 1, 0, False), now=10.1)
    refused(stage, HoldTeach("mo", 2, 0, True), now=10.0 + CHANGE_S - 0.01)
    done(stage, HoldTeach("mo", 2, 0, True), now=10.001 + CHANGE_S)
    assert 1 / CHANGE_S < 3


def test_answers_lead_on_and_are_taken_back() -> None:
    stage = taught()
    done(stage, AnswerTeach("mo", "red"))
    done(stage, HoldTeach("mo", 1, 0, True), now=10.0)
    assert up(stage) == {101: 0, 102: PROBE, 103: 0}
    done(stage, AnswerTeach("mo", None))
    assert up(stage) == {101: 0, 102: 0, 103: 0}
    assert stage.state.teaching is not None
    assert stage.state.teaching.answers == ()
    assert "not asked" in refused(stage, AnswerTeach("mo", "seventeen")).why


def test_off_limits_and_what_belongs_to_others_is_refused() -> None:
    stage = stage_with()
    limit = LIMITS[0]
    assert "off limits" in refused(stage, BeginTeach("mo", limit.universe, max(1, limit.first - 1), 3)).why
    owned = UNITS[0]
    assert owned.universe
    assert owned.address
    assert "belongs to" in refused(stage_with(owned), BeginTeach("mo", owned.universe, owned.address, 1)).why
    for universe, first, slots in ((0, 1, 1), (HERE, 0, 1), (HERE, 511, 3), (HERE, 1, 0), (HERE, 1, 65)):
        refused(stage, BeginTeach("mo", universe, first, slots))
    assert "lead or the crew" in refused(stage, BeginTeach("hal", HERE, 1, 1)).why


def test_what_is_patched_there_meanwhile_is_not_driven_any_more() -> None:
    stage = taught()
    done(stage, ChangePatch("ann", (unit("new", address=101, universe=HERE),)))
    refused(stage, HoldTeach("mo", 1, 0, True), now=10.0)
    assert 101 not in up(stage)
    done(stage, EndTeach("mo"))
    assert up(stage) == {}


def test_two_never_teach_at_once_and_nobody_sets_these_slots() -> None:
    stage = taught()
    assert "teaches universe 8, slots 101 to 103" in refused(stage, BeginTeach("kit", HERE, 1, 1)).why
    refused(stage, HoldTeach("kit", 1, 0, True))
    refused(stage, AnswerTeach("kit", "red"))
    refused(stage, SetSlot("kit", HERE, 101, 255))
    refused(stage, SetSlot("mo", HERE, 101, 255))
    refused(stage, EndTeach("kit"))
    done(stage, SetSlot("kit", HERE, 104, 255))


def test_undoing_brings_no_level_back_to_what_is_taught() -> None:
    stage = stage_with()
    done(stage, SetSlot("kit", HERE, 102, 255))
    done(stage, SetSlot("kit", HERE, 102, None), now=9.0)
    done(stage, BeginTeach("mo", HERE, 101, 3), now=20.0)
    for change in stage.state.changes:
        refused(stage, Undo("ann", change, over=True, held=True), now=30.0)
    assert up(stage) == {101: 0, 102: 0, 103: 0}


def test_another_goes_on_where_somebody_stopped_whose_phone_is_away() -> None:
    stage = taught()
    done(stage, AnswerTeach("mo", "red"))
    stage.happen([events.PersonWent("mo", 100.0)])
    refused(stage, TakeTeach("kit"), now=120.0)
    done(stage, TakeTeach("kit"), now=131.0)
    done(stage, HoldTeach("kit", 1, 0, True), now=132.0)
    assert up(stage)[102] == PROBE
    done(stage, TakeTeach("ann"), now=133.0)  # the lead at any time
    assert up(stage)[102] == 0
    done(stage, EndTeach("ann"))
    assert up(stage) == {}
    assert stage.state.teaching is None


def test_it_outlasts_who_began_it() -> None:
    stage = taught()
    done(stage, AnswerTeach("mo", "red"))
    done(stage, Leave("mo"))
    done(stage, TakeTeach("kit"))
    assert stage.state.teaching is not None
    assert (stage.state.teaching.person, stage.state.teaching.answers) == ("kit", ("red",))


def test_nothing_is_shown_in_a_blackout_nor_what_was_not_asked() -> None:
    stage = taught()
    refused(stage, HoldTeach("mo", 1, 1, True))
    done(stage, SetBlackout("ann", True))
    assert "dark" in refused(stage, HoldTeach("mo", 1, 0, True)).why
