"""Where a unit listens beyond its first start address, and where a drawing says that it hangs."""

from dataclasses import dataclass

__all__ = ["UPRIGHT", "Placed", "Start"]

# Rows: the images of the unit's own X, Y and Z axes. DIN SPEC 15801:2023-12, Matrix: identity unless given.
UPRIGHT = (1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0)


@dataclass(frozen=True, slots=True)
class Start:
    """One more start address of a unit (GDTF DMXBreak, `number` from 2)."""

    number: int
    universe: int
    address: int


@dataclass(frozen=True, slots=True)
class Placed:
    """What a drawing says of a unit (DIN SPEC 15801:2023-12).

    x_m, y_m, z_m: metres, right-handed, X to the right of who looks at the stage from the house, Y away from
    them, Z up. rotation: nine numbers, the images of the unit's own X, Y and Z axes, each of length 1; a unit
    that hangs as drawn in GDTF has UPRIGHT and shines along -Z, so it aims along minus the last three.
    uuid: the drawing's own name for it, by which the same unit is found again. name, layer: as drawn.
    """

    x_m: float
    y_m: float
    z_m: float
    rotation: tuple[float, float, float, float, float, float, float, float, float] = UPRIGHT
    uuid: str = ""
    name: str = ""
    layer: str = ""
