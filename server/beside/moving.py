"""When a universe that is being sent leaves under a number that is new to it: once that was listened to."""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import Literal

from server.engine.routing import Ear
from server.hearing.source import Source
from server.stage.outputs import NO_ROUTE, Output, Route
from server.stage.shared import Shared

__all__ = ["Move", "Moving"]

Ears = Callable[[int, Mapping[int, Route]], frozenset[Ear]]


@dataclass(slots=True)
class Move:
    """A universe on its way to numbers that are new to it; all of it goes on as before meanwhile.

    until: the end of listening there, by the clock handed in; inf: it has not begun. first: who was heard
    there, which the lead has to decide about. agreed: that is done, and they are heard like those on the
    universe's other numbers; it leaves there once that is so. route: how it leaves then.
    """

    ears: frozenset[Ear]
    until: float = inf
    first: Source | None = None
    agreed: bool = False
    route: Route = NO_ROUTE

    @property
    def where(self) -> Literal["listening", "waiting"]:
        """Waiting: for the lead."""
        return "listening" if self.first is None else "waiting"


class Moving:
    """Where each universe of the show goes now, and which are on their way to other numbers."""

    def __init__(self, listen_s: float) -> None:
        """listen_s: how long to listen on a number before the first frame under it; 0: not at all."""
        self.moves: dict[int, Move] = {}
        self._listen_s = listen_s
        self._routes: dict[int, Route] = {}
        self._absent: set[int] = set()  # whose networks are all still to come

    def take_over(self, running: Mapping[int, Route]) -> None:
        """These universes are being sent already, and elsewhere than they are to go."""
        self._routes |= running

    def follow(
        self,
        universes: Iterable[int],
        wanted: Mapping[int, Route],
        ears: Ears,
        sent: Callable[[int], bool],
        there: Callable[[Output], bool] = lambda _: True,
    ) -> set[int]:
        """Take up where these universes are to go; no others are known from now on.

        ears: what a universe is called by a route. sent: whether it is being sent. there: whether the network
        of an output is: one that has not been yet cannot be listened to, and counts once it comes. Returns
        those that are not sent, and that have a new number: they are to be listened to anew.
        """
        before, moves, absent, anew = self._routes, self.moves, self._absent, set[int]()
        self._routes, self.moves, self._absent = {}, {}, set()
        for universe in universes:
            route, old = wanted.get(universe, NO_ROUTE), before.get(universe)
            known = frozenset[Ear]()
            if old is not None and universe not in absent:
                known = ears(universe, {universe: old})
            left = [o for o in route.outputs if there(o) or ears(universe, {universe: Route((o,))}) <= known]
            if route.outputs and not left:
                self._routes[universe] = route
                self._absent.add(universe)
                continue
            route = replace(route, outputs=tuple(left))
            new = ears(universe, {universe: route}) - known
            self._routes[universe] = route
            if not new or not self._listen_s or old is None:
                continue
            if not known or not sent(universe):
                anew.add(universe)
                continue
            self._routes[universe] = old
            move = moves.get(universe)
            if move is None or move.ears != new:
                move = Move(new)
            self.moves[universe] = replace(move, route=route)
        return anew

    def look(
        self,
        live: Callable[[int], Sequence[Source]],
        decided: Callable[[int], Shared | None],
        known: Callable[[int, Collection[Source]], bool],
        now: float,
    ) -> list[int]:
        """Go on; the universes that may leave under their new numbers now.

        live: who drives the new numbers of a universe. decided: what the lead has decided for them. known:
        whether those are heard on the universe itself, and what is held ready there is as it is to leave.
        """
        done = []
        for universe, move in self.moves.items():
            here = [one for one in live(universe) if (one.protocol, one.number) in _numbers(move)]
            if move.until == inf:  # from now on its packets are heard
                move.until = now + self._listen_s
            if here and move.first is None:
                move.first = here[0]
            if move.first is not None:
                move.agreed = decided(universe) is not None
            over = now >= move.until
            if over and (move.first is None or (move.agreed and known(universe, here))):
                done.append(universe)
        return done

    def settle(self, universe: int) -> None:
        """From now on it goes where it is to go."""
        self._routes[universe] = self.moves.pop(universe).route

    @property
    def routes(self) -> dict[int, Route]:
        """Of the universes that have outputs or a steadiness of their own: as they leave now."""
        return {universe: route for universe, route in self._routes.items() if route != NO_ROUTE}

    def ahead(self) -> dict[Ear, tuple[int, ...]]:
        """Which universes are on their way to a number."""
        found = dict[Ear, tuple[int, ...]]()
        for universe, move in self.moves.items():
            for ear in move.ears:
                found[ear] = (*found.get(ear, ()), universe)
        return found

    def heard(self, before: Mapping[Ear, tuple[int, ...]]) -> dict[Ear, tuple[int, ...]]:
        """Which universes are heard by what. before: as they leave now."""
        found = dict(before)
        for universe, move in self.moves.items():
            for ear in move.ears if move.agreed else ():
                found[ear] = (*(u for u in found.get(ear, ()) if u != universe), universe)
        return found


def _numbers(move: Move) -> set[tuple[str, int]]:
    return {(by, number) for by, number, _ in move.ears}
