"""What the calls about fixtures, the patch and rig files answer, as `answers.py` lists it."""

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

__all__ = ["Answer", "FixtureAnswer", "PatchFinding", "PatchPlan", "RigReport"]


class Answer(BaseModel):
    """Nothing but the fields that are named."""

    model_config = ConfigDict(extra="forbid")


class _Start(Answer):
    number: int = Field(ge=2)
    universe: int
    address: int


class _Placed(Answer):
    """Metres, Z up; rotation: the images of the unit's own X, Y and Z axes (DIN SPEC 15801, Matrix)."""

    x_m: float
    y_m: float
    z_m: float
    rotation: list[float] = Field(min_length=9, max_length=9)
    uuid: str
    name: str
    layer: str


class FixtureAnswer(Answer):
    """One fixture of the patch. universe and address are null where it is not patched."""

    id: str
    channel: int | None
    unit: str
    position: str
    purpose: str
    profile: str
    mode: str
    universe: int | None
    address: int | None
    house: bool
    guarded: bool
    work_light: bool
    notes: str
    cap: float = Field(ge=0, le=1)
    starts: list[_Start]
    placed: _Placed | None
    more: dict[str, str]


class PatchFinding(Answer):
    """One thing about a fixture's patch; `refused`: it cannot be patched so, else it may be meant.

    fixture, other: ids, null where it is not there yet or nobody else. suggestion: fields that would do.
    put: which of the fixtures that were proposed, from 0; null where none were.
    """

    fixture: str | None
    where: str
    kind: str
    refused: bool
    why: str
    said: list[Any]
    other: str | None
    suggestion: dict[str, str | int] | None
    put: int | None


class _Proof(Answer):
    why: str
    said: list[Any]


class _SetTo(Answer):
    universe: int | None
    address: int | None
    mode: str


class _MistakeAnswer(Answer):
    """kind: one word. fixtures: every unit it concerns as it would be set and wired; nulls: nowhere."""

    kind: Literal["address", "line", "mode", "silent", "swapped", "ports", "row", "reversed", "shifted"]
    why: str
    said: list[Any]
    proof: _Proof
    fixtures: dict[str, _SetTo]


class _CheckAnswer(Answer):
    fixture: str
    lit: list[str]


class ExplanationAnswer(Answer):
    """Mistakes that together explain all answers, and the unit to ask for next, with what then comes up."""

    mistakes: list[_MistakeAnswer]
    check: _CheckAnswer | None


class _Addressed(Answer):
    fixture: str
    universe: int = Field(ge=1, le=63999)
    address: int = Field(ge=1, le=512)
    starts: list[_Start]


class _LeftOut(Answer):
    fixture: str
    where: str


class _Stretch(Answer):
    """first, last: slots, both included. why: of what is kept. fixture: who is or would be there."""

    first: int = Field(ge=1, le=512)
    last: int = Field(ge=1, le=512)
    what: Literal["planned", "taken", "off_limits", "reserved"]
    why: str
    fixture: str | None


class _Pictured(Answer):
    universe: int = Field(ge=1, le=63999)
    ranges: list[_Stretch]


class PatchPlan(Answer):
    """Proposed addresses, and the fixtures that found none: no room, or no mode that is known.

    universes: what would be where in each that is addressed; what no range holds is free.
    """

    placed: list[_Addressed]
    left: list[_LeftOut]
    universes: list[_Pictured]


class _RowProblem(Answer):
    where: str
    why: str
    said: list[Any] = []


class RigReport(Answer):
    """What a rig file changes, everything that is wrong with it, what may be meant, and what is not kept.

    before: the changed ones as they are. stays: known ones that stay as they are for something that is wrong.
    unsure: nothing is removed, for what cannot be read may be about any of them. columns: the field that each
    is read as, by heading; "": none. change: the number by which all of it is undone, once it is done.
    """

    added: list[FixtureAnswer]
    changed: list[FixtureAnswer]
    before: list[FixtureAnswer]
    removed: list[FixtureAnswer]
    stays: list[FixtureAnswer]
    unsure: bool
    change: int | None
    problems: list[_RowProblem]
    left_out: list[_RowProblem]
    warnings: list[_RowProblem]
    columns: dict[str, str]
