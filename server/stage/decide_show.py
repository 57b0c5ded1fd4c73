"""The rules for what a show keeps: looks, the focus order, the lead's settings."""

import math
from dataclasses import fields, replace

from server.rig.said import Said
from server.stage import commands, events
from server.stage.decide import Answer, Rules, allow, answer
from server.stage.events import Event
from server.stage.holds import Refused
from server.stage.looks import capture, in_hand, keepable, values_that_differ
from server.stage.state import Look, Settings, State

__all__ = ["LIMITS", "LONGEST_FADE_S", "MOST_LOOKS", "MOST_STARS", "is_name"]

MOST_LOOKS = 200  # more than a day of focusing makes; one of the largest rig takes several megabytes
MOST_STARS = 100  # of more, none is found sooner
LONGEST_FADE_S = 3600.0
LIMITS = {"light_up_s": (0.5, 10.0), "light_up_level": (0.01, 1.0), "let_go_s": (0.0, 60.0)}


def is_name(text: str) -> bool:
    """Whether a look can be called so, as it stands."""
    return _name(text) == text


def _name(text: str) -> str | None:
    name = " ".join(text.split())
    return name if 1 <= len(name) <= 60 else None


@answer.register
def _(command: commands.SaveLook, state: State, now: float, rules: Rules) -> Answer:
    replaces = command.look in state.looks
    roles = ("lead",) if replaces or command.baseline else ("lead", "crew")
    if refused := allow(state, command.person, *roles):
        return refused
    name = _name(command.name)
    if name is None:
        return Refused(Said("Give the look a name of 1 to 60 characters."))
    if not replaces and len(state.looks) >= MOST_LOOKS:
        return Refused(Said("A show holds up to {most} looks. Delete or replace one first.", most=MOST_LOOKS))
    chosen = tuple(state.fixtures) if command.fixtures is None else command.fixtures
    for fixture in chosen:
        if fixture not in state.fixtures:
            return Refused(Said("One of the chosen fixtures does not exist any more."), fixture)
    if command.shown is None:
        values = capture(state, chosen)
    else:
        kept = keepable(state, command.shown)
        values = {fixture: kept[fixture] for fixture in chosen if kept.get(fixture)}
        if not values:
            return Refused(Said("The consoles heard drive nothing here that a look may hold."))
    saved: list[Event] = [events.LookSaved(command.person, Look(command.look, name, values))]
    if command.baseline:
        saved.append(events.BaselineSet(command.person, command.look, state.settings.let_go_s))
    return saved


@answer.register
def _(command: commands.RenameLook, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead"):
        return refused
    look, name = state.looks.get(command.look), _name(command.name)
    if look is None:
        return Refused(Said("There is no such look any more."))
    if name is None:
        return Refused(Said("Give the look a name of 1 to 60 characters."))
    return [events.LookSaved(command.person, replace(look, name=name))]


@answer.register
def _(command: commands.UpdateLook, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead"):
        return refused
    look = state.looks.get(command.look)
    if look is None:
        return Refused(Said("There is no such look any more."))
    values = in_hand(state, look.id, command.person)
    if values == look.values:
        return Refused(Said("What you have in hand is in the look already."))
    shown = None if command.wanted is None else {f: dict(kept) for f, kept in command.wanted.items()}
    if shown is not None and shown != values_that_differ(look.values, values):
        return Refused(Said("Something else is in your hand by now. Look at it once more."))
    return [events.LookSaved(command.person, replace(look, values=values))]


@answer.register
def _(command: commands.DeleteLook, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead"):
        return refused
    if command.look not in state.looks:
        return Refused(Said("There is no such look any more."))
    if command.look == state.baseline:
        return Refused(Said("This look is the baseline. Choose another baseline first."))
    return [events.LookDeleted(command.person, command.look)]


@answer.register
def _(command: commands.RecallLook, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead", "crew"):
        return refused
    if command.look not in state.looks:
        return Refused(Said("There is no such look any more."))
    if not 0 <= command.fade_s <= LONGEST_FADE_S:
        return Refused(
            Said(
                "A fade takes 0 to {most} seconds, not {seconds}.",
                most=LONGEST_FADE_S,
                seconds=command.fade_s,
            )
        )
    return [events.LookRecalled(command.person, command.look, command.fade_s)]


@answer.register
def _(command: commands.SetBaseline, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead"):
        return refused
    if command.look is not None and command.look not in state.looks:
        return Refused(Said("There is no such look any more."))
    return [events.BaselineSet(command.person, command.look, state.settings.let_go_s)]


@answer.register
def _(command: commands.StarProfile, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead"):
        return refused
    others = tuple(key for key in state.stars if key != command.key)
    stars = (command.key, *others) if command.on else others
    if len(stars) > MOST_STARS:
        return Refused(Said("A show stars up to {most} profiles.", most=MOST_STARS))
    return [events.StarsSet(command.person, stars)]


@answer.register
def _(command: commands.SetOrder, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead"):
        return refused
    if len(set(command.order)) != len(command.order):
        return Refused(Said("A fixture stands in the focus order once."))
    if any(fixture not in state.fixtures for fixture in command.order):
        return Refused(Said("The focus order names a fixture that does not exist any more."))
    return [events.OrderSet(command.person, command.order)]


@answer.register
def _(command: commands.ChangeSettings, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead"):
        return refused
    known = {part.name for part in fields(Settings)}
    for name, value in command.changes.items():
        if name not in known:
            return Refused(Said("There is no setting called {name}.", name=name[:40]))
        low, high = LIMITS[name]
        if not (math.isfinite(value) and low <= value <= high):
            return Refused(
                Said(
                    "{name} goes from {low} to {high}, not {value}.",
                    name=name,
                    low=low,
                    high=high,
                    value=value,
                )
            )
    return [events.SettingsChanged(command.person, replace(state.settings, **command.changes))]
