"""What somebody did, in words, for the record."""

import pytest

from server.rig.said import Said
from server.stage import commands as ask
from server.stage.carried import Vetted, carried
from server.stage.commands import Command
from server.stage.state import Look, Person, Show
from tests.rigs import PROFILES, done, profile, stage_with, state_with, unit

__all__: list[str] = []

BROUGHT = carried(state_with())
MO_TAKES = ask.Take("mo", "spot")


def told(*asked: Command) -> str:
    """What stands in the record of the last of these."""
    stage = stage_with()
    stage.state.looks["one"], stage.state.show = Look("one", "One", {}), Show("Tempest")
    for turn, command in enumerate(asked):
        done(stage, command, 10.0 * turn)
    return Said.of(list(stage.state.changes.values())[-1].what)


@pytest.mark.parametrize(
    ("asked", "what"),
    [
        ((ask.Join("eve", Person("eve", "Eve", "crew", "")),), "Joined."),
        ((ask.Leave("kit"),), "Left."),
        ((MO_TAKES,), "Took it in hand."),
        ((MO_TAKES, ask.Take("kit", "spot", over=True)), "Took it out of the hand of Mo."),
        ((MO_TAKES, ask.LetGo("mo", "spot")), "Let go of it."),
        ((MO_TAKES, ask.LetGo("ann", "spot")), "Let go of it for Mo."),
        ((MO_TAKES, ask.Take("mo", "wash"), ask.LetGo("mo", "*")), "Let go of 2 fixtures."),
        ((ask.SetValues("mo", "head", {"Pan": 1.0, "Dimmer": 0.4}),), "Set Dimmer 40 %, Pan 100 %."),
        (
            (ask.SetMany("mo", {"spot": {"Dimmer": 0.4}, "wash": {"Dimmer": 0.4}}),),
            "Set Dimmer 40 %, 2 fixtures together.",
        ),
        ((ask.LightUp("mo", "head"),), "Lit it up."),
        ((ask.LightUp("mo", "head", as_it_hangs=True),), "Lit it up as it hangs."),
        ((ask.SetSlot("mo", 1, 1, 51),), "Set Dimmer 20 %."),
        ((ask.SetSlot("mo", 1, 400, 51),), "Set universe 1 slot 400 to 51."),
        ((ask.SetSlot("mo", 1, 400, 51), ask.SetSlot("mo", 1, 400, None)), "Gave universe 1 slot 400 back."),
        ((ask.SetMaster("mo", 0.456),), "Set the master to 46 %."),
        ((ask.SetBlackout("mo", True),), "Blackout."),
        ((ask.SetBlackout("mo", True), ask.SetBlackout("mo", False)), "Blackout off."),
        ((ask.SaveLook("mo", "two", "Two"),), 'Saved the look "Two".'),
        ((ask.SaveLook("ann", "one", "Uno"),), 'Kept what was on stage in the look "Uno".'),
        (
            (ask.SaveLook("ann", "two", "Two", baseline=True),),
            'Kept what was on stage as the baseline "Two".',
        ),
        ((ask.RenameLook("ann", "one", "Uno"),), 'Called the look "One" "Uno".'),
        ((ask.DeleteLook("ann", "one"),), 'Deleted the look "One".'),
        ((ask.SaveLook("mo", "two", "Two"), ask.RecallLook("mo", "two", 0)), 'Brought up the look "Two".'),
        ((ask.SetBaseline("ann", "one"),), 'Made the look "One" the baseline.'),
        ((ask.SetBaseline("ann", "one"), ask.SetBaseline("ann", None)), "Made home the baseline."),
        ((ask.ChangePatch("ann", (unit("new", address=100),)),), "Put it into the rig."),
        ((ask.ChangePatch("ann", (unit("spot", purpose="Key"),)),), "Changed its patch."),
        ((ask.ChangePatch("ann", (), ("spot",)),), "Took it out of the rig."),
        (
            (ask.ChangePatch("ann", (unit("new", address=100),), ("spot", "wash")),),
            "Changed the patch: 1 added, 0 changed, 2 removed.",
        ),
        ((ask.AddProfile("ann", profile("x", PROFILES["dimmer"].modes[0])),), 'Added the profile "X".'),
        ((ask.StarProfile("ann", "x", True),), 'Starred the profile "x".'),
        ((ask.StarProfile("ann", "x", False),), 'Took the star off the profile "x".'),
        ((ask.SetOrder("ann", ("wash",)),), "Changed the focus order."),
        ((ask.ChangeSettings("ann", {"let_go_s": 0.5}),), "Changed the settings: let_go_s 0.5."),
        ((ask.MarkFault("mo", "spot", "no light"),), 'Noted: "no light".'),
        (
            (ask.MarkFault("mo", "spot", "x"), ask.MarkFault("mo", "spot", None)),
            "Noted that nothing is wrong.",
        ),
        ((ask.Arm("ann", "fog", "test"), ask.Arm("ann", "fog", None)), "Ended its being armed."),
        ((ask.LiftFlashes("ann", "head"), ask.LiftFlashes("ann", None)), "Ended faster flashing."),
        ((ask.HandsOn("mo", "spot", True), ask.HandsOn("mo", "spot", False)), "Hands off."),
        ((ask.GoAloft("mo", "Bridge"), ask.GoAloft("mo", None)), "Down again."),
        ((ask.GoAloft("mo", "Bridge"), ask.GoAloft("ann", None, of="mo")), "Marked Mo as down."),
        ((ask.TagOut("mo", "spot", "smoke"),), "Out of use: smoke."),
        ((ask.TagOut("mo", "spot", "smoke"), ask.TagOut("mo", "spot", None)), "In use again."),
        ((ask.RenamePerson("mo", "mo", "Bo"),), 'Renamed Mo: "Bo".'),
        ((ask.RemovePerson("ann", "mo"),), "Removed Mo."),
        ((ask.SetPin("ann", "crew", "hash"),), "Set another PIN for crew."),
        ((MO_TAKES, ask.Take("mo", "wash"), ask.LetGo("ann", "*", "mo")), "Let go of 2 fixtures for Mo."),
        ((ask.CallDark("ann"), ask.AnswerDark("mo", False)), "Said not yet to the dark."),
        ((ask.GoAloft("mo", "B"), ask.CallDark("ann"), ask.AnswerDark("mo", True)), "Said yes to the dark."),
        ((ask.ReplaceShow("ann", Vetted(BROUGHT)),), 'Brought in another show: "".'),
    ],
)
def test_it_is_told_in_a_sentence(asked: tuple[Command, ...], what: str) -> None:
    assert told(*asked) == what
