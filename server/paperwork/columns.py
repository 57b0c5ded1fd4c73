"""The columns of a hookup sheet: which heading means what, and what may stand in a cell."""

import re
from collections.abc import Collection, Mapping, Sequence
from itertools import count
from types import MappingProxyType

from server.paperwork.library import Library
from server.paperwork.listed import bare
from server.rig.place import Start
from server.rig.profile import Mode, Profile
from server.rig.universe import SLOTS, UNIVERSE_LAST, split_absolute

__all__ = [
    "FIELDS",
    "NONE",
    "address_in",
    "channel_in",
    "fields_of",
    "mode_in",
    "number_in",
    "profile_in",
    "starts_in",
    "yes_in",
]

NONE: Mapping[str, str] = MappingProxyType({})
# By field, the headings seen in the trade's paperwork, letters and digits only; the first wins. English, then
# German (its umlauts also as people type them without).
FIELDS: dict[str, tuple[str, ...]] = {
    "channel": (
        "channel", "channelnumber", "channelno", "chan", "chn", "ch", "fixtureid", "fixturenumber",
        "kanal", "kanalnummer", "kanalnr", "kreis", "kreisnummer", "kreisnr", "gerätenummer", "geraetenummer",
    ),
    "unit": (
        "unit", "unitnumber", "unitno", "unitnr", "unitnum", "hangnumber",
        "einheit", "nummer", "nr", "lfdnr", "platz", "hängenummer", "haengenummer",
    ),
    "position": (
        "position", "hangingposition", "hangposition", "location", "pos", "bar",
        "hängeposition", "haengeposition", "hängepunkt", "haengepunkt", "hängeort", "haengeort", "ort",
        "standort", "zug", "stange", "brücke", "bruecke",
    ),
    "purpose": (
        "purpose", "focus", "use", "area", "function",
        "zweck", "verwendung", "einsatz", "fokus", "funktion", "bereich",
    ),
    "profile": (
        "profile", "type", "fixturetype", "instrumenttype", "unittype", "instrument", "luminaire",
        "lantern", "fixture", "device",
        "profil", "typ", "gerätetyp", "geraetetyp", "scheinwerfertyp", "gerät", "geraet", "scheinwerfer",
        "leuchte",
    ),
    "mode": (
        "mode", "dmxmode", "fixturemode", "personality",
        "modus", "dmxmodus", "betriebsart", "gerätemodus", "geraetemodus",
    ),
    "universe": ("universe", "univ", "uni", "dmxuniverse", "universum", "dmxuniversum", "linie", "dmxlinie"),
    "address": (
        "address", "dmxaddress", "startaddress", "universeaddress", "addr", "dmxaddr", "start",
        "dmxstart", "patch", "dmx", "absoluteaddress", "absolute",
        "adresse", "dmxadresse", "startadresse", "dmxkanal", "absoluteadresse", "absolut",
    ),
    "starts": ("otheraddresses", "otherstarts", "furtheraddresses", "weitereadressen"),
    "house": ("house", "housefixture", "houserig", "haus", "hausgerät", "hausgeraet"),
    "guarded": ("guarded", "gesichert"),
    "work_light": ("worklight", "workinglight", "worklights", "arbeitslicht"),
    "notes": (
        "notes", "note", "remarks", "remark", "comments", "comment",
        "notizen", "notiz", "bemerkungen", "bemerkung", "anmerkungen", "anmerkung", "hinweise", "hinweis",
    ),
    "footprint": (
        "footprint", "slots", "dmxfootprint", "dmxslots", "kanalzahl", "kanalanzahl", "anzahlkanäle",
        "anzahlkanaele",
    ),
}  # fmt: skip
# What follows from the rest.
COUNTED = {
    "end", "endaddress", "absolute", "absoluteaddress", "ende", "endadresse", "absolut", "absoluteadresse",
}  # fmt: skip
WORDS_MOST = 8  # of a type that nobody knows, to look for what comes near: a cell may hold 40,000
YES = {"yes", "y", "x", "1", "true", "on", "✓", "✔", "ja", "j", "wahr"}
NO = {"", "no", "n", "0", "false", "off", "-", "–", "nein", "falsch"}


def fields_of(headings: Sequence[str], by_hand: Mapping[str, str] = NONE) -> dict[int, str]:
    """Field by column number. A heading that means nothing to us keeps its own words behind a colon.

    Columns that only repeat what follows from the others are left out. Of two of one name the second gets a
    number. by_hand: fields by heading, as a person has said; "" for a column that is none of the fields.
    """
    said = {bare(heading) or heading.strip(): field for heading, field in by_hand.items()}
    names = [bare(heading) or heading.strip() for heading in headings]
    found = {n: said[name] for n, name in enumerate(names) if said.get(name)}
    for field, known in FIELDS.items():
        if field not in found.values():
            column = next((names.index(k) for k in known if k in names and k not in said), None)
            if column is not None and column not in found:
                found[column] = field
    others: dict[int, str] = {}
    for n, heading in enumerate(headings):
        if n not in found and heading.strip() and names[n] not in COUNTED:
            others[n] = _unlike(f":{heading.strip()}", others.values())
    return others | found


def _unlike(heading: str, others: Collection[str]) -> str:
    numbered = (heading if n == 1 else f"{heading} {n}" for n in count(1))
    return next(each for each in numbered if each not in others)


def number_in(text: str, what: str) -> int | None:
    """A whole number from 1, None for an empty cell. Raises ValueError with a sentence."""
    digits = _digits(text)
    if digits in NO:
        return None
    if not re.fullmatch(r"[0-9]{1,6}", digits) or int(digits) == 0:
        raise ValueError(f'{what} "{text}" is not a whole number from 1')
    return int(digits)


def channel_in(text: str) -> int | None:
    """A channel: the same, and 0, which a fixture may answer to."""
    return 0 if _digits(text) == "0" else number_in(text, "channel")


def _digits(text: str) -> str:
    # A spreadsheet writes the whole number 101 as 101.0, or 101,0.
    return re.sub(r"[.,]0+$", "", text.strip().strip("()#"))


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


def mode_in(text: str, profile: Profile, footprint: str = "") -> Mode:
    """The mode a cell means: by name, by number of slots, or the only one there is.

    footprint: what another cell says of its slots, if anything: it has to agree.
    Raises ValueError with a sentence that lists the modes.
    """
    slots = number_in(footprint, "footprint")
    mode = _mode_in(text if text.strip() or slots is None else str(slots), profile)
    if slots is not None and slots != mode.footprint:
        others = [m.name for m in profile.modes if m.footprint == slots]
        instead = f' ("{others[0]}" has)' if others else ""
        raise ValueError(f'mode "{mode.name}" has {mode.footprint} slots, not {slots}{instead}')
    return mode


def _mode_in(text: str, profile: Profile) -> Mode:
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
