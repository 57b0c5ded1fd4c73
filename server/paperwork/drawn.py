"""The units of a drawing as rows of a rig file: which profile and mode each means, and what stays unsaid."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from server.paperwork.csv import Row, Sheet, Unread
from server.paperwork.identity import type_id
from server.paperwork.library import Library
from server.paperwork.listed import bare
from server.paperwork.mvr import UNDRAWN, Unit
from server.paperwork.problems import Problem
from server.rig.place import Placed, Start
from server.rig.profile import Mode, Profile

__all__ = ["Types", "rows_of", "unit_from"]

# What no drawing says, and a person may have: it stays.
UNSAID = frozenset({"house", "work_light", "notes", "more"})


def unit_from(given: Mapping[str, Any]) -> Unit:
    """A unit as the reading process tells it."""
    placed = given["placed"]
    inverted = given["inverted"]
    return Unit(
        **{
            **given,
            "placed": Placed(**{**placed, "rotation": tuple(placed["rotation"])}),
            "addresses": tuple((number, universe, slot) for number, universe, slot in given["addresses"]),
            "inverted": None if inverted is None else tuple(inverted),
        }
    )


@dataclass(slots=True)
class Types:
    """The fixture types that a drawing's units name. new: embedded profiles that are to be added, by key."""

    library: Library
    known: Mapping[str, Profile]
    embedded: Mapping[str, Profile]
    problems: Mapping[str, str]
    new: dict[str, Profile]

    def meant(self, unit: Unit) -> Profile:
        """The profile: the show's own copy of the same type first, then the one embedded, then by its name.

        Raises ValueError with a sentence.
        """
        inside = self.embedded.get(unit.spec)
        if inside is not None:
            return self._own(inside, unit.mode) or self._added(inside)
        if unit.spec in self.problems:
            raise ValueError(f"its type {unit.spec} cannot be used: {self.problems[unit.spec]}")
        if not unit.spec:
            raise ValueError("no type is given (GDTFSpec)")
        maker, _, name = unit.spec.removesuffix(".gdtf").rpartition("@")
        key = self.library.called(name) or self.library.called(f"{maker} {name}")
        found = None if key is None else self.library.get(key)
        if found is None:
            raise ValueError(f"its type {unit.spec} is neither in the file nor in the library: add it first")
        return found

    def _own(self, inside: Profile, mode: str) -> Profile | None:
        wanted = type_id(inside).casefold()
        for profile in (*self.known.values(), *self.new.values(), *self.library.at_hand.values()):
            if type_id(profile).casefold() == wanted:
                mine, theirs = profile.mode(mode), inside.mode(mode)
                if mine is not None and (theirs is None or mine.footprints == theirs.footprints):
                    return profile
        return None

    def _added(self, profile: Profile) -> Profile:
        there = self.known.get(profile.key) or self.new.get(profile.key)
        if there is not None and there != profile and profile.source:
            profile = replace(profile, key=f"{profile.key[:70]}-{profile.source.sha256[:8]}")
        self.new[profile.key] = profile
        return profile


def rows_of(units: Iterable[Unit], types: Types) -> tuple[Sheet, list[Problem]]:
    """A row for each unit, a problem for each that cannot be one; and what of the others is not kept."""
    sheet = Sheet([], [])
    left_out: list[Problem] = []
    for unit in units:
        try:
            profile = types.meant(unit)
            sheet.rows.append(_row(unit, profile, _mode(unit, profile), left_out))
        except ValueError as wrong:
            sheet.problems.append(Problem(unit.where, str(wrong)))
            sheet.unread.append(_unread(unit))
    return sheet, left_out


def _unread(unit: Unit) -> Unread:
    number, position = unit.number or "", unit.position or ""
    row = Row(unit.channel, number, position, "", "", "", None, None, placed=unit.placed, where=unit.where)
    named = unit.channel is not None or bool(number and position)
    return Unread(row, named or bool(unit.placed.uuid))


def _mode(unit: Unit, profile: Profile) -> Mode:
    same = [m for m in profile.modes if m.name == unit.mode] or [
        m for m in profile.modes if bare(m.name) == bare(unit.mode)
    ]
    if not unit.mode and len(profile.modes) == 1:
        same = list(profile.modes)
    if len(same) == 1:
        return same[0]
    names = ", ".join(f'"{m.name}"' for m in profile.modes)
    raise ValueError(f'{profile.name} has no mode "{unit.mode}"; it has {names}')


def _row(unit: Unit, profile: Profile, mode: Mode, left_out: list[Problem]) -> Row:
    places = {number: (universe, slot) for number, universe, slot in unit.addresses}
    beyond = sorted(places.keys() - mode.footprints.keys())
    left_out += [Problem(unit.where, f'"{mode.name}" has no start address {number}') for number in beyond]
    universe, address = places.get(1, (None, None))
    said = {
        "channel": unit.channel,
        "unit": unit.number,
        "position": unit.position,
        "purpose": unit.purpose,
        "inverted": unit.inverted,
        "guarded": unit.guarded or None,
    }
    turned = [c.key for c in mode.controls if c.attribute in (unit.inverted or ())]
    return Row(
        channel=unit.channel,
        unit=unit.number or "",
        position=unit.position or "",
        purpose=unit.purpose or "",
        profile=profile.key,
        mode=mode.name,
        universe=universe,
        address=address,
        guarded=unit.guarded,
        notes=f"Fixture ID: {unit.ident}" if unit.ident else "",
        starts=tuple(Start(n, *places[n]) for n in sorted(places) if n in mode.further),
        inverted=tuple(turned),
        placed=unit.placed,
        silent=UNSAID
        | {name for name, value in said.items() if value is None}
        | ({"placed"} if unit.placed.layer == UNDRAWN else set()),
        where=unit.where,
    )
