"""The rig as a JSON file of ours: every field of every fixture, out and in."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from server.paperwork.csv import Row, Sheet, Unread
from server.paperwork.placed import PlacedFields, StartFields
from server.paperwork.problems import Problem
from server.paperwork.refused import refusal
from server.rig.patch import MORE_MOST, Fixture
from server.rig.place import Placed, Start
from server.rig.profile import Profile

__all__ = ["is_json", "read_rig_json", "write_rig_json"]

BYTES_MOST = 16 * 2**20
FIXTURES_MOST = 20_000
PROBLEMS_MOST = 100
Text = Annotated[str, Field(max_length=200)]


class _Part(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", allow_inf_nan=False, str_strip_whitespace=True)


class _FixtureFile(_Part):
    profile: Text
    mode: Text
    channel: Annotated[int, Field(ge=0, le=999_999)] | None = None
    unit: Text = ""
    position: Text = ""
    purpose: Text = ""
    universe: int | None = None
    address: int | None = None
    starts: Annotated[list[StartFields], Field(max_length=15)] = []
    house: bool = False
    guarded: bool = False
    work_light: bool = False
    notes: Annotated[str, Field(max_length=4000)] = ""
    cap: Annotated[float, Field(ge=0, le=1)] | None = None
    inverted: Annotated[list[Text], Field(max_length=2048)] = []
    placed: PlacedFields | None = None
    more: Annotated[
        dict[
            Annotated[str, Field(min_length=1, max_length=100)],
            Annotated[str, Field(min_length=1, max_length=1000)],
        ],
        Field(max_length=MORE_MOST),
    ] = {}


class _RigFile(_Part):
    focuscall: Literal["rig"]
    version: Literal[1]
    fixtures: Annotated[list[_FixtureFile], Field(max_length=FIXTURES_MOST)]


def is_json(data: bytes) -> bool:
    """Whether that is JSON rather than a table: no heading begins with a brace."""
    return data.removeprefix(b"\xef\xbb\xbf").lstrip()[:1] == b"{"


def read_rig_json(data: bytes, profiles: Mapping[str, Profile]) -> Sheet:
    """The rows of such a file, or everything that is wrong with it. What a fixture does not name stays."""
    if len(data) > BYTES_MOST:
        return Sheet([], [Problem("", f"larger than {BYTES_MOST // 2**20} MiB; is this a rig file?")])
    try:
        read = _RigFile.model_validate_json(data.removeprefix(b"\xef\xbb\xbf"))
    except ValidationError as wrong:
        found = wrong.errors(include_url=False, include_input=False, include_context=False)[:PROBLEMS_MOST]
        return Sheet([], [Problem(".".join(map(str, e["loc"])), e["msg"]) for e in found])
    sheet = Sheet([], [])
    for at, each in enumerate(read.fixtures, 1):
        profile = profiles.get(each.profile)
        hazard = refusal(each.profile) or (refusal(profile.name) if profile else None)
        if hazard:
            sheet.problems.append(Problem(f"fixture {at}", hazard))
            sheet.unread.append(Unread(_row(at, each), sure=True))
        else:
            sheet.rows.append(_row(at, each))
    return sheet


def _row(at: int, each: _FixtureFile) -> Row:
    fields = each.model_dump(exclude={"starts", "placed"})
    silent = frozenset(fields.keys() | {"starts", "placed"}) - each.model_fields_set
    placed = each.placed
    return Row(
        **fields | {"inverted": tuple(each.inverted)},
        starts=tuple(Start(**start.model_dump()) for start in each.starts),
        placed=Placed(**placed.model_dump() | {"rotation": tuple(placed.rotation)}) if placed else None,
        silent=silent,
        whole=True,
        where=f"fixture {at}",
    )


def write_rig_json(fixtures: Iterable[Fixture]) -> str:
    """The rig so that `read_rig_json` gives the same: one fixture a line, without the ids of this show."""
    lines = [json.dumps(_told(fixture), ensure_ascii=False) for fixture in fixtures]
    body = ",\n".join(f"    {line}" for line in lines)
    inside = f"\n{body}\n  " if lines else ""
    return f'{{\n  "focuscall": "rig",\n  "version": 1,\n  "fixtures": [{inside}]\n}}\n'


def _told(fixture: Fixture) -> dict[str, Any]:
    told = asdict(fixture)
    del told["id"]
    return told
