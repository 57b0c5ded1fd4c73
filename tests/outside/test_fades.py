"""Fades against values worked out by hand in whole numbers."""

import numpy as np
import pytest

from server.engine.fade import Fades

__all__: list[str] = []


@pytest.mark.parametrize(
    ("start", "target", "seconds", "at_s", "raw"),
    [
        (0, 65535, 5.0, 0.023, 301),
        (0, 65535, 5.0, 1.0, 13107),
        (0, 65535, 5.0, 2.5, 32768),
        (0, 65535, 5.0, 4.977, 65234),
        (0, 65535, 5.0, 5.0, 65535),
        (13107, 52428, 10.0, 3.7, 27656),
        (65535, 0, 3.0, 1.0, 43690),
        (65535, 0, 3.0, 2.999, 22),
    ],
)
def test_a_fade_is_the_straight_line(start: int, target: int, seconds: float, at_s: float, raw: int) -> None:
    # A linear fade (common practice, no source): a + (b - a) t / T, halves up. In whole milliseconds:
    ms, whole = round(at_s * 1000), round(seconds * 1000)
    assert (2 * (start * whole + (target - start) * ms) + whole) // (2 * whole) == raw
    fades = Fades(np.array([float(start)]), np.array([False]))
    fades.go(np.array([0]), np.array([float(target)]), 1000.0, seconds)
    assert np.floor(fades.at(1000.0 + at_s)[0] + 0.5) == raw


def test_half_of_a_16_bit_fade_is_128_in_its_coarse_slot() -> None:
    # 32768 is 128 * 256 + 0 (GDTF Offset: the coarse slot comes first).
    fades = Fades(np.array([0.0]), np.array([False]))
    fades.go(np.array([0]), np.array([65535.0]), 0.0, 5.0)
    assert divmod(int(fades.at(2.5)[0] + 0.5), 256) == (128, 0)
