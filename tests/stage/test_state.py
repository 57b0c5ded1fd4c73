"""What the state answers: hand over look over base, who is guarded, whose a slot is."""

from server.stage.state import Look, State
from tests.rigs import PROFILES, RIG, state_with, unit

__all__: list[str] = []

WIDE = PROFILES["head"].modes[0]


def head_with(
    baseline: dict[str, int] | None = None,
    recalled: dict[str, int] | None = None,
    hand: dict[str, int] | None = None,
) -> State:
    state = state_with()
    if baseline is not None:
        state.looks["base"] = Look("base", "Base", {"head": baseline})
        state.baseline = "base"
    if recalled is not None:
        state.recalled["head"] = recalled
    if hand is not None:
        state.hand["head"] = hand
    return state


def test_a_mode_is_known_only_for_a_fixture_whose_profile_and_mode_are() -> None:
    state = state_with(RIG["head"], unit("lost", "nothing"))
    assert state.mode("head") == WIDE
    assert state.mode("lost") is state.mode("nobody") is None


def test_when_nobody_asks_for_anything_a_control_is_at_home() -> None:
    assert head_with().asked("head", WIDE) == {c.key: c.home for c in WIDE.controls}


def test_a_hand_wins_over_a_look_and_a_look_over_the_baseline_and_that_over_home() -> None:
    state = head_with({"Pan": 1, "Tilt": 1, "Gobo1": 1}, {"Pan": 2, "Tilt": 2}, {"Pan": 3})
    asked = state.asked("head", WIDE)
    assert [asked[key] for key in ("Pan", "Tilt", "Gobo1", "Shutter1")] == [3, 2, 1, 100]
    base = state.base("head", WIDE)
    assert [base[key] for key in ("Pan", "Tilt", "Gobo1", "Shutter1")] == [2, 2, 1, 100]


def test_what_is_kept_for_controls_the_mode_has_not_is_left_out() -> None:
    state = head_with({"Iris": 1}, {"Iris": 1}, {"Iris": 1})
    assert "Iris" not in state.asked("head", WIDE)


def test_a_baseline_that_is_gone_counts_as_none() -> None:
    state = head_with()
    state.baseline = "gone"
    assert state.base("head", WIDE)["Pan"] == 32768


def test_a_unit_is_guarded_by_its_mark_or_by_its_profile() -> None:
    state = state_with()
    assert {f.id for f in state.fixtures.values() if state.guarded(f)} == {"fog", "pump"}


def test_a_slot_belongs_to_the_fixture_whose_footprint_covers_it() -> None:
    state = state_with(*RIG.values(), unit("shelf", address=None), unit("half", address=None, universe=1))
    owners = {slot: pair[0].id for slot in range(1, 513) if (pair := state.slot_owner(1, slot))}
    heads, washes = dict.fromkeys(range(11, 21), "head"), dict.fromkeys(range(31, 34), "wash")
    assert owners == {1: "spot", 2: "work", 3: "aisle", **heads, **washes, 41: "fog", 42: "pump"}
    assert state.slot_owner(2, 3) == (RIG["batten"], PROFILES["batten"].modes[0])
    assert state.slot_owner(3, 1) is None
