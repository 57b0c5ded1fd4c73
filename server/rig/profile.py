"""A fixture type: its modes, their controls, and what each part of a control's range does.

The shape follows GDTF (DIN SPEC 15800:2022-02) where the meaning is GDTF's: control = DMXChannel,
function = ChannelFunction, range = ChannelSet. Cells are expanded: a mode lists every control it has.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

__all__ = [
    "INTENSITY",
    "Action",
    "Control",
    "Emitter",
    "Function",
    "Guard",
    "Mode",
    "ModeMaster",
    "Profile",
    "Range",
    "RdmModel",
    "Source",
    "WheelSlot",
]

INTENSITY = "Dimmer"
VIRTUAL_BYTES = 2  # a control without slots is kept at 16 bit: enough for any fade a fixture can show
STEADY = ("StrobeDuration", "StrobeMode", "StrobeModeShutter")
MOTION = ("Pan", "Tilt", "PanRotate", "TiltRotate", "XYZ_")


@dataclass(frozen=True, slots=True)
class Guard:
    """Why a control is not driven, and the raw value it is pinned to meanwhile."""

    reason: str
    safe: int = 0


@dataclass(frozen=True, slots=True)
class Action:
    """Something a fixture does once when a raw value is held: recalibrate, strike or douse a lamp.

    hold_s: seconds the value is sent. release: raw value sent afterwards.
    words: what will happen, one sentence for the person about to hold the button.
    """

    kind: str
    hold_s: float
    release: int
    words: str
    busy_s: float = 0.0
    lockout_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Range:
    """A labelled piece of a function (GDTF ChannelSet), both raw ends included."""

    name: str
    first: int
    last: int
    physical: tuple[float, float] | None = None
    slot: int | None = None


@dataclass(frozen=True, slots=True)
class ModeMaster:
    """The function only applies while another control of the mode lies between two raw values."""

    control: str
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Function:
    """What one part of a control's range does (GDTF ChannelFunction), both raw ends included.

    physical: value at `first` and at `last`, in `unit` (GDTF PhysicalUnit name).
    filter: what the light passes through at full (GDTF Filter). real_fade_s: seconds the unit takes from one
    end to the other (GDTF RealFade); 0 = not known.
    """

    attribute: str
    name: str
    first: int
    last: int
    physical: tuple[float, float] = (0.0, 1.0)
    unit: str = "None"
    ranges: tuple[Range, ...] = ()
    wheel: str | None = None
    emitter: str | None = None
    mode_master: ModeMaster | None = None
    action: Action | None = None
    filter: str | None = None
    real_fade_s: float = 0.0

    @property
    def strobes(self) -> bool:
        """Whether light flashes here (GDTF Annex A: Shutter(n)Strobe..., IrisPulse..., StrobeFrequency).

        How long a flash lasts and which kind it is do not flash by themselves.
        """
        pulses = "Strobe" in self.attribute or ("Iris" in self.attribute and "Pulse" in self.attribute)
        return pulses and self.attribute not in STEADY

    def span_at(self, raw: int) -> tuple[int, int, tuple[float, float]]:
        """First raw, last raw and physical pair at `raw`: the range's own pair, or the function's."""
        for piece in self.ranges:
            if piece.first <= raw <= piece.last and piece.physical is not None:
                return piece.first, piece.last, piece.physical
        return self.first, self.last, self.physical


@dataclass(frozen=True, slots=True)
class Control:
    """One adjustable thing of a mode. `key` names it everywhere outside: attribute, or attribute/cell.

    offsets: its slots inside the mode, 1-based, most significant first; empty when virtual.
    default, home, highlight: raw values at full resolution; highlight None = no hint given.
    mastered: an intensity that master and blackout act on (GDTF Master "Grand").
    start: which of the unit's start addresses its slots count from (GDTF DMXBreak).
    """

    key: str
    attribute: str
    offsets: tuple[int, ...]
    default: int
    home: int
    functions: tuple[Function, ...]
    highlight: int | None = None
    cell: str | None = None
    snap: bool = False
    invert: bool = False
    mastered: bool = False
    guard: Guard | None = None
    start: int = 1

    @property
    def width(self) -> int:
        """Bytes of resolution, 1 to 4."""
        return len(self.offsets) or VIRTUAL_BYTES

    @property
    def maximum(self) -> int:
        """Largest raw value: 255, 65535, 2^24-1 or 2^32-1."""
        return (1 << 8 * self.width) - 1

    @property
    def moves(self) -> bool:
        """Whether driving it makes the unit swing or travel."""
        return self.attribute.startswith(MOTION)

    def function_at(self, raw: int) -> Function | None:
        """The function whose part of the range holds `raw`; None in an undescribed gap."""
        return next(iter(self.functions_at(raw)), None)

    def functions_at(self, raw: int) -> tuple[Function, ...]:
        """Every function that may hold at `raw`; several where mode masters tell them apart."""
        return tuple(f for f in self.functions if f.first <= raw <= f.last)


@dataclass(frozen=True, slots=True)
class Mode:
    """One slot layout of a profile. `multiply` maps a virtual control's key to those it scales.

    footprint: slots from the first start address. further: slots from each other one, by its number (GDTF
    DMXBreak) from 2.
    """

    name: str
    footprint: int
    controls: tuple[Control, ...]
    multiply: dict[str, tuple[str, ...]] = field(default_factory=dict)
    further: dict[int, int] = field(default_factory=dict)

    @property
    def footprints(self) -> dict[int, int]:
        """Slots from each start address, by its number from 1."""
        return {1: self.footprint, **self.further}

    def control(self, key: str) -> Control | None:
        """The control of that key, or None."""
        return next((c for c in self.controls if c.key == key), None)

    @property
    def intensities(self) -> Iterator[Control]:
        """The controls that master and blackout act on, in order."""
        return (c for c in self.controls if c.mastered)

    def doing(self, control: Control, values: Mapping[str, int]) -> tuple[Function, ...]:
        """The functions of a control that hold at these raw values of the mode's controls, by key."""
        masters = ((f, f.mode_master) for f in control.functions_at(values[control.key]))
        return tuple(f for f, m in masters if m is None or m.first <= values[m.control] <= m.last)

    @property
    def can_move(self) -> bool:
        """Whether any control makes the unit swing."""
        return any(c.moves for c in self.controls)


