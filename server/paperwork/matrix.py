"""Where things stand in a drawing: the 4x3 matrices of DIN SPEC 15801, one inside another."""

import math
import re

from server.rig.place import UPRIGHT, Placed

__all__ = ["IDENTITY", "Matrix", "inside", "matrix_in", "matrix_text", "placed_at"]

Vector = tuple[float, float, float]
# Rows: the images of the local X, Y and Z axes, then the origin in millimetres (T35).
Matrix = tuple[Vector, Vector, Vector, Vector]
IDENTITY: Matrix = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (0.0, 0.0, 0.0))
MM_PER_M = 1000
FAR_MM = 1e7  # ten kilometres: no rig is larger


def matrix_in(text: str | None) -> Matrix:
    """`{u}{v}{w}{o}`, three numbers each; IDENTITY where nothing is written. Raises ValueError."""
    if text is None or not text.strip():
        return IDENTITY
    rows = re.findall(r"\{([^{}]*)\}", text)
    numbers = [tuple(float(n) for n in row.split(",")) for row in rows]
    if len(numbers) != 4 or any(len(row) not in (3, 4) for row in numbers):
        raise ValueError("is not four rows of three numbers")
    if not all(math.isfinite(n) and abs(n) <= FAR_MM for row in numbers for n in row):
        raise ValueError("holds a number that no rig has")
    u, v, w, o = ((row[0], row[1], row[2]) for row in numbers)
    return u, v, w, o


def inside(local: Matrix, parent: Matrix) -> Matrix:
    """What is given relative to its parent, in the parent's own frame: local times parent, row vectors."""
    turned = [_turned(row, parent) for row in local]
    x, y, z = (a + b for a, b in zip(turned[3], parent[3], strict=True))
    return turned[0], turned[1], turned[2], (x, y, z)


def _turned(row: Vector, parent: Matrix) -> Vector:
    x, y, z = (sum(row[k] * parent[k][axis] for k in range(3)) for axis in range(3))
    return x, y, z


def placed_at(world: Matrix, uuid: str, name: str, layer: str) -> Placed:
    """In metres, the axes brought to length 1 and at right angles: files carry scales and rounding noise."""
    u = _unit(world[0])
    along = sum(a * b for a, b in zip(world[1], u, strict=True)) if u else 0.0
    v = (
        _unit((world[1][0] - along * u[0], world[1][1] - along * u[1], world[1][2] - along * u[2]))
        if u
        else None
    )
    rotation = UPRIGHT
    if u and v:
        w = (u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0])
        a, b, c, d, e, f, g, h, i = (round(n, 6) + 0.0 for n in (*u, *v, *w))
        rotation = (a, b, c, d, e, f, g, h, i)
    x, y, z = (round(n / MM_PER_M, 4) + 0.0 for n in world[3])
    return Placed(x, y, z, rotation, uuid, name, layer)


def _unit(row: Vector) -> Vector | None:
    length = math.hypot(*row)
    return (row[0] / length, row[1] / length, row[2] / length) if length > 1e-6 else None


def matrix_text(placed: Placed) -> str:
    """As DIN SPEC 15801 writes it, in millimetres."""
    r = placed.rotation
    origin = tuple(n * MM_PER_M for n in (placed.x_m, placed.y_m, placed.z_m))
    return "".join("{" + ",".join(f"{n:.6f}" for n in row) + "}" for row in (r[:3], r[3:6], r[6:], origin))
