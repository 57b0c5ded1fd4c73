"""Another show in place of this one: whole, by the lead, with no hands on anything, nothing wild in it."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from server.rig.universe import OffLimits
from server.stage import events
from server.stage.carried import Carried, Vetted, carried
from server.stage.commands import HandsOn, ReplaceShow, Take
from server.stage.decide import Rules
from server.stage.decide_replace import vet
from server.stage.holds import Refused
from server.stage.state import Aloft, Fault, Look, Settings, Show
from tests.rigs import LIMITS, PROFILES, done, refused, stage_with, state_with, unit

__all__: list[str] = []

Change = Callable[[Carried], Carried]


def _show() -> Carried:
    state = state_with()
    look = Look("l", "Warm", {"spot": {"Dimmer": 200}, "head": {"Dimmer": 65535, "Pan": 5}})
    state.looks, state.baseline = {"l": look}, "l"
    state.show, state.faults = Show("Away", "Far"), {"spot": Fault("lamp out", "nobody here")}
    state.settings = Settings(let_go_s=0.0)
    return carried(state)


def test_the_lead_s_show_comes_in_whole_and_takes_its_time_to_fade() -> None:
    stage = stage_with(unit("old"), people=4)
    done(stage, Take("mo", "old"))
    stage.state.settings = Settings(let_go_s=0.0)
    (happened,) = done(stage, ReplaceShow("ann", Vetted(_show())))
    assert isinstance(happened, events.ShowReplaced)
    assert happened.fade_s == 2.0
    assert carried(stage.state) == _show()
    assert (stage.state.holders, set(stage.state.people)) == ({}, {"ann", "mo", "kit", "hal"})


@pytest.mark.parametrize("who", ["mo", "hal"])
def test_nobody_else_may(who: str) -> None:
    assert refused(stage_with(), ReplaceShow(who, Vetted(_show()))).why == "Only the lead can do that."


def test_not_while_hands_are_on_a_fixture() -> None:
    stage = stage_with()
    done(stage, HandsOn("mo", "head", True))
    answer = refused(stage, ReplaceShow("ann", Vetted(_show())))
    assert answer.why == "Hands are on 21 (Bridge 1 unit 3): another show comes in once they are off."
    done(stage, HandsOn("mo", "head", False))
    done(stage, ReplaceShow("ann", Vetted(_show())))


def test_not_while_somebody_is_aloft() -> None:
    stage = stage_with()
    stage.state.aloft["mo"] = Aloft("Bridge 1", 0.0)
    answer = refused(stage, ReplaceShow("ann", Vetted(_show())))
    assert answer.why == "Somebody is aloft (Mo): another show comes in once they are down."


def test_what_this_venue_has_off_limits_stays_so_for_a_show_from_elsewhere() -> None:
    answer = vet(_show(), Rules((*LIMITS, OffLimits(2, 1, 1, "hoists"))))
    assert isinstance(answer, Refused)
    assert "off limits: hoists" in answer.why
    assert answer.why.startswith("51: ")


def _look(**values: int) -> Change:
    look = Look("l", "Warm", {"head": values})
    return lambda show: replace(show, looks={"l": look})


DAMAGED: dict[str, Change] = {
    "a fixture under another name": lambda s: replace(s, fixtures={**s.fixtures, "x": s.fixtures["spot"]}),
    "a profile under another name": lambda s: replace(s, profiles={**s.profiles, "x": PROFILES["head"]}),
    "a look under another name": lambda s: replace(s, looks={**s.looks, "x": s.looks["l"]}),
    "an order of what is not there": lambda s: replace(s, order=("spot", "nobody")),
    "an order that repeats": lambda s: replace(s, order=("spot", "spot")),
    "a star that repeats": lambda s: replace(s, stars=("a", "a")),
    "a star as long as a book": lambda s: replace(s, stars=("a" * 1000,)),
    "a baseline that is not there": lambda s: replace(s, baseline="x"),
    "a fault of nothing": lambda s: replace(s, faults={"x": Fault("out", "mo")}),
    "a fault of a thousand words": lambda s: replace(s, faults={"spot": Fault("out " * 1000, "mo")}),
    "a look without a name": lambda s: replace(s, looks={"l": Look("l", "", {})}),
    "a level beyond full": _look(Dimmer=65536),
    "a level below nothing": _look(Pan=-1),
    "a name as long as a book": lambda s: replace(s, show=Show("x" * 1000)),
    "a setting out of range": lambda s: replace(s, settings=Settings(let_go_s=-1.0)),
    "a setting that is no number": lambda s: replace(s, settings=Settings(light_up_s=float("nan"))),
}


@pytest.mark.parametrize("what", DAMAGED)
def test_a_show_that_does_not_fit_together_is_refused(what: str) -> None:
    answer = vet(DAMAGED[what](_show()), Rules())
    assert isinstance(answer, Refused)
    assert answer.why == "The show is damaged: what is in it does not fit together. Nothing was changed."


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (lambda s: replace(s, profiles={}), "There is no profile"),
        (
            lambda s: replace(s, fixtures={"a": unit("a", address=600)}, order=(), faults={}),
            "do not fit into",
        ),
        (
            lambda s: replace(s, fixtures={"a": unit("a"), "b": unit("b")}, order=(), faults={}),
            "listens at 1.1",
        ),
        (
            lambda s: replace(s, looks={f"l{n}": Look(f"l{n}", "L", {}) for n in range(201)}, baseline=None),
            "up to 200 looks",
        ),
    ],
)
def test_a_show_that_could_not_be_made_here_is_refused(change: Change, why: str) -> None:
    answer = vet(change(_show()), Rules())
    assert isinstance(answer, Refused)
    assert why in answer.why
    assert answer.fixture is None


def test_a_look_from_elsewhere_never_strobes_puts_a_lamp_out_or_drives_what_is_guarded() -> None:
    wild = {"Dimmer": 65535, "Shutter1": 200, "Control1": 25, "Fans": 255, "Nothing": 7}
    values = {"head": wild, "fog": {"Fog1": 255}, "pump": {"Dimmer": 255}, "gone": {"Dimmer": 9}}
    answer = vet(replace(_show(), looks={"l": Look("l", "Wild", values)}), Rules())
    assert isinstance(answer, Vetted)
    assert answer.brought.looks["l"].values == {"head": {"Dimmer": 65535}}
    assert vet(_show(), Rules()) == Vetted(_show())
