"""The profile file format, field by field: what `profiles/schema.json` publishes.

Names follow GDTF (DIN SPEC 15800:2022-02) where the meaning is GDTF's. Whole numbers are at the
control's full resolution and `dmx` pairs include both ends.
"""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

__all__ = [
    "CONTROLS_MOST",
    "PIECES_MOST",
    "STARTS_MOST",
    "ActionFile",
    "CellFile",
    "ControlFile",
    "EmitterFile",
    "FunctionFile",
    "GuardFile",
    "ModeFile",
    "ModeMasterFile",
    "MultiplyFile",
    "ProfileFile",
    "RangeFile",
    "RdmFile",
    "SourceFile",
    "WheelSlotFile",
    "schema",
]

# Cells expanded; the largest seen in public files are far below.
CONTROLS_MOST = 2048  # in one mode
PIECES_MOST = 50_000  # functions and ranges of a whole profile
STARTS_MOST = 16  # start addresses of one unit; four is the most seen
Raw = Annotated[int, Field(ge=0, le=2**32 - 1)]
Slot = Annotated[int, Field(ge=1, le=512)]
Words = Annotated[str, Field(min_length=1, max_length=200)]
Physical = Annotated[float, Field(ge=-1e9, le=1e9)]  # differences and products stay finite
Seconds = Annotated[float, Field(ge=0, le=3600)]
Key = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9._-]{0,79}$")]
Attribute = Annotated[str, Field(pattern=r"^[A-Za-z][A-Za-z0-9_]{0,79}$")]
CellName = Annotated[str, Field(pattern=r"^[^/\x00-\x1f]{1,60}$")]
StartNumber = Annotated[str, Field(pattern=r"^([2-9]|1[0-6])$")]
Unit = Literal[
    "None", "Percent", "Length", "Mass", "Time", "Temperature", "LuminousIntensity", "Angle", "Force",
    "Frequency", "Current", "Voltage", "Power", "Energy", "Area", "Volume", "Speed", "Acceleration",
    "AngularSpeed", "AngularAcc", "WaveLength", "ColorComponent",
]  # fmt: skip


class _Part(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)


class GuardFile(_Part):
    """Not driven unless armed: `safe` is sent meanwhile."""

    reason: Literal["fog", "haze", "fan", "power", "lamp", "control", "other"]
    safe: Raw = 0


class ActionFile(_Part):
    """A value that is held for `hold_s` and then becomes `release`; `words` say what will happen."""

    kind: Literal["reset", "lamp_on", "lamp_off", "other"]
    hold_s: Annotated[float, Field(gt=0, le=60)]
    release: Raw
    words: Words
    busy_s: Seconds = 0
    lockout_s: Seconds = 0


class RangeFile(_Part):
    """A labelled piece of a function (GDTF ChannelSet). slot: place on the wheel, from 1."""

    name: Words
    dmx: tuple[Raw, Raw]
    physical: tuple[Physical, Physical] | None = None
    slot: Annotated[int, Field(ge=1, le=256)] | None = None


class ModeMasterFile(_Part):
    """The function only applies while that control lies in `dmx`."""

    control: Words
    dmx: tuple[Raw, Raw]


class FunctionFile(_Part):
    """What one part of a control does (GDTF ChannelFunction). `physical` holds at the two ends of `dmx`.

    `strobes` follows from the attribute; it may stand here, as it does in what the server answers.
    """

    attribute: Attribute
    name: Words | None = None
    dmx: tuple[Raw, Raw]
    physical: tuple[Physical, Physical] = (0.0, 1.0)
    unit: Unit = "None"
    ranges: Annotated[tuple[RangeFile, ...], Field(max_length=512)] = ()
    wheel: Words | None = None
    emitter: Words | None = None
    filter: Words | None = None
    real_fade_s: Seconds = 0
    mode_master: ModeMasterFile | None = None
    action: ActionFile | None = None
    strobes: bool | None = None


