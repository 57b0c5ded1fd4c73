"""What a change is about, as people call it."""

from server.rig.patch import Fixture, spoken
from server.rig.said import Fact, Said
from server.stage.state import State

__all__ = ["called_unit", "fixtures_in", "named"]

WHOLE = {
    "baseline": Said("the baseline"),
    "order": Said("the focus order"),
    "call": Said("the settings of the focus call"),
    "master": Said("the master"),
    "blackout": Said("the blackout"),
    "settings": Said("the settings"),
    "sync": Said("synchronisation"),
    "recalled": Said("the looks that are up"),
}


def named(state: State, subject: str) -> Fact:
    """A subject of stage.undo.subjects in words."""
    kind, _, name = subject.partition(" ")
    if kind in ("fixture", "patch") and name in state.fixtures:
        return called_unit(state.fixtures[name])
    if kind == "look" and name in state.looks:
        return Said('the look "{name}"', name=state.looks[name].name)
    if kind == "slot":
        universe, _, slot = name.partition(".")
        return Said("universe {universe} slot {slot}", universe=int(universe), slot=int(slot))
    if kind == "universe":
        return Said("universe {universe}", universe=int(name))
    if kind == "route":
        return Said("where universe {universe} goes", universe=int(name))
    return WHOLE.get(kind, Said("that"))


def called_unit(unit: Fixture) -> Fact:
    """The short name of a unit: its channel, or where it hangs."""
    return spoken(unit) if unit.channel is None else unit.channel


def fixtures_in(about: tuple[str, ...]) -> list[str]:
    """Ids of the fixtures among the subjects."""
    return [subject.removeprefix("fixture ") for subject in about if subject.startswith("fixture ")]
