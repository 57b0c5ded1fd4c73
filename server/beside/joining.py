"""When a universe begins to be sent, and on what terms it goes on: listened for first, then as decided."""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import inf
from typing import Literal

from server.beside.rank import Rank, rank_of
from server.beside.terms import NOTHING, Leaving, leaving
from server.engine.terms import SILENT, Terms
from server.hearing.source import Source
from server.rig.universe import OffLimits
from server.stage.shared import ALONE, Shared

__all__ = ["Joining", "Standing", "Where"]

Where = Literal["listening", "waiting", "joined"]


@dataclass(slots=True)
class Standing:
    """Where one universe is. until: the end of listening, by the clock handed in; inf: it has not begun.

    `waiting`: somebody was heard before our first frame, and the lead has not decided. first: who that was,
    or drives it now.
    """

    where: Where
    until: float = inf
    rank: Rank = field(default_factory=Rank)
    leaving: Leaving = NOTHING
    first: Source | None = None

    @property
    def terms(self) -> Terms:
        """On which it leaves now."""
        return self.leaving.terms if self.where == "joined" else SILENT


class Joining:
    """Every universe of the show, and how it stands beside consoles."""

    def __init__(self, listen_s: float, own: Callable[[int], int], off_limits: Sequence[OffLimits]) -> None:
        """listen_s: how long to listen before a universe's first frame. own: the sACN priority set for it."""
        self._listen_s, self.own = listen_s, own
        self._limits = {limit.universe: limit for limit in reversed(off_limits)}
        self._standings: dict[int, Standing] = {}
        self._running: Mapping[int, Rank] = {}
        self._shared: Mapping[int, Shared] = {}
        self._anew = False

    def take_over(self, running: Mapping[int, Rank]) -> None:
        """These universes are being sent already, beside consoles of that rank: they go on unheard."""
        self._running = running

    def follow(self, universes: Iterable[int], shared: Mapping[int, Shared]) -> None:
        """Have a standing for each of these universes, and for no other. shared: what is decided."""
        before, running = self._standings, self._running
        self._standings, self._running, self._anew = {}, {}, True
        for universe in universes:
            if (standing := before.get(universe)) is None:
                heard = running.get(universe)
                joined = heard is not None or not self._listen_s
                standing = Standing("joined" if joined else "listening", rank=heard or Rank())
                self._work_out(universe, standing, shared)
            self._standings[universe] = standing

    def again(self, universes: Iterable[int]) -> None:
        """Nothing has left there yet where or as what they go now: they are listened to anew."""
        for universe in universes if self._listen_s else ():
            standing = self._standings[universe]
            standing.where, standing.until, standing.first = "listening", inf, None

    def listening(self) -> list[int]:
        """The universes that are still listened to."""
        return [universe for universe, standing in self._standings.items() if standing.where == "listening"]

    def look(
        self,
        live: Callable[[int], Sequence[Source]],
        shared: Mapping[int, Shared],
        known: Callable[[int], bool],
        now: float,
        heard: Collection[int],
        decides: Callable[[int], bool] = lambda _: True,
        there: Callable[[int], bool] = lambda _: True,
    ) -> bool:
        """Go on; whether any universe leaves on other terms than before.

        live: who drives a universe. heard: those on which anybody is, or was a moment ago. known: whether
        what we hold ready for it carries what the console sends. decides: whether what is decided about it
        was decided for all numbers that it goes by. there: whether a network that it leaves by is,
        and can be heard: listening begins once it is.
        """
        changed, decided_anew = False, self._anew or shared != self._shared
        self._shared, self._anew = dict(shared), False
        for universe, standing in self._standings.items():
            at_rest = standing.where == "joined" and not standing.rank.here
            if at_rest and not decided_anew and universe not in heard:
                continue
            before = standing.terms, standing.leaving.outrank
            here = live(universe)
            if here or now >= standing.until:
                standing.rank = rank_of(here, standing.rank, now)
            if standing.where == "listening" and not there(universe):
                standing.until = inf
            elif standing.until == inf:  # from now on its packets are heard
                standing.until = now + self._listen_s
            is_known = not here or known(universe)
            self._work_out(universe, standing, shared, is_known)
            if standing.where != "joined":
                decided = shared.get(universe) if decides(universe) else None
                self._wait(standing, here, decided, is_known, now)
            changed = changed or (standing.terms, standing.leaving.outrank) != before
        return changed

    def _work_out(
        self, universe: int, standing: Standing, shared: Mapping[int, Shared], known: bool = True
    ) -> None:
        decided, limit = shared.get(universe, ALONE), self._limits.get(universe)
        done = leaving(universe, decided, standing.rank, self.own(universe), limit)
        rises = done.join == "above" and standing.leaving.join != "above"
        if known or standing.where != "joined" or not rises:  # never above with what is not the console's
            standing.leaving = self._in_steps(universe, standing, done)

    def _in_steps(self, universe: int, standing: Standing, done: Leaving) -> Leaving:
        """One step from one look to the next, so that no slot in hand is seen without a priority in between.

        Where slots get priorities of their own, these are worked out first, then told, and only then that of
        the packets falls. Where they are to have none any more, all get that of the packets first: a node
        would keep what it has of them for 2.5 s.
        """
        now, outranked = standing.terms, standing.leaving.outrank
        if not now.sacn or not done.terms.sacn or now.per_slot == done.terms.per_slot:
            return done
        priority = self._priority(universe, done.terms)
        self._anew = True
        if now.per_slot:
            all_alike = replace(done.terms, priority=priority, per_slot=True)
            return done if outranked == priority else replace(done, terms=all_alike, outrank=priority)
        if outranked is None:
            return replace(done, terms=now)
        return replace(done, terms=replace(done.terms, priority=max(priority, self._priority(universe, now))))

    def _priority(self, universe: int, terms: Terms) -> int:
        return self.own(universe) if terms.priority is None else terms.priority

    def _wait(
        self, standing: Standing, here: Sequence[Source], decided: Shared | None, known: bool, now: float
    ) -> None:
        if here and standing.first not in here:
            standing.first = here[0]
        if decided is not None:
            # What follows a console begins with its levels, never with ours and a priority above.
            at_once = not decided.follow and decided.join != "below"
            heard = known or not decided.follow if here else now >= standing.until
            standing.where = "joined" if at_once or heard else standing.where
        elif standing.first is not None:
            standing.where = "waiting"
        elif now >= standing.until:
            standing.where = "joined"

    def terms(self, universe: int) -> Terms:
        """On which that universe leaves now."""
        standing = self._standings.get(universe)
        return standing.terms if standing else SILENT

    def sends(self, universe: int) -> bool:
        """Whether that universe has begun."""
        standing = self._standings.get(universe)
        return standing is not None and standing.where == "joined"

    def outranking(self) -> dict[int, tuple[int, int]]:
        """The priority of slots that are ours and of all others, by universe, where slots have any."""
        given = {u: one.leaving for u, one in self._standings.items() if one.where == "joined"}
        return {
            universe: (one.outrank, self._priority(universe, one.terms))
            for universe, one in given.items()
            if one.outrank is not None
        }

    def all(self) -> Mapping[int, Standing]:
        """Every universe's standing."""
        return self._standings
