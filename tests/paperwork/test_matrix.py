"""Matrices of drawings: one inside another, brought to metres and right angles."""

import math

import pytest

from server.paperwork.matrix import IDENTITY, inside, matrix_in, matrix_text, placed_at
from server.rig.place import UPRIGHT

__all__: list[str] = []

# DIN SPEC 15801:2023-12, T35: {u}{v}{w}{o}, millimetres. Turned by 90 degrees about Z, X goes to Y, Y to -X.
QUARTER = matrix_in("{0,1,0}{-1,0,0}{0,0,1}{1000,2000,3000}")


def test_nothing_written_is_upright_at_the_origin() -> None:
    assert [matrix_in(text) for text in (None, " ")] == [IDENTITY, IDENTITY]
    placed = placed_at(IDENTITY, "", "", "")
    assert (placed.x_m, placed.y_m, placed.z_m, placed.rotation) == (0, 0, 0, UPRIGHT)


def test_a_thing_inside_another_is_turned_and_moved_with_it() -> None:
    world = inside(matrix_in("{1,0,0}{0,1,0}{0,0,1}{500,0,-100}"), QUARTER)
    placed = placed_at(world, "u", "n", "l")
    assert (placed.x_m, placed.y_m, placed.z_m) == (1.0, 2.5, 2.9)
    assert list(placed.rotation) == [0, 1, 0, -1, 0, 0, 0, 0, 1]
    assert placed_at(inside(QUARTER, QUARTER), "", "", "").rotation[0] == -1


def test_scales_and_noise_are_taken_out_of_the_axes() -> None:
    crooked = matrix_in("{2,0,0}{1e-7,3,1e-8}{0,1e-7,0.5}{0,0,0}")
    assert placed_at(crooked, "", "", "").rotation == UPRIGHT
    turned = math.sqrt(0.5)
    placed = placed_at(
        matrix_in(f"{{{turned},{turned},0}}{{{-turned},{turned},0}}{{0,0,1}}{{0,0,0}}"), "", "", ""
    )
    assert sum(n * n for n in placed.rotation[:3]) == pytest.approx(1, abs=1e-5)
    assert placed_at(matrix_in("{0,0,0}{0,0,0}{0,0,0}{1,2,3}"), "", "", "").rotation == UPRIGHT


WRONG = (
    "{1,0,0}",
    "{1,0}{0,1}{0,0}{0,0}",
    "{a,b,c}{0,0,0}{0,0,0}{0,0,0}",
    "{nan,0,0}{0,1,0}{0,0,1}{0,0,0}",
    "{1,0,0}{0,1,0}{0,0,1}{1e99,0,0}",
)


@pytest.mark.parametrize("text", WRONG)
def test_what_is_no_matrix_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"row|number|convert"):
        matrix_in(text)


def test_what_is_written_reads_back() -> None:
    placed = placed_at(QUARTER, "u", "n", "l")
    assert placed_at(matrix_in(matrix_text(placed)), "u", "n", "l") == placed