@dataclass(frozen=True, slots=True)
class WheelSlot:
    """One place of a wheel, with its CIE xyY where known (Y relative)."""

    name: str
    xyY: tuple[float, float, float] | None = None  # noqa: N815 (CIE's own name)


@dataclass(frozen=True, slots=True)
class Emitter:
    """A light source inside the unit: CIE xyY where known, dominant wavelength in nm otherwise."""

    xyY: tuple[float, float, float] | None = None  # noqa: N815 (CIE's own name)
    dominant_nm: float | None = None


@dataclass(frozen=True, slots=True)
class RdmModel:
    """What a unit of this type answers over RDM (ANSI E1.20), so that it can be known again.

    manufacturer: ESTA id, the upper 16 bits of its UID. model: device model id. software: version id, None
    for any. personalities: mode name by DMX personality from 1 (GDTF FTRDM: 5 of 34 public files have any).
    """

    manufacturer: int
    model: int
    software: int | None = None
    personalities: dict[int, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Source:
    """The file that a profile was made from. type_id: GDTF FixtureTypeID; revised: when it was last."""

    sha256: str
    version: str = ""
    revised: str = ""
    type_id: str = ""


@dataclass(frozen=True, slots=True)
class Profile:
    """A fixture type. A guard here guards every control of the unit (foggers, hazers, power relays).

    filters: like emitters, what light passes through. facts: what is known of the unit's body and light, by
    name with unit (weight_kg, beam_deg ...). manual_url: where its manual is found.
    """

    key: str
    name: str
    short_name: str
    maker: str
    revision: int
    kind: str
    modes: tuple[Mode, ...]
    guard: Guard | None = None
    wheels: dict[str, tuple[WheelSlot, ...]] = field(default_factory=dict)
    emitters: dict[str, Emitter] = field(default_factory=dict)
    notes: str = ""
    filters: dict[str, Emitter] = field(default_factory=dict)
    facts: dict[str, float] = field(default_factory=dict)
    rdm: tuple[RdmModel, ...] = ()
    manual_url: str = ""
    source: Source | None = None

    def mode(self, name: str) -> Mode | None:
        """The mode of that name, or None."""
        return next((m for m in self.modes if m.name == name), None)
