"""The rules for taking another show in place of this one."""

import math
from collections.abc import Mapping
from dataclasses import replace

from server.rig.patch import spoken
from server.rig.said import Said
from server.stage import commands, events
from server.stage.carried import Carried, Vetted
from server.stage.decide import LONGEST_FAULT, Answer, Rules, allow, answer
from server.stage.decide_focus import is_call, is_focus
from server.stage.decide_patch import change_patch
from server.stage.decide_photo import LARGEST_PHOTO, MOST_OCTETS
from server.stage.decide_show import LIMITS, MOST_LOOKS, MOST_STARS, is_name
from server.stage.found import Photo
from server.stage.holds import Refused
from server.stage.looks import keepable
from server.stage.near import names
from server.stage.state import State

__all__ = ["LONGEST_NAME", "vet"]

LONGEST_NAME = 200  # of a show or a venue; what a page shows in one line or two
LEAST_FADE_S = 2.0  # also where the show's own fade is none: the whole rig never changes in a snap
DAMAGED = Refused(Said("The show is damaged: what is in it does not fit together. Nothing was changed."))


def vet(brought: Carried, rules: Rules) -> Vetted | Refused:
    """Whether that show can come in under these rules, whatever is here now; without what no look may hold.

    Takes seconds for the largest rigs, and looks at nothing that changes: for a thread.
    """
    if not _fits_together(brought):
        return DAMAGED
    if len(brought.looks) > MOST_LOOKS:
        return Refused(Said("A show holds up to {most} looks.", most=MOST_LOOKS))
    # The same checks as for fixtures patched one by one, on a rig where nothing is yet.
    put = tuple(brought.fixtures.values())
    command = commands.ChangePatch("", put, (), tuple(brought.profiles.values()), even_so=True)
    patched = change_patch(State(), command, rules)
    if isinstance(patched, Refused):
        return replace(patched, fixture=None)  # it is not one of the rig's
    return Vetted(_without_wild_values(brought))


@answer.register
def _(command: commands.ReplaceShow, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead") or _touched(state):
        return refused
    fade_s = max(LEAST_FADE_S, state.settings.let_go_s)
    return [events.ShowReplaced(command.person, command.vetted.brought, fade_s)]


def _touched(state: State) -> Refused | None:
    if state.aloft:
        who = names(state, state.aloft)
        return Refused(
            Said("Somebody is aloft ({names}): another show comes in once they are down.", names=who)
        )
    for fixture in state.out_of_use:
        unit = spoken(state.fixtures[fixture])
        why = Said("{unit} is out of use: another show comes in once it is back.", unit=unit)
        return Refused(why, fixture)
    for fixture in state.hands_on:
        return Refused(
            Said(
                "Hands are on {unit}: another show comes in once they are off.",
                unit=spoken(state.fixtures[fixture]),
            ),
            fixture,
        )
    return None


def _fits_together(brought: Carried) -> bool:
    """Whether every name leads somewhere, and every value is one that could have been set here."""
    for kept, key in ((brought.profiles, "key"), (brought.fixtures, "id"), (brought.looks, "id")):
        if any(getattr(each, key) != name for name, each in kept.items()):
            return False
    settings = [(name, getattr(brought.settings, name)) for name in LIMITS]
    return (
        len(set(brought.order)) == len(brought.order)
        and brought.fixtures.keys() >= set(brought.order) | brought.faults.keys() | brought.focus.keys()
        and (brought.baseline is None or brought.baseline in brought.looks)
        and len(set(brought.stars)) == len(brought.stars) <= MOST_STARS
        and all(len(key) <= LONGEST_NAME for key in brought.stars)
        and all(is_name(look.name) and _in_range(look.values, brought) for look in brought.looks.values())
        and is_call(brought.call)
        and all(is_focus(focus) for focus in brought.focus.values())
        and _in_range({f: focus.values for f, focus in brought.focus.items()}, brought)
        and all(1 <= len(fault.words) <= LONGEST_FAULT for fault in brought.faults.values())
        and all(_proper(name, photo) for name, photo in brought.photos.items())
        and sum(photo.octets for photo in brought.photos.values()) <= MOST_OCTETS
        and all(len(text) <= LONGEST_NAME for text in (brought.show.name, brought.show.venue))
        and all(math.isfinite(v) and LIMITS[n][0] <= v <= LIMITS[n][1] for n, v in settings)
    )


def _proper(name: str, photo: Photo) -> bool:
    known = len(name) <= LONGEST_NAME and len(photo.name) <= LONGEST_NAME and math.isfinite(photo.at)
    return known and name.isalnum() and 1 <= photo.octets <= LARGEST_PHOTO


def _in_range(kept: Mapping[str, Mapping[str, int]], brought: Carried) -> bool:
    state = State(profiles=brought.profiles, fixtures=brought.fixtures)
    for fixture, values in kept.items():
        mode = state.mode(fixture)
        for control in mode.controls if mode else ():
            if not 0 <= values.get(control.key, 0) <= control.maximum:
                return False
    return True


def _without_wild_values(brought: Carried) -> Carried:
    """A look never puts a lamp out and never strobes, whoever wrote it, and nor does what was focused."""
    state = State(profiles=brought.profiles, fixtures=brought.fixtures)
    looks = {look.id: replace(look, values=keepable(state, look.values)) for look in brought.looks.values()}
    kept = keepable(state, {f: focus.values for f, focus in brought.focus.items()})
    focus = {f: replace(each, given=None, values=kept.get(f, {})) for f, each in brought.focus.items()}
    return replace(brought, looks=looks, focus=focus)
