"""What the lead is told, before giving a universe back, of what is not let go of by that."""

from dataclasses import replace

import pytest

from server.beside.staying import staying
from server.stage import commands
from server.stage.shared import Join
from tests.rigs import done, stage_with

__all__: list[str] = []

DOWN = (
    "Blackout or the master holds this universe down until nothing of ours is sent; then it is at once as "
    "the console sends it."
)


def test_hands_looks_and_slots_are_no_reason_to_say_anything() -> None:
    stage = stage_with()
    done(stage, commands.SetValues("ann", "spot", {"Dimmer": 0.5}))
    done(stage, commands.SetSlot("ann", 1, 400, 9))
    stage.state.recalled["spot"] = {"Dimmer": 7}
    assert staying(stage.state, 1, "slots") == []


def test_what_people_hold_still_is_named_with_what_becomes_of_it() -> None:
    stage = stage_with()
    head, spot = stage.state.fixtures["head"], stage.state.fixtures["spot"]
    done(stage, commands.TagOut("ann", "spot", "broken lens"))
    done(stage, commands.GoAloft("mo", head.position))
    told = staying(stage.state, 1, "slots")
    assert told[0] == (
        f"Out of use: {spot.channel}. Held until nothing of ours is sent; then the console drives them again."
    )
    assert told[1:] == [
        f"Somebody is aloft there: {head.channel}. They stay where they point until nothing of ours is sent; "
        "then the console moves them."
    ]
    assert staying(stage.state, 9, "slots") == []  # nothing of it is there
    assert staying(stage.state, 1, "off") == staying(stage.state, 1, None) == []
    stage.state.fixtures["spot"] = replace(spot, channel=None)
    assert staying(stage.state, 1, "slots")[0].startswith("Out of use: units without a channel.")


@pytest.mark.parametrize(
    ("join", "said"), [("above", [DOWN]), ("alone", [DOWN]), ("slots", []), ("below", []), ("off", [])]
)
def test_blackout_and_master_hold_only_what_we_outrank_whole(join: Join, said: list[str]) -> None:
    stage = stage_with()
    done(stage, commands.SetMaster("ann", 0.5))
    assert staying(stage.state, 1, join) == said
    done(stage, commands.SetMaster("ann", 1.0))
    assert staying(stage.state, 1, join) == []
    done(stage, commands.SetBlackout("ann", on=True))
    assert staying(stage.state, 1, join) == said
