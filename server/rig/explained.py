"""The fewest mistakes that explain who answered instead of whom, and what to ask next to be sure."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from server.rig.answered import Answer, Asked, Needs, needs_of
from server.rig.mistakes import Mistake, mistakes
from server.rig.patch import Fixture
from server.rig.profile import Profile

__all__ = ["Explanation", "Next", "explain"]

MOST = 5  # explanations told; further ones help nobody
WEIGHED = 20  # those looked at more closely
OVERLOOKED = 1.5  # a light that somebody standing under it did not see: less likely than a second mistake
MOST_MISTAKES = 6  # beyond that the patch is another rig's


@dataclass(frozen=True, slots=True)
class Next:
    """Ask for `ask`, a fixture id. lit: which of the units in question come up if this is right."""

    ask: str
    lit: frozenset[str]


@dataclass(frozen=True, slots=True)
class Explanation:
    """Mistakes that explain every answer. check: what tells it from the others; None: nothing does.

    overlooked: how often a unit must have lit without being named, which is a mistake, too: of who looked.
    """

    mistakes: tuple[Mistake, ...]
    check: Next | None
    overlooked: int = 0

    @property
    def cost(self) -> float:
        """How far-fetched, to rank by among explanations of as many mistakes."""
        return sum(one.cost for one in self.mistakes) + OVERLOOKED * self.overlooked

    @property
    def wrong(self) -> int:
        """How many things must have gone wrong."""
        return len(self.mistakes) + self.overlooked

    @property
    def real(self) -> dict[str, Fixture]:
        """The units it concerns as they would be set and wired, by id."""
        return {unit: as_set for one in self.mistakes for unit, as_set in one.real.items()}


def explain(
    fixtures: Iterable[Fixture], profiles: Mapping[str, Profile], answers: Sequence[Answer]
) -> list[Explanation]:
    """The explanations with the fewest mistakes, the likeliest first, five at most.

    [] where every answer is as patched, and where no few mistakes known here explain them all.

    Raises KeyError: an answer names a fixture that is none of these.
    """
    asked = Asked(fixtures, profiles)
    needs = needs_of(answers)
    wrong = [
        unit for unit, own in needs.items()
        if any(asked.lights(asked.fixtures[unit], ask) != lit for ask, lit in own.items())
    ]  # fmt: skip
    every = mistakes(asked, profiles, needs, wrong)
    found = list[Explanation]()
    for count in range(1, min(len(wrong), MOST_MISTAKES) + 1):
        sets = sorted(
            (Explanation(ones, None) for ones in _covers(tuple(wrong), every, needs, count)), key=_rank
        )
        found += [replace(one, overlooked=_overlooked(one, answers, asked)) for one in sets[:WEIGHED]]
        if any(one.wrong <= count for one in found):
            break  # more mistakes are no better
    fewest = min((one.wrong for one in found), default=0)
    likely = sorted((one for one in found if one.wrong == fewest), key=_rank)[:MOST]
    return [replace(one, check=_check(one, likely, asked, needs)) for one in likely]


def _rank(one: Explanation) -> float:
    return one.cost


def _overlooked(one: Explanation, answers: Iterable[Answer], asked: Asked) -> int:
    real = one.real
    return sum(
        asked.lights(as_set, answer.asked)
        for answer in answers
        for unit, as_set in real.items()
        if unit not in answer.lit and unit != answer.asked
    )


def _covers(
    wrong: tuple[str, ...], every: Sequence[Mistake], needs: Needs, count: int
) -> Iterator[tuple[Mistake, ...]]:
    """All sets of `count` mistakes that concern each of `wrong`, and no unit that was asked about twice."""
    if not wrong and not count:
        yield ()
    elif wrong and count:
        for one in every:
            if wrong[0] in one.real:
                free = [other for other in every if not (other.real.keys() & one.real.keys() & needs.keys())]
                left = tuple(unit for unit in wrong if unit not in one.real)
                for rest in _covers(left, free, needs, count - 1):
                    yield one, *rest


def _check(one: Explanation, likely: Sequence[Explanation], asked: Asked, needs: Needs) -> Next | None:
    """The unit to ask for whose answer differs from that under most of the other explanations."""
    concerned = dict.fromkeys(unit for each in likely for unit in each.real)
    others = [each.real for each in likely if each is not one]
    known = {ask for own in needs.values() for ask in own}
    best, most = None, 0
    for ask in dict.fromkeys((*concerned, *_partners(likely, asked))):
        if ask in known:
            continue
        mine = _lit(one.real, concerned, ask, asked)
        differs = sum(_lit(other, concerned, ask, asked) != mine for other in others)
        if differs > most or (best is None and not others):
            best, most = Next(ask, mine), differs
        if most == len(others):
            break
    return best


def _partners(likely: Iterable[Explanation], asked: Asked) -> Iterator[str]:
    """Units that are patched where one in question would really listen."""
    at = {(f.universe, f.address): f.id for f in asked.fixtures.values()}
    for each in likely:
        yield from (at[u.universe, u.address] for u in each.real.values() if (u.universe, u.address) in at)


def _lit(real: Mapping[str, Fixture], concerned: Iterable[str], ask: str, asked: Asked) -> frozenset[str]:
    return frozenset(unit for unit in concerned if asked.lights(real.get(unit, asked.fixtures[unit]), ask))
