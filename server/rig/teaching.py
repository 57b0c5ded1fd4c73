"""Finding out what the slots of an unknown fixture do: what to try next, and what the answers mean.

One walk through the slots, written as it is done by hand. It is run again from the first answer whenever
something is asked of it: the answers alone are what is known.
"""

from collections.abc import Generator, Iterable, Mapping
from dataclasses import dataclass, field

from server.rig.stepping import SHUTTER, STEPPED, Piece, stepping

__all__ = ["DANGERS", "FLAME", "LIGHTS", "PROBE", "Step", "Taught", "Unfit", "teach", "walk"]

PROBE = 64  # a quarter: so far a slot is raised that nobody knows
GROUPS = (32, 64, 16)  # all the quiet ones together: a shutter is open somewhere below the probing level
FULL = 255
SHORT_S = 3.0  # a slot that has shown nothing goes to full no longer: what resets or douses asks for more
LONG_S = 10.0
LIGHTS = ("white", "red", "green", "blue", "amber", "lime", "cyan", "indigo", "ultraviolet", "warm", "cold")
FLAME = "flame"
# What is never tried again once it has been seen, by the reason it is guarded for.
DANGERS = {
    "smoke": "fog",
    "haze": "haze",
    "fan": "fan",
    "lamp": "lamp",
    "reset": "control",
    "spun": "other",
    "leave": "other",
}
FINE = (
    *LIGHTS, "on", "part", "sideways", "updown", "size", "edge", "iris", "frost", "less_red", "less_green",
    "less_blue", "warmer", "picture_turns", "multiplied_turns", "blade_turns", "frame_turns",
)  # fmt: skip
TURNED = ("picture", "blade", "blade_other", "saturation")  # what has to be in for something else to be seen
SEEN = (
    "nothing", *LIGHTS, "on", "part", "dark", "flickers", "sideways", "updown", "size", "edge", "iris",
    "frost", "blade", "blade_other", "blade_turns", "frame_turns", "colour", "less_red", "less_green",
    "less_blue", "warmer", "tint", "hue", "saturation", "picture", "picture_turns", "multiplied",
    "multiplied_turns", "effect", *DANGERS, FLAME, "else",
)  # fmt: skip