class ControlFile(_Part):
    """One adjustable thing (GDTF DMXChannel). offset: its slots from 1, coarse first; [] = virtual, 16 bit.

    start: which of the unit's start addresses they count from (GDTF DMXBreak).
    `key` follows from attribute and cell; it may stand here, as it does in what the server answers.
    """

    key: Words | None = None
    attribute: Attribute
    cell: CellName | None = None
    start: Annotated[int, Field(ge=1, le=STARTS_MOST)] = 1
    offset: Annotated[tuple[Slot, ...], Field(max_length=4)]
    default: Raw
    home: Raw | None = None
    highlight: Raw | None = None
    snap: bool = False
    invert: bool = False
    master: Literal["None", "Grand"] | None = None
    guarded: GuardFile | None = None
    functions: Annotated[tuple[FunctionFile, ...], Field(min_length=1, max_length=256)]


class MultiplyFile(_Part):
    """A virtual control scales others. A follower that only cells have means that control of every cell."""

    master: Words
    followers: Annotated[tuple[Words, ...], Field(min_length=1, max_length=CONTROLS_MOST)]


class CellFile(_Part):
    """One repetition of `cell_controls`; offset: the slot that their offset 1 becomes."""

    name: CellName
    offset: Slot


class ModeFile(_Part):
    """One slot layout. further: slots from each other start address than the first, by its number from 2."""

    name: Words
    footprint: Annotated[int, Field(ge=0, le=512)]
    further: dict[
        Annotated[str, Field(pattern=r"^([2-9]|1[0-6])$")], Annotated[int, Field(ge=0, le=512)]
    ] = {}
    controls: Annotated[tuple[ControlFile, ...], Field(max_length=CONTROLS_MOST)]
    multiply: Annotated[tuple[MultiplyFile, ...], Field(max_length=512)] = ()
    cells: Annotated[tuple[CellFile, ...], Field(max_length=512)] = ()
    cell_controls: Annotated[tuple[ControlFile, ...], Field(max_length=512)] = ()


class WheelSlotFile(_Part):
    """One place of a wheel; xyY: CIE 1931, Y relative."""

    name: Words
    xyY: tuple[float, float, float] | None = None  # noqa: N815 - CIE's own spelling


class EmitterFile(_Part):
    """A light source inside the unit: xyY, or a dominant wavelength where no colour is seen."""

    xyY: tuple[float, float, float] | None = None  # noqa: N815 - CIE's own spelling
    dominant_nm: Annotated[float, Field(ge=200, le=1100)] | None = None


class RdmFile(_Part):
    """What a unit answers over RDM (ANSI E1.20). personalities: mode name by DMX personality from 1."""

    manufacturer: Annotated[int, Field(ge=0, le=0xFFFF)]
    model: Annotated[int, Field(ge=0, le=0xFFFF)]
    software: Annotated[int, Field(ge=0, le=0xFFFFFFFF)] | None = None
    personalities: dict[Annotated[str, Field(pattern=r"^[1-9][0-9]{0,2}$")], Words] = {}


class SourceFile(_Part):
    """The file that the profile was made from."""

    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    version: Annotated[str, Field(max_length=40)] = ""
    revised: Annotated[str, Field(max_length=40)] = ""
    type_id: Annotated[str, Field(max_length=40)] = ""


class ProfileFile(_Part):
    """A fixture type. `guarded` here holds for every control of the unit."""

    schema_: Annotated[Literal[1], Field(alias="schema")]
    key: Key
    name: Words
    short_name: Words
    maker: Words = "Generic"
    revision: Annotated[int, Field(ge=0)] = 1
    kind: Literal["light", "dimmer", "relay", "atmosphere", "other"]
    guarded: GuardFile | None = None
    notes: Annotated[str, Field(max_length=2000)] = ""
    wheels: dict[Words, Annotated[tuple[WheelSlotFile, ...], Field(min_length=1, max_length=256)]] = {}
    emitters: dict[Words, EmitterFile] = {}
    filters: dict[Words, EmitterFile] = {}
    facts: dict[Annotated[str, Field(pattern=r"^[a-z][a-z_]{0,30}$")], Physical] = {}
    rdm: Annotated[tuple[RdmFile, ...], Field(max_length=256)] = ()
    manual_url: Annotated[str, Field(pattern=r"^(https?://[^\s<>\"]{1,400})?$")] = ""
    source: SourceFile | None = None
    modes: Annotated[tuple[ModeFile, ...], Field(min_length=1, max_length=64)]


def schema() -> dict[str, Any]:
    """The format as JSON Schema (draft 2020-12)."""
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "focuscall profile"}
    return head | {k: v for k, v in ProfileFile.model_json_schema().items() if k != "title"}
