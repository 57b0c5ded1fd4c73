"""What a list shows of a profile, without the whole of it."""

import re
from dataclasses import dataclass

from server.rig.profile import Profile

__all__ = ["Listed", "bare", "listed", "words_in", "words_of"]

FOOTPRINT = re.compile(r"(?<!\S)(\d{1,3})[\s-]?slots?(?!\S)")


@dataclass(frozen=True, slots=True)
class Listed:
    """A profile in a list. modes: name and slots of all start addresses. revised: of the file it is from."""

    key: str
    name: str
    short_name: str
    maker: str
    kind: str
    modes: tuple[tuple[str, int], ...]
    revised: str = ""


def listed(profile: Profile) -> Listed:
    """The few words of a profile."""
    modes = tuple((mode.name, sum(mode.footprints.values())) for mode in profile.modes)
    revised = profile.source.revised if profile.source else ""
    return Listed(profile.key, profile.name, profile.short_name, profile.maker, profile.kind, modes, revised)


def words_of(profile: Profile) -> tuple[str, str]:
    """What a search looks at, in one case: names with a blank before each word, then everything else."""
    modes = " ".join(f"{name} {slots}-slot" for name, slots in listed(profile).modes)
    names = f" {profile.name} {profile.short_name} {profile.key} ".casefold()
    return names, f" {profile.maker} {profile.kind} {modes} {profile.notes}".casefold()


def words_in(search: str) -> list[str]:
    """What somebody looks for, word by word, in one case. A footprint is one: "26 slots" is " 26-slot"."""
    text = search.casefold()
    slots = [f" {number}-slot" for number in FOOTPRINT.findall(text)]
    return [*FOOTPRINT.sub(" ", text).split(), *slots]


def bare(text: str) -> str:
    """Letters and digits only, in one case: how names are compared."""
    return re.sub(r"[\W_]", "", text.casefold())
