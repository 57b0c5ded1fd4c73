"""What is handed over, as far as it is compared the next time: units, faults, looks. One small JSON file."""

import hashlib
import json
from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from server.rig.patch import starts_of
from server.rig.plan import by_hanging
from server.rig.said import Said
from server.stage.cases import case_of
from server.stage.state import Look, State

__all__ = [
    "PACK_MOST",
    "FaultThen",
    "LookThen",
    "NotAPackError",
    "Pack",
    "UnitThen",
    "checksum",
    "label",
    "pack_of",
    "read_pack",
    "write_pack",
]

PACK_MOST = 8 * 2**20  # octets; 500 units in 100 looks take 2 MB
UNITS_MOST, LOOKS_MOST = 10_000, 2000
Text = Annotated[str, Field(max_length=4000)]
Short = Annotated[str, Field(max_length=300)]
Id = Annotated[str, Field(min_length=1, max_length=64)]
Sum = Annotated[str, Field(pattern="^[0-9a-f]{12}$")]


class NotAPackError(ValueError):
    """What came is no hand-over pack; `why` says so to who brought it."""

    def __init__(self, why: Said) -> None:
        super().__init__(why)
        self.why = why


class _Part(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)


class UnitThen(_Part):
    """A unit as it was. type: its profile's name. starts: "universe/address" of each start address."""

    id: Id
    channel: Annotated[int, Field(ge=0, le=10**9)] | None
    unit: Short
    position: Short
    purpose: Short
    type: Short
    mode: Short
    starts: Annotated[list[Annotated[str, Field(pattern="^[0-9]{1,5}/[0-9]{1,3}$")]], Field(max_length=64)]


class FaultThen(_Part):
    """A fault that was not over. fixture: an id; status: open, or fixed and still to be seen."""

    fixture: Id
    words: Text
    status: Literal["open", "fixed"]


class LookThen(_Part):
    """A look by its name. units: a checksum of what it asks of each unit, by id."""

    name: Short
    units: Annotated[dict[Id, Sum], Field(max_length=UNITS_MOST)]


class Pack(_Part):
    """All that is compared. at: wall-clock seconds. by: who made it."""

    focuscall: Literal["hand-over"] = "hand-over"
    version: Literal[1] = 1
    at: Annotated[float, Field(ge=0, le=4e9)]
    show: Short
    venue: Short
    by: Short
    units: Annotated[list[UnitThen], Field(max_length=UNITS_MOST)]
    faults: Annotated[list[FaultThen], Field(max_length=UNITS_MOST)]
    looks: Annotated[list[LookThen], Field(max_length=LOOKS_MOST)]

    @model_validator(mode="after")
    def _once_each(self) -> "Pack":
        ids = [unit.id for unit in self.units]
        if len(set(ids)) != len(ids) or not {fault.fixture for fault in self.faults} <= set(ids):
            raise ValueError("units are named twice or not at all")
        return self


def pack_of(state: State, at: float, by: str) -> Pack:
    """What a state hands over at that moment; looks of the same name count once, the newest of them."""
    units = list(by_hanging(state.fixtures.values()))
    return Pack(
        at=at,
        show=state.show.name,
        venue=state.show.venue,
        by=by,
        units=[
            UnitThen(
                id=unit.id,
                channel=unit.channel,
                unit=unit.unit,
                position=unit.position,
                purpose=unit.purpose,
                type=profile.name if (profile := state.profiles.get(unit.profile)) else unit.profile,
                mode=unit.mode,
                starts=[f"{start.universe}/{start.address}" for start in starts_of(unit)],
            )
            for unit in units
        ],
        faults=[fault for unit in units if (fault := _fault(state, unit.id))],
        looks=[_look(state, look) for look in {look.name: look for look in state.looks.values()}.values()],
    )


def _fault(state: State, fixture: str) -> FaultThen | None:
    case, said = case_of(state, fixture), state.faults.get(fixture)
    if said is not None:
        return FaultThen(fixture=fixture, words=said.words, status="open")
    if case is None:
        return None
    return FaultThen(fixture=fixture, words=case.words, status="open" if case.status == "open" else "fixed")


def _look(state: State, look: Look) -> LookThen:
    there = {fixture: raws for fixture, raws in look.values.items() if fixture in state.fixtures}
    return LookThen(name=look.name, units={fixture: checksum(raws) for fixture, raws in there.items()})


def checksum(values: Mapping[str, Any]) -> str:
    """Twelve hexadecimal digits of the SHA-256 of raw values, whatever order they come in."""
    plain = json.dumps(values, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(plain.encode()).hexdigest()[:12]


def label(unit: UnitThen) -> str:
    """What a person calls it: its channel, and where it hangs."""
    place = ", ".join(part for part in (unit.position, unit.unit) if part)
    if unit.channel is None:
        return place or unit.id
    return f"{unit.channel} ({place})" if place else str(unit.channel)


def write_pack(pack: Pack) -> bytes:
    """As it lies in the zip and in the data folder."""
    return pack.model_dump_json(indent=1).encode()


def read_pack(data: bytes) -> Pack:
    """What `write_pack` made. Raises NotAPackError, and nothing else, for any octets."""
    if len(data) > PACK_MOST:
        raise NotAPackError(Said("This hand-over pack holds more than one can."))
    try:
        return Pack.model_validate_json(data)
    except (ValidationError, ValueError, RecursionError):
        raise NotAPackError(Said("This is not a hand-over pack of focuscall.")) from None
