"""What can be wrong with a profile once its words are right: slots, ranges, links, values."""

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise

from server.paperwork.problems import Problem
from server.paperwork.refused import refusal
from server.rig.profile import INTENSITY, Control, Function, Mode, ModeMaster, Profile

__all__ = ["problems_of"]

Colour = tuple[float, float, float]


def problems_of(profile: Profile) -> list[Problem]:
    """Everything wrong with it, in reading order; empty when it may be used.

    After GDTF's meaning (DIN SPEC 15800:2022-02): slots claimed once and all described, functions
    that tile the control, ranges inside functions, links that lead somewhere, values that can be sent.
    """
    named = {profile.name, *(c.attribute for mode in profile.modes for c in mode.controls)}
    return [
        *(Problem("", why) for why in map(refusal, sorted(named)) if why),
        *(Problem(f"mode {n}", "is there twice") for n in _twice(m.name for m in profile.modes)),
        *_colours(profile),
        *(problem for mode in profile.modes for problem in _mode_problems(mode, profile)),
    ]


def _twice(names: Iterator[str]) -> list[str]:
    return [name for name, times in Counter(names).items() if times > 1]


def _colours(profile: Profile) -> Iterator[Problem]:
    given = [(f"emitter {name}", emitter.xyY) for name, emitter in profile.emitters.items()]
    given += [(f"filter {name}", filtered.xyY) for name, filtered in profile.filters.items()]
    given += [(f"wheel {name}, {s.name}", s.xyY) for name, wheel in profile.wheels.items() for s in wheel]
    for where, xyY in given:  # noqa: N806 - CIE's spelling
        # CIE 15: y divides; x + y above 1 would make Z negative.
        if xyY is not None and not (xyY[0] >= 0 and xyY[1] > 0 and xyY[0] + xyY[1] <= 1 and xyY[2] >= 0):
            yield Problem(where, f"no light has the colour x {xyY[0]:g}, y {xyY[1]:g}, Y {xyY[2]:g}")


def _mode_problems(mode: Mode, profile: Profile) -> Iterator[Problem]:
    here = f"mode {mode.name}"
    for key in _twice(c.key for c in mode.controls):
        yield Problem(here, f"has {key} twice; number them as GDTF does, or name the cells")
    yield from (Problem(here, why) for why in _slot_problems(mode))
    yield from (Problem(here, why) for why in _multiply_problems(mode))
    for control in mode.controls:
        for why in (*_control_problems(control), *_function_problems(control, mode, profile)):
            yield Problem(f"{here}, {control.key}", why)


def _slot_problems(mode: Mode) -> Iterator[str]:
    for start, footprint in mode.footprints.items():
        controls = [c for c in mode.controls if c.start == start]
        here = f"start address {start}: " if mode.further else ""
        claimed = Counter(slot for c in controls for slot in c.offsets)
        for slot in sorted(s for s, times in claimed.items() if times > 1):
            keys = " and ".join(c.key for c in controls if slot in c.offsets)
            yield f"{here}slot {slot} belongs to {keys}"
        highest = max(claimed, default=0)
        if highest != footprint:
            yield f"{here}the footprint is {footprint}, but the highest slot is {highest}"
        bare = sorted(set(range(1, min(footprint, 512) + 1)) - set(claimed))
        if bare:
            slots = ", ".join(map(str, bare))
            yield f"{here}nothing says what slots {slots} do; write NoFeature for an unused one"
    for control in mode.controls:
        if control.start not in mode.footprints:
            yield f"{control.key} counts from start address {control.start}, which has no footprint"


def _multiply_problems(mode: Mode) -> Iterator[str]:
    keys = {c.key: c for c in mode.controls}
    scaled = Counter(key for followers in mode.multiply.values() for key in followers)
    for master, followers in mode.multiply.items():
        if master not in keys or keys[master].offsets:
            yield f"{master} cannot scale others: only a control without slots can"
        for key in followers:
            if key not in keys or key in mode.multiply:
                yield f"{master} cannot scale {key}"
    for key, times in scaled.items():
        if times > 1:
            yield f"{key} is scaled twice"
    for control in mode.controls:
        if not control.offsets and control.key not in mode.multiply:
            yield f"{control.key} has no slots and scales nothing"


