"""The rules for sharing a universe with a console."""

from server.rig.said import Said
from server.rig.universe import UNIVERSE_LAST
from server.stage import commands_shared as commands
from server.stage import events
from server.stage.decide import MOST_UNIVERSES, Answer, Rules, allow, answer
from server.stage.holds import Refused
from server.stage.near import names
from server.stage.shared import FOLLOWING, GONE, JOINS
from server.stage.state import State

__all__: list[str] = []


@answer.register
def _(command: commands.Share, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead"):
        return refused
    universe, shared = command.universe, command.shared
    if not 1 <= universe <= UNIVERSE_LAST:
        return Refused(
            Said("Universes go from 1 to {last}, not {universe}.", last=UNIVERSE_LAST, universe=universe)
        )
    if shared is None:
        return [events.UniverseShared(command.person, universe, None)] if universe in state.shared else []
    if shared.join not in JOINS or shared.gone not in GONE:
        return Refused(Said("There is no such way to share a universe."))
    if shared.join in FOLLOWING and not shared.follow:
        return Refused(
            Said("Where our slots can outrank a console's, the rest must be its own: follow it there.")
        )
    if universe not in state.shared and len(state.shared) >= MOST_UNIVERSES:
        return Refused(
            Said("There are decisions about {most} universes: take one back first.", most=MOST_UNIVERSES)
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
