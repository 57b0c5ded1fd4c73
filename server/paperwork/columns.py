"""The columns of a hookup sheet: which heading means what, and what may stand in a cell."""

import re
from collections.abc import Sequence

from server.paperwork.library import Library
from server.paperwork.listed import bare
from server.rig.place import Start
from server.rig.profile import Mode, Profile
from server.rig.universe import SLOTS, UNIVERSE_LAST, split_absolute

__all__ = ["FIELDS", "address_in", "fields_of", "mode_in", "number_in", "profile_in", "starts_in", "yes_in"]

# By field, the headings seen in the trade's paperwork, letters and digits only; the first wins.
FIELDS: dict[str, tuple[str, ...]] = {
    "channel": ("channel", "channelnumber", "channelno", "chan", "chn", "ch", "fixtureid"),
    "unit": ("unit", "unitnumber", "unitno", "unitnr"),
    "position": ("position", "hangingposition", "hangposition", "location", "pos", "bar"),
    "purpose": ("purpose", "focus", "use", "area", "function"),
    "profile": (
        "profile", "type", "fixturetype", "instrumenttype", "unittype", "instrument", "luminaire",
        "lantern", "fixture", "device",
    ),
    "mode": ("mode", "dmxmode", "fixturemode", "personality"),
    "universe": ("universe", "univ", "uni", "dmxuniverse"),
    "address": (
        "address", "dmxaddress", "startaddress", "universeaddress", "addr", "dmxaddr", "start",
        "dmxstart", "patch", "dmx",
    ),
    "starts": ("otheraddresses", "otherstarts", "furtheraddresses"),
    "house": ("house", "housefixture", "houserig"),
    "guarded": ("guarded",),
    "work_light": ("worklight", "workinglight", "worklights"),
    "notes": ("notes", "note", "remarks", "remark", "comments", "comment"),
}  # fmt: skip
COUNTED = {"end", "endaddress", "footprint", "slots", "absolute", "absoluteaddress"}  # follows from the rest
WORDS_MOST = 8  # of a type that nobody knows, to look for what comes near: a cell may hold 40,000
YES = {"yes", "y", "x", "1", "true", "on", "✓", "✔"}
NO = {"", "no", "n", "0", "false", "off", "-", "–"}


def fields_of(headings: Sequence[str]) -> dict[int, str]:
    """Field by column number. A heading that means nothing to us keeps its own words behind a colon.

    Columns that only repeat what follows from the others are left out.
    """
    bare = [re.sub(r"[\W_]", "", heading.casefold()) for heading in headings]
    found: dict[int, str] = {}
    for field, names in FIELDS.items():
        column = next((bare.index(name) for name in names if name in bare), None)
        if column is not None:
            found[column] = field
    others = {n: f":{h.strip()}" for n, h in enumerate(headings) if bare[n] and bare[n] not in COUNTED}
    return others | found


def number_in(text: str, what: str) -> int | None:
    """A whole number from 1, None for an empty cell. Raises ValueError with a sentence."""
    bare = text.strip().strip("()#").removesuffix(".0")
    if bare in NO:
        return None
    if not re.fullmatch(r"[0-9]{1,6}", bare) or int(bare) == 0:
        raise ValueError(f'{what} "{text}" is not a whole number from 1')
    return int(bare)


def address_in(universe: str, address: str) -> tuple[int | None, int | None]:
    """Universe and slot, both None when not patched.

    Read are `3` with `101` in columns of their own, `3/101`, `3.101` or `3:101` in one, and an
    absolute address from 1. Raises ValueError with a sentence.
    """
    both = re.fullmatch(r"\s*([0-9]{1,5})\s*[./:]\s*([0-9]{1,3})\s*", address)
    if both and both[2] != "0":  # a spreadsheet writes the whole number 101 as 101.0
        named, slot = int(both[1]), int(both[2])
        if universe.strip() and number_in(universe, "universe") != named:
            raise ValueError(
                f"universe {universe.strip()} and address {address.strip()} contradict each other"
            )
    else:
        given, start = number_in(universe, "universe"), number_in(address, "address")
        if start is None and given is None:
            return None, None
        if start is None:
            raise ValueError(f"universe {given} stands there without an address")
        named, slot = split_absolute(start)
        if given is not None and start > SLOTS and named != given:
            raise ValueError(f"address {start} is not in universe {given}: slots go from 1 to {SLOTS}")
        named = named if given is None else given
    if not (1 <= named <= UNIVERSE_LAST and 1 <= slot <= SLOTS):
        raise ValueError(f"universe {named}, slot {slot} does not exist")
    return named, slot


def starts_in(text: str) -> tuple[Start, ...]:
    """Further start addresses as `2: 3/101; 3: 4.1`: number, universe, slot. Raises ValueError."""
    out = []
    for part in filter(None, (each.strip() for each in text.split(";"))):
        found = re.fullmatch(r"([0-9]{1,2})\s*[:=]\s*([0-9]{1,5})\s*[./]\s*([0-9]{1,3})", part)
        if not found or int(found[1]) < 2:
            raise ValueError(f'other addresses are written as "2: 3/101; 3: 4/1", not "{part}"')
        universe, address = address_in("", f"{found[2]}/{found[3]}")
        if universe is None or address is None:
            raise ValueError(f'"{part}" gives no address')
        out.append(Start(int(found[1]), universe, address))
    return tuple(out)


def yes_in(text: str, what: str) -> bool:
    """Yes or no; an empty cell is no. Raises ValueError with a sentence."""
    bare = text.strip().casefold()
    if bare not in YES | NO:
        raise ValueError(f'{what} is yes or no, not "{text.strip()}"')
    return bare in YES


def profile_in(text: str, library: Library) -> Profile:
    """The profile a cell means: by key, by name, or the only one that holds all its words.

    Raises ValueError with a sentence that names what comes near.
    """
    if not bare(text):
        raise ValueError("the type is missing")
    key = library.called(text)
    found = library.search(text) if key is None else []
    if len(found) == 1:
        key = found[0].key
    if key is not None and (profile := library.get(key)) is not None:
        return profile
    near = found or [p for word in text.split()[:WORDS_MOST] for p in library.search(word)]
    names = ", ".join(dict.fromkeys(p.name for p in near[:4]))
    raise ValueError(f'no one profile is called "{text.strip()}"' + (f" (near: {names})" if names else ""))


def mode_in(text: str, profile: Profile) -> Mode:
    """The mode a cell means: by name, by number of slots, or the only one there is.

    Raises ValueError with a sentence that lists the modes.
    """
    wanted = bare(text)
    fits = [m for m in profile.modes if bare(m.name) == wanted]
    slots = re.fullmatch(r"([0-9]{1,3})(slots?|channels?|ch)?", wanted)
    if not fits and slots:
        fits = [m for m in profile.modes if m.footprint == int(slots[1])]
    if not fits and wanted:
        fits = [m for m in profile.modes if wanted in bare(m.name)]
    if not wanted:
        fits = list(profile.modes)
    if len(fits) == 1:
        return fits[0]
    names = ", ".join(f'"{m.name}"' for m in profile.modes)
    asked = f'no one mode is called "{text.strip()}"' if wanted else "the mode is missing"
    raise ValueError(f"{asked}; {profile.name} has {names}")