def _control_problems(control: Control) -> Iterator[str]:
    if control.mastered and control.attribute != INTENSITY:
        yield "only an intensity (Dimmer) can follow the master"
    if len(set(control.offsets)) != len(control.offsets) or max(control.offsets, default=0) > 512:
        yield "its slots must be different and at most 512"
    values = {"default": control.default, "home": control.home}
    if control.highlight is not None:
        values["highlight"] = control.highlight
    if control.guard is not None:
        values["guard's safe value"] = control.guard.safe
    for name, raw in values.items():
        at = [f for f in control.functions if f.first <= raw <= f.last]
        if not at:
            yield f"its {name} {raw} lies in no function"
        # The steady values must never set something off; a highlight there is only ignored.
        elif name != "highlight" and any(f.action for f in at):
            yield f"its {name} {raw} would set off {at[0].name}"
        elif name == "home" and any(f.strobes for f in at):
            yield f"its home {raw} would strobe"


def _function_problems(control: Control, mode: Mode, profile: Profile) -> Iterator[str]:
    for function in control.functions:
        for why in _links(function, mode, profile):
            yield f"{function.name}: {why}"
        if function.action and not 0 <= function.action.release <= control.maximum:
            yield f"{function.name}: cannot be released to {function.action.release}"
        elif function.action and function.first <= function.action.release <= function.last:
            yield f"{function.name}: releasing to {function.action.release} would hold it on"
        if function.first > function.last or function.last > control.maximum:
            yield f"{function.name}: {function.first} to {function.last} is not within 0 to {control.maximum}"
        yield from _range_problems(function)
    yield from _tiling_problems(sorted(control.functions, key=lambda f: f.first), control.maximum)


def _tiling_problems(functions: list[Function], maximum: int) -> Iterator[str]:
    reach = -1
    for place, one in enumerate(functions):
        if one.first > reach + 1:
            yield f"nothing says what {reach + 1} to {one.first - 1} does"
        reach = max(reach, one.last)
        for two in functions[place + 1 :]:
            if two.first > one.last:
                break
            if _together(one.mode_master, two.mode_master):
                yield f"{one.name} and {two.name} overlap"
                break
    if reach < maximum:
        yield f"nothing says what {reach + 1} to {maximum} does"


def _together(one: ModeMaster | None, two: ModeMaster | None) -> bool:
    # Two that depend on something else each have their turn; GDTF leaves open which comes first.
    if one is None or two is None or one.control != two.control:
        return one is two
    return one.first <= two.last and two.first <= one.last


def _links(function: Function, mode: Mode, profile: Profile) -> Iterator[str]:
    wheel = profile.wheels.get(function.wheel) if function.wheel is not None else None
    if function.wheel is not None and wheel is None:
        yield f"there is no wheel {function.wheel}"
    if function.emitter is not None and function.emitter not in profile.emitters:
        yield f"there is no emitter {function.emitter}"
    if function.filter is not None and function.filter not in profile.filters:
        yield f"there is no filter {function.filter}"
    for piece in function.ranges:
        if piece.slot is not None and (wheel is None or piece.slot > len(wheel)):
            yield f"{piece.name} means slot {piece.slot} of a wheel that has no such slot"
    if function.mode_master is not None:
        master = mode.control(function.mode_master.control)
        if master is None:
            yield f"depends on {function.mode_master.control}, which this mode does not have"
        elif not 0 <= function.mode_master.first <= function.mode_master.last <= master.maximum:
            yield f"depends on values that {master.key} cannot have"


def _range_problems(function: Function) -> Iterator[str]:
    for piece in function.ranges:
        if not function.first <= piece.first <= piece.last <= function.last:
            yield f"{function.name}: {piece.name} reaches outside it"
    for one, two in pairwise(sorted(function.ranges, key=lambda r: r.first)):
        if two.first <= one.last:
            yield f"{function.name}: {one.name} and {two.name} overlap"