class Unfit(ValueError):
    """An answer that is none of the choices."""


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to try. ask: the question by name; slot: which it is about, 0 for several together.

    looks: what the slots carry while the button is held, one after the other, by slot from 1; those not named
    carry 0. caution: what it might be, by name. most_s: how long it is held at the most. at: the level in
    question. Of the choices, `fine 3` says that it moves what slot 3 moves, by a hair.
    """

    ask: str
    slot: int
    looks: tuple[Mapping[int, int], ...]
    choices: tuple[str, ...]
    caution: str = ""
    most_s: float = LONG_S
    at: int = PROBE


@dataclass(slots=True)
class Taught:
    """What is known of each slot from 1: what was seen, whose fine part it is, and its pieces."""

    slots: int
    seen: dict[int, str] = field(default_factory=dict)
    alone: set[int] = field(default_factory=set)  # gives light with nothing else up
    opens: set[int] = field(default_factory=set)  # without it there is no light
    fine: dict[int, int] = field(default_factory=dict)  # fine slot by coarse
    pieces: dict[int, list[Piece]] = field(default_factory=dict)
    flame: bool = False
    group: int = PROBE  # the level at which all together gave light

    def those(self, kinds: Iterable[str]) -> list[int]:
        """The slots of which one of these was seen, in order."""
        return [slot for slot in range(1, self.slots + 1) if self.seen.get(slot) in tuple(kinds)]

    @property
    def quiet(self) -> list[int]:
        """The slots of which nothing was seen yet, in order."""
        return [s for s in self.those(("nothing",)) if s not in self.fine.values()]

    def light(self, level: int = 0) -> dict[int, int]:
        """Slots that make light when up, as levels: what else is tried is seen in it."""
        if self.alone:
            return dict.fromkeys(self.alone, level or PROBE)
        lit = dict.fromkeys(self.those((*LIGHTS, "part")), level or self.group)
        return lit | {s: self.open_at(s, level) for s in self.opens}

    def open_at(self, slot: int, level: int) -> int:
        """The level at which a slot that opens the light does so."""
        if self.seen[slot] == "on":
            return level or self.group
        steady = [p for p in self.pieces.get(slot, ()) if p.seen == "light"]
        return (steady[0].first + steady[0].last) // 2 if steady else self.group


Walk = Generator[Step, str, None]


def teach(slots: int, answers: Iterable[str]) -> tuple[Step | None, Taught]:
    """The next thing to try after these answers, None when all is known; and what is known so far.

    Raises Unfit: an answer is none that was offered.
    """
    taught = Taught(slots)
    lesson = walk(taught)
    step = next(lesson, None)
    for answer in answers:
        if step is None or answer not in step.choices:
            raise Unfit(answer)
        try:
            step = lesson.send(answer)
        except StopIteration:
            step = None
    return step, taught


def walk(taught: Taught) -> Walk:
    """Step after step, each sent its answer, until all is known; what is known goes into `taught`."""
    yield from _one_by_one(taught)
    if not taught.flame:
        yield from _together(taught)
    if not taught.flame:
        yield from _which_opens(taught)
        yield from _steps(taught, SHUTTER)
        yield from _again(taught, dict.fromkeys(taught.those(TURNED), PROBE))
        yield from _again(taught, dict.fromkeys(taught.those(("multiplied",)), PROBE))
    if not taught.flame:
        yield from _fine(taught)
        yield from _steps(taught, STEPPED)


def _look(taught: Taught, slot: int, before: Mapping[int, int], level: int = PROBE) -> Walk:
    """Raise one slot a little, with what is known to make light around it, and keep what was seen."""
    around = {s: v for s, v in before.items() if s != slot}
    looks = ({**around}, {**around, slot: level}) if around else ({slot: level},)
    seen = yield Step("seen", slot, looks, SEEN, "unknown", at=level)
    taught.seen[slot] = seen
    taught.flame |= seen == FLAME
    if seen in LIGHTS and not around:
        taught.alone.add(slot)


def _one_by_one(taught: Taught) -> Walk:
    """Each slot alone: who gives light by itself, moves, or can hurt."""
    for slot in range(1, taught.slots + 1):
        yield from _look(taught, slot, {})
        if taught.flame:
            return


def _together(taught: Taught) -> Walk:
    """What shows only in light; where nothing gave any, all the quiet ones together are tried for some."""
    quiet = taught.quiet
    if taught.alone:
        for slot in quiet:
            yield from _look(taught, slot, taught.light())
    elif len(quiet) > 1:
        for level in GROUPS:
            together = dict.fromkeys(quiet, level)
            choices = ("nothing", "on", "flickers")
            answer = yield Step("light", 0, (together,), choices, "unknown", at=level)
            if answer != "nothing":
                taught.group = level
                yield from _without(taught, together, answer == "flickers")
                return


def _without(taught: Taught, together: dict[int, int], flickers: bool) -> Walk:
    """They give light together: what each adds to the others."""
    if flickers:
        yield from _steadied(taught, together)
    for slot in list(together):
        yield from _look(taught, slot, together, taught.group)
        if taught.flame:
            return
        if taught.seen[slot] in ("flickers", "dark", *DANGERS):
            del together[slot]
        elif taught.seen[slot] == "on":
            taught.opens.add(slot)


def _steadied(taught: Taught, together: dict[int, int]) -> Walk:
    """One of them makes it flash: leave out each in turn, until the light stands still."""
    for slot in list(together):
        without = {s: level for s, level in together.items() if s != slot}
        answer = yield Step("without", slot, (without,), ("flickers", "on", "nothing"), at=0)
        if answer == "on":
            taught.seen[slot] = "flickers"
            del together[slot]
            return


def _again(taught: Taught, put_in: dict[int, int]) -> Walk:
    """The quiet ones once more, with a picture, a blade or a prism in: what turns them shows only now."""
    if not put_in or not taught.light():
        return
    for slot in taught.quiet:
        if not taught.flame:
            yield from _look(taught, slot, {**taught.light(), **put_in})


def _which_opens(taught: Taught) -> Walk:
    """Two slots that both have to be up: the intensity is the one that makes it brighter."""
    if len(taught.opens) < 2:
        return
    for slot in sorted(taught.opens):
        around = taught.light()
        looks = ({**around, slot: taught.group - 4}, {**around, slot: taught.group + 14})
        answer = yield Step("brighter", slot, looks, ("brighter", "same", "flickers"), at=taught.group + 14)
        if answer != "brighter":
            taught.seen[slot] = "flickers"


def _fine(taught: Taught) -> Walk:
    """A quiet slot after one that goes smoothly may be its fine part: full, it moves that one by a hair."""
    for slot in list(taught.quiet):
        free = [s for s in (slot - 1, slot - 2) if _refined(taught, s)]
        # Pan, tilt, and the fine parts of both after them: the one before may be a fine part already.
        if not free or (slot - 1 not in free and slot - 1 not in taught.fine.values()):
            continue
        around = taught.light(FULL)
        around |= {s: 0 if taught.seen[s] in (*LIGHTS, "on", "part") else PROBE for s in free}
        if any(taught.seen[s].endswith("_turns") for s in free):
            around |= dict.fromkeys(taught.those((*TURNED, "multiplied")), PROBE)
        if all(taught.seen[s] in LIGHTS for s in free):
            around |= dict.fromkeys(taught.those(LIGHTS), 0)
        looks = (around, {**around, slot: FULL})
        choices = ("nothing", *(f"fine {s}" for s in free), *DANGERS, "else")
        answer = yield Step("hair", slot, looks, choices, "hidden", SHORT_S, FULL)
        if answer.startswith("fine "):
            taught.fine[int(answer[5:])] = slot
        elif answer in DANGERS:
            taught.seen[slot] = answer


def _refined(taught: Taught, slot: int) -> bool:
    return taught.seen.get(slot) in FINE and slot not in taught.fine


def _steps(taught: Taught, kinds: tuple[str, ...]) -> Walk:
    """What goes in steps, from end to end."""
    for slot in taught.those(kinds):
        if slot in taught.pieces:
            continue
        kind = taught.seen[slot]
        around = taught.light()
        around.pop(slot, None)
        pieces = stepping(kind)
        ask = next(pieces)
        while True:
            looks = tuple({**around, slot: level} for level in ask.levels)
            answer = yield Step(ask.ask, slot, looks, ask.choices, "sweep", at=ask.at)
            try:
                ask = pieces.send(answer)
            except StopIteration as end:
                taught.pieces[slot] = end.value
                break
