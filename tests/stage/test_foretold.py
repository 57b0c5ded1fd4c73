"""What undoing would do, said before it is done."""

import pytest

from server.stage import commands as ask
from server.stage.commands import Command
from server.stage.decide import decide
from server.stage.events import PutBack
from server.stage.foretold import foretold
from server.stage.state import Before, Look, SlotLevel
from tests.rigs import done, stage_with, unit

__all__: list[str] = []


def told(*asked: Command, change: int = 0, person: str = "mo") -> str:
    """What undoing the last of these comes to."""
    stage = stage_with()
    stage.state.looks["one"] = Look("one", "One", {"spot": {"Dimmer": 9}})
    for turn, command in enumerate(asked):
        done(stage, command, 10.0 * turn)
    undo = ask.Undo(person, change or len(asked), over=True, held=True)
    answer = decide(stage.state, undo, 100.0, stage.rules)
    assert isinstance(answer, list)
    (back,) = [event.before for event in answer if isinstance(event, PutBack)]
    return foretold(stage.state, person, back)


SET = ask.SetValues("mo", "spot", {"Dimmer": 0.4})


@pytest.mark.parametrize(
    ("asked", "will"),
    [
        ((SET,), "1 back to Dimmer 0 %, in nobody's hand."),
        ((SET, ask.SetValues("mo", "spot", {"Dimmer": 1.0})), "1 back to Dimmer 40 %, still in your hand."),
        ((SET, ask.LetGo("mo", "spot")), "1 back to Dimmer 40 %, in your hand again."),
        ((ask.Take("mo", "spot"),), "1 in nobody's hand."),
        ((ask.SetMaster("mo", 0.5),), "the master back to 100 %."),
        ((ask.SetBlackout("mo", True),), "blackout off."),
        ((ask.SetSlot("mo", 1, 400, 9),), "universe 1 slot 400 given back."),
        ((ask.MarkFault("mo", "spot", "dark"),), "nothing is wrong with 1."),
        ((ask.SaveLook("mo", "two", "Two"),), 'the look "Two" goes.'),
        ((ask.RecallLook("mo", "one", 0.0),), "what the look brought up goes back, on one fixture."),
    ],
)
def test_it_is_said_in_words(asked: tuple[Command, ...], will: str) -> None:
    assert told(*asked) == will


@pytest.mark.parametrize(
    ("asked", "will"),
    [
        (ask.ChangePatch("ann", put=(unit("new", address=100, channel=7),)), "7 goes out of the rig."),
        (ask.ChangePatch("ann", remove=("spot",)), "1 comes back into the rig"),
        (ask.ChangePatch("ann", put=(unit("spot", channel=1, purpose="Key"),)), "1 patched as it was."),
        (ask.RenameLook("ann", "one", "Two"), 'the look "Two" is called "One" again.'),
        (ask.DeleteLook("ann", "one"), 'the look "One" is there again.'),
        (ask.SaveLook("ann", "one", "One"), 'the look "One" holds again what it did.'),
        (ask.SetBaseline("ann", "one"), "the baseline as it was."),
        (ask.SetOrder("ann", ()), "the focus order as it was."),
        (ask.ChangeSettings("ann", {"let_go_s": 1.0}), "the settings as they were."),
    ],
)
def test_what_the_lead_did_too(asked: Command, will: str) -> None:
    assert told(asked, person="ann").startswith(will)


def test_of_many_things_the_first_are_named() -> None:
    many = ask.SetMany("mo", {f: {"Dimmer": 0.5} for f in ("spot", "aisle", "wash", "batten")})
    first = "1 back to Dimmer 0 %, in nobody's hand; 3 back to Dimmer 0 %, in nobody's hand"
    assert told(many) == f"{first}; 22 back to Dimmer 0 %, in nobody's hand; and 1 more."


def test_in_whose_hand_it_stays_is_said_to_the_lead() -> None:
    louder = ask.SetValues("mo", "spot", {"Dimmer": 1.0})
    assert told(SET, louder, person="ann") == "1 back to Dimmer 40 %, still in the hand of Mo."
    assert told(SET, ask.LetGo("mo", "spot"), person="ann").endswith("in the hand of Mo again.")


def test_nothing_left_is_said_and_so_is_what_comes_back() -> None:
    state = stage_with().state
    assert foretold(state, "mo", Before()) == "Nothing of it is left to put back."
    back = Before(slots={1: {2: SlotLevel(3, "mo")}}, blackout=True)
    assert foretold(state, "mo", back) == "universe 1 slot 2 back to 3; blackout."
