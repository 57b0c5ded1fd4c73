"""The flash limiter, judged on what leaves by a count of its own."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from server.engine.flashes import FlashLimit
from server.paperwork.library import read_folder
from server.places import profiles_folder
from server.rig.compiled import Compiled, compile_rig
from server.rig.levels import light_of
from server.rig.patch import Fixture

__all__: list[str] = []

LIBRARY = {profile.key: profile for profile in read_folder(profiles_folder())}
FRAME_S = 1 / 44


def _unit(name: str, profile: str, mode: str, address: int) -> Fixture:
    return Fixture(name, None, "", "", "", profile, mode, 1, address)


def _rig() -> Compiled:
    units = (
        _unit("a", "dimmer", "1-slot", 1),
        _unit("b", "dimmer", "1-slot", 2),
        _unit("c", "rgb-wash", "3-slot", 10),
        _unit("d", "moving-spot-cmy", "26-slot 16 bit", 100),
    )
    return compile_rig(units, LIBRARY)


def _flashes(times: list[float], light: list[float]) -> list[float]:
    """Moments at which a rise and a fall, or the reverse, of 10 % or more are complete within a second.

    WCAG 2.2, success criterion 2.3.1 and its definition of a general flash, written down again here.
    """
    found: list[float] = []
    extreme, direction, turned = light[0], 0.0, -10.0
    for now, level in zip(times, light, strict=True):
        swing = level - extreme
        if abs(swing) >= 0.1 and np.sign(swing) != direction:
            if direction and now - turned < 1 and min(level, extreme) < 0.8:
                found.append(now)
            extreme, direction, turned = level, float(np.sign(swing)), now
        elif swing and np.sign(swing) == direction:
            extreme, turned = level, now
    return found


def _most_in_a_second(flashes: list[float]) -> int:
    return max((sum(1 for other in flashes if start <= other < start + 1) for start in flashes), default=0)


def test_one_light_bumped_ten_times_a_second_flashes_three_times_in_any_second() -> None:
    rig = _rig()
    limit, row = FlashLimit(rig, rig.home.astype(np.int64)), rig.row["a", "Dimmer"]
    times, light = [], []
    for frame in range(220):
        raw = rig.home.astype(np.int64)
        raw[row] = 255 * (int(frame * FRAME_S * 20) % 2)
        times.append(frame * FRAME_S)
        light.append(limit.limit(raw, times[-1])[row] / 255)
    found = _flashes(times, light)
    assert _most_in_a_second(found) == 3  # allowed up to the limit, and never beyond
    assert len(found) >= 12


def test_a_light_that_was_held_follows_once_the_second_has_passed() -> None:
    rig = _rig()
    limit, row = FlashLimit(rig, rig.home.astype(np.int64)), rig.row["a", "Dimmer"]
    raw = rig.home.astype(np.int64)
    for frame in range(12):
        raw[row] = 255 * (frame % 2)
        limit.limit(raw.copy(), frame * FRAME_S)
    assert limit.holding
    raw[row] = 0
    assert limit.limit(raw, 2.0)[row] == 0
    assert not limit.holding


def test_many_people_lighting_up_and_letting_go_once_are_not_held() -> None:
    rig = _rig()
    limit = FlashLimit(rig, rig.home.astype(np.int64))
    rows = [rig.row["a", "Dimmer"], rig.row["b", "Dimmer"], rig.row["d", "Dimmer"]]
    for frame in range(44):
        raw = rig.home.astype(np.int64)
        for place, row in enumerate(rows):
            raw[row] = int(rig.maximum[row] * min(1.0, max(0.0, (frame - 8 * place) / 20)))
        assert (limit.limit(raw, frame * FRAME_S) == raw).all()


def test_a_flash_by_shutter_or_by_colour_counts_like_one_by_intensity() -> None:
    rig = _rig()
    home = rig.home.astype(np.int64)
    home[rig.row["d", "Dimmer"]] = 65535
    home[rig.row["c", "Dimmer"]] = 65535
    shutter = rig.row["d", "Shutter1"]
    closed = next(r for r in rig.controls[shutter].functions[0].ranges if r.physical == (0, 0))
    for rows, off in (([shutter], closed.first), ([rig.row["c", f"ColorAdd_{e}"] for e in "RGB"], 0)):
        limit, sent = FlashLimit(rig, home), []
        for frame in range(44):
            raw = home.copy()
            raw[rows] = off if frame // 2 % 2 else 255
            if rows == [shutter] and not frame // 2 % 2:
                raw[rows] = home[rows]
            sent.append(limit.limit(raw, frame * FRAME_S)[rows[0]])
        changes = int((np.diff(sent) != 0).sum())
        assert changes <= 7


@given(st.data())
@settings(max_examples=40, deadline=None)
def test_nothing_asked_makes_a_fourth_flash_in_any_second(data: st.DataObject) -> None:
    rig = _rig()
    home = rig.home.astype(np.int64)
    limit = FlashLimit(rig, home)
    rows = np.flatnonzero(rig.intensity | rig.emits)
    raw, times, lights = home.copy(), [], []
    steps = data.draw(
        st.lists(st.tuples(st.sampled_from(rows.tolist()), st.sampled_from((0.0, 0.3, 1.0))), min_size=60)
    )
    for frame, (row, share) in enumerate(steps):
        raw[row] = int(share * rig.maximum[row])
        times.append(frame * FRAME_S)
        lights.append(light_of(rig, limit.limit(raw.copy(), times[-1])))
    by_fixture = [_flashes(times, [light[f] for light in lights]) for f in range(len(rig.starts))]
    together = sorted({moment for found in by_fixture for moment in found})
    assert _most_in_a_second(together) <= 3
