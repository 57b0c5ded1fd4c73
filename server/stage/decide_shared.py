"""The rules for sharing a universe with a console."""

from dataclasses import replace

from server.rig.patch import Fixture, spoken
from server.rig.said import Said
from server.rig.universe import UNIVERSE_LAST
from server.stage import commands_shared as commands
from server.stage import events
from server.stage.decide import MOST_UNIVERSES, Answer, Rules, allow, answer
from server.stage.events import Event
from server.stage.holds import Refused, in_other_hands, let_go
from server.stage.near import names
from server.stage.outputs import number_on_wire, outputs_of
from server.stage.shared import FOLLOWING, GONE, JOINS, Called, Shared
from server.stage.state import State

__all__: list[str] = []


@answer.register
def _(command: commands.Share, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead"):
        return refused
    universe, shared = command.universe, command.shared
    if refused := _no_room(state, universe, shared is not None):
        return refused
    if shared is None:
        return [events.UniverseShared(command.person, universe, None)] if universe in state.shared else []
    if shared.join not in JOINS or shared.gone not in GONE:
        return Refused(Said("There is no such way to share a universe."))
    if shared.join in FOLLOWING and not shared.follow:
        return Refused(
            Said("Where our slots can outrank a console's, the rest must be its own: follow it there.")
        )
    limits = [limit for limit in rules.off_limits if limit.universe == universe]
    if shared.join == "above" and limits:
        # At our priority a slot that we leave at 0 would be taken from whoever drives it.
        return Refused(
            Said(
                "Universe {universe} has slots that are off limits ({reason}): above the console they would "
                "be taken from it. Slots in hand, below, or off are possible.",
                universe=universe,
                reason=limits[0].why,
            )
        )
    shared = replace(shared, called=_called(state, universe, rules))
    if state.shared.get(universe) == shared:
        return []
    if shared.join == "off" and state.aloft and not command.held:
        who = Said(
            "Somebody is aloft ({names}). Ending universe {universe} may take their light: press and hold if "
            "you mean it.",
            names=names(state, state.aloft),
            universe=universe,
        )
        return Refused(who, ask="held")
    return [events.UniverseShared(command.person, universe, shared)]


def _called(state: State, universe: int, rules: Rules) -> tuple[Called, ...]:
    outputs = outputs_of(state.routes, universe, rules.usual)
    numbers = [(one, number_on_wire(one, universe, rules.offset)) for one in outputs]
    return tuple(sorted({(one.by, number, one.interface) for one, number in numbers if number is not None}))


def _no_room(state: State, universe: int, decides: bool = True) -> Refused | None:
    """Why nothing can be decided about that universe."""
    if not 1 <= universe <= UNIVERSE_LAST:
        return Refused(
            Said("Universes go from 1 to {last}, not {universe}.", last=UNIVERSE_LAST, universe=universe)
        )
    if decides and universe not in state.shared and len(state.shared) >= MOST_UNIVERSES:
        return Refused(
            Said("There are decisions about {most} universes: take one back first.", most=MOST_UNIVERSES)
        )
    return None


@answer.register
def _(command: commands.ClearUniverse, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead"):
        return refused
    universe = command.universe
    if refused := _no_room(state, universe):
        return refused
    units = [unit for unit in state.fixtures.values() if universe in unit.universes]
    if touched := [unit for unit in units if unit.id in state.hands_on]:
        # The console might move it under them.
        return Refused(Said("Somebody has hands on {unit}. Ask them first.", unit=spoken(touched[0])))
    if not command.held and (refused := _asks(state, command.person, universe, units, now)):
        return refused
    happened: list[Event] = []
    for unit in units:
        if unit.id in state.holders:
            happened += let_go(state, command.person, unit.id, command.leaving)
    happened += [
        events.SlotSet(command.person, universe, slot, None) for slot in sorted(state.slots.get(universe, ()))
    ]
    fade_s = state.settings.let_go_s
    if lifted := tuple(unit.id for unit in units if unit.id in state.recalled):
        happened.append(events.LooksLifted(command.person, lifted, fade_s))
    if lit := [unit.id for unit in units if unit.id in state.beside]:
        happened.append(events.BesideSet(command.person, dict.fromkeys(lit), 0.0, fade_s, 0.0))
    shared = state.shared_as(universe)
    if not shared.follow and shared.join != "off":
        happened.append(events.UniverseShared(command.person, universe, replace(shared, follow=True)))
    return happened


def _asks(state: State, person: str, universe: int, units: list[Fixture], now: float) -> Refused | None:
    others = {holder: unit for unit in units if (holder := in_other_hands(state, person, unit.id, now))}
    if state.aloft:
        return Refused(
            Said(
                "Somebody is aloft ({names}). Giving universe {universe} back may take their light: press "
                "and hold if you mean it.",
                names=names(state, state.aloft),
                universe=universe,
            ),
            ask="held",
        )
    if others:
        return Refused(
            Said(
                "Others have light of universe {universe} in hand ({names}). Giving it back lets go of "
                "that: press and hold if you mean it.",
                names=names(state, sorted(others)),
                universe=universe,
            ),
            ask="held",
        )
    return None


@answer.register
def _(command: commands.GiveBack, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead"):
        return refused
    if refused := _no_room(state, command.universe):
        return refused
    return [events.UniverseShared(command.person, command.universe, Shared("off"))]
