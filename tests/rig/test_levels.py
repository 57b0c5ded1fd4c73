"""From what is asked to what leaves: in the right order, byte for byte, and nowhere else."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from server.rig.compiled import Compiled, Floats, Ints, compile_rig
from server.rig.levels import UNSET, Mixer, intensity_of, light_of, settle, slots_of
from server.rig.patch import Fixture
from server.rig.profile import Control
from server.rig.universe import OffLimits
from tests.rigs import PROFILES, UNITS, rig_of, unit

__all__: list[str] = []

Key = tuple[str, str]


def asked(rig: Compiled, **wanted: dict[str, float]) -> Floats:
    """Home, but for these raw values by fixture and control."""
    value = rig.home.copy()
    for fixture, raws in wanted.items():
        for key, raw in raws.items():
            value[rig.row[fixture, key]] = raw
    return value


def mixer(
    rig: Compiled,
    master: float = 1.0,
    blackout: bool = False,
    frozen: dict[Key, float] | None = None,
    armed: tuple[Key, ...] = (),
    flashing: tuple[str, ...] = (),
    lifted: str | None = None,
) -> Mixer:
    still, free = np.full(len(rig.names), np.nan), np.zeros(len(rig.names), np.bool_)
    for name, raw in (frozen or {}).items():
        still[rig.row[name]] = raw
    free[[rig.row[name] for name in armed]] = True
    asked_to = np.array([fixture in flashing for fixture in rig.span], np.bool_)
    return Mixer(
        master, blackout, still, free, asked_to, list(rig.span).index(lifted) if lifted is not None else -1
    )


def settled(rig: Compiled, values: Floats, how: Mixer) -> dict[str, int]:
    return {f"{f} {key}": int(raw) for (f, key), raw in zip(rig.names, settle(rig, values, how), strict=True)}


def nothing(rig: Compiled) -> NDArray[np.int16]:
    return np.full((len(rig.universes), 512), UNSET, np.int16)


def test_the_master_scales_intensities_and_nothing_else() -> None:
    rig = rig_of(unit("a", "head"))
    wanted = asked(rig, a={"Dimmer": 65535, "Gobo1": 200})
    left = settled(rig, wanted, mixer(rig, master=0.5))
    assert (left["a Dimmer"], left["a Gobo1"], left["a Pan"]) == (32768, 200, 32768)


def test_a_cap_limits_what_the_master_left() -> None:
    rig = rig_of(unit("a", cap=0.5))
    full = asked(rig, a={"Dimmer": 255})
    assert settled(rig, full, mixer(rig))["a Dimmer"] == 128
    assert settled(rig, full, mixer(rig, master=0.4))["a Dimmer"] == 102  # not 0.4 of the cap
    assert settled(rig, asked(rig, a={"Dimmer": 9}), mixer(rig))["a Dimmer"] == 9


def test_master_and_cap_act_once_on_a_unit_with_an_intensity_above_its_cells() -> None:
    rig = rig_of(unit("a", "batten", cap=0.6))
    full = asked(rig, a={"Dimmer": 255, "Dimmer/A": 255, "Dimmer/B": 51})
    left = settled(rig, full, mixer(rig, master=0.5))
    assert left == {"a Dimmer": 128, "a Dimmer/A": 255, "a Dimmer/B": 51}
    assert set(settled(rig, full, mixer(rig, blackout=True)).values()) == {0}


def test_blackout_takes_every_intensity_but_that_of_work_light() -> None:
    rig = rig_of(unit("a", "head", 1), unit("b", address=100, work_light=True))
    wanted = asked(rig, a={"Dimmer": 65535, "Gobo1": 200}, b={"Dimmer": 255})
    left = settled(rig, wanted, mixer(rig, master=0.0, blackout=True))
    assert (left["a Dimmer"], left["a Gobo1"], left["b Dimmer"]) == (0, 200, 255)


def test_a_virtual_intensity_scales_the_emitters_by_what_is_left_of_it() -> None:
    rig = rig_of(unit("a", "wash", cap=0.5))
    wanted = asked(rig, a={"Dimmer": 65535, "ColorAdd_G": 100})
    left = settled(rig, wanted, mixer(rig))
    assert (left["a ColorAdd_R"], left["a ColorAdd_G"]) == (128, 50)
    dark = settled(rig, wanted, mixer(rig, blackout=True))
    assert {dark[f"a ColorAdd_{c}"] for c in "RGB"} == {0}


def test_what_hands_froze_stays_whatever_is_asked() -> None:
    rig = rig_of(unit("a", "head"))
    left = settled(rig, asked(rig, a={"Pan": 65535}), mixer(rig, frozen={("a", "Pan"): 1234}))
    assert left["a Pan"] == 1234


def test_guarded_controls_stay_at_their_safe_value_unless_armed() -> None:
    rig = rig_of()
    wanted = asked(rig, head={"Fans": 255}, fog={"Fog1": 255}, pump={"Dimmer": 255})
    frozen = {("head", "Fans"): 255.0}  # a guard comes behind hands on, too
    left = settled(rig, wanted, mixer(rig, frozen=frozen))
    assert (left["head Fans"], left["fog Fog1"], left["pump Dimmer"]) == (90, 0, 0)
    assert settled(rig, wanted, mixer(rig, armed=(("fog", "Fog1"),)))["fog Fog1"] == 255


def test_half_a_step_is_rounded_up() -> None:
    rig = rig_of(unit("a"))
    assert [settled(rig, asked(rig, a={"Dimmer": at}), mixer(rig))["a Dimmer"] for at in (0.49, 0.5)] == [
        0,
        1,
    ]


def by_the_book(
    fixture: Fixture, wanted: dict[str, float], how: Mixer, frozen: dict[str, float], armed: set[str]
) -> dict[str, int]:
    """The order of levels once more, control by control: master, cap, blackout, scaling, hands, guards."""
    kind = PROFILES[fixture.profile]
    controls, multiply = kind.modes[0].controls, kind.modes[0].multiply
    whole = any(c.attribute == "Dimmer" and c.cell is None for c in controls)
    values = dict(wanted)
    for c in controls:
        if c.attribute != "Dimmer":
            continue
        top = c.cell is None or not whole
        guarded = fixture.guarded or kind.guard is not None
        if top and not fixture.work_light:
            values[c.key] *= how.master
        if top and fixture.cap < 1:
            values[c.key] = min(values[c.key], fixture.cap * c.maximum)
        if how.blackout and not fixture.work_light and not guarded:
            values[c.key] = 0
    for master, followers in multiply.items():
        for key in followers:
            values[key] *= values[master] / 65535
    for c in controls:
        values[c.key] = frozen.get(c.key, values[c.key])
        if (c.guard or fixture.guarded or kind.guard) and c.key not in armed:
            values[c.key] = c.guard.safe if c.guard else c.home
    raws = {key: math.floor(value + 0.5) for key, value in values.items()}
    flashing = [c for c in controls for f in c.functions_at(raws[c.key]) if f.strobes]
    return raws | {c.key: c.home for c in flashing}  # which nobody asked for


SHARES = st.sampled_from([0.0, 1.0]) | st.floats(0, 1)


@settings(max_examples=150)
@given(st.data())
def test_any_mix_settles_as_worked_out_control_by_control(data: st.DataObject) -> None:
    fixtures = [
        replace(
            f, cap=data.draw(SHARES), work_light=data.draw(st.booleans()), guarded=data.draw(st.booleans())
        )
        for f in data.draw(st.lists(st.sampled_from(UNITS), min_size=1, max_size=3, unique=True))
    ]
    rig = rig_of(*fixtures)
    rows = len(rig.names)
    drawn = data.draw(st.lists(SHARES, min_size=rows, max_size=rows))
    wanted = np.array(drawn) * rig.maximum
    odd = data.draw(st.lists(st.sampled_from("  fa"), min_size=rows, max_size=rows))  # frozen, armed
    still = {name: float(rig.home[at]) for at, name in enumerate(rig.names) if odd[at] == "f"}
    free = tuple(name for at, name in enumerate(rig.names) if odd[at] == "a")
    how = mixer(rig, data.draw(SHARES), data.draw(st.booleans()), still, free)
    left = settle(rig, wanted, how)
    assert ((left >= 0) & (left <= rig.maximum)).all()
    for fixture in fixtures:
        first, last = rig.span[fixture.id]
        keys = [key for _, key in rig.names[first:last]]
        here = dict(zip(keys, wanted[first:last].tolist(), strict=True))
        frozen = {key: raw for (name, key), raw in still.items() if name == fixture.id}
        armed = {key for name, key in free if name == fixture.id}
        expected = by_the_book(fixture, here, how, frozen, armed)
        assert dict(zip(keys, left[first:last].tolist(), strict=True)) == expected


def in_slots(fixture: Fixture, part: Control, raw: int) -> dict[tuple[int, int], int]:
    """Universe, slot and level of one control: big-endian bytes at its offsets, complemented when turned."""
    assert fixture.universe is not None
    assert fixture.address is not None
    octets = raw.to_bytes(max(1, len(part.offsets)), "big") if part.offsets else b""
    return {
        (fixture.universe, fixture.address + offset - 1): octet ^ 0xFF if fixture.turns(part) else octet
        for offset, octet in zip(part.offsets, octets, strict=True)
    }


@settings(max_examples=60)
@given(st.data())
def test_each_control_lands_in_its_own_slots_and_by_hand_levels_only_where_no_fixture_is(
    data: st.DataObject,
) -> None:
    turned = data.draw(st.sets(st.sampled_from(["Dimmer", "Pan", "Gobo1", "ColorAdd_G"])))
    fixtures = [replace(f, inverted=tuple(sorted(turned))) for f in UNITS]
    rig = rig_of(*fixtures)
    random = np.random.default_rng(data.draw(st.integers(0, 2**32)))
    raw: Ints = (random.random(len(rig.names)) * (rig.maximum + 1)).astype(np.int64)
    by_hand = random.integers(-1, 256, (2, 512)).astype(np.int16)
    frame = slots_of(rig, raw, by_hand)
    owned: dict[tuple[int, int], int] = {}
    for fixture in fixtures:
        for part in PROFILES[fixture.profile].modes[0].controls:
            owned |= in_slots(fixture, part, int(raw[rig.row[fixture.id, part.key]]))
    for index, universe in enumerate(rig.universes):
        bare = {slot: max(int(by_hand[index, slot - 1]), 0) for slot in range(1, 513)}
        expected = [owned.get((universe, slot), bare[slot]) for slot in range(1, 513)]
        assert frame[index].tolist() == expected


@pytest.mark.parametrize("fixture", UNITS, ids=lambda fixture: str(fixture.id))
def test_a_fixture_changes_no_slot_outside_its_footprint(fixture: Fixture) -> None:
    rig = rig_of()
    first, last = rig.span[fixture.id]
    low, high = np.zeros(len(rig.names), np.int64), np.zeros(len(rig.names), np.int64)
    high[first:last] = rig.maximum[first:last].astype(np.int64)
    differ = np.argwhere(slots_of(rig, low, nothing(rig)) != slots_of(rig, high, nothing(rig)))
    assert fixture.address is not None
    footprint = PROFILES[fixture.profile].modes[0].footprint
    slots = {(rig.universes[index], int(slot) + 1) for index, slot in differ}
    assert slots == {(fixture.universe, fixture.address + n) for n in range(footprint)}


def test_coarse_and_fine_make_the_raw_value_again() -> None:
    rig = rig_of(unit("a", "head", 11))
    raw = asked(rig, a={"Pan": 0x1234}).astype(np.int64)
    assert slots_of(rig, raw, nothing(rig))[0, 12:14].tolist() == [0x12, 0x34]


def test_a_level_is_said_by_the_intensity_as_it_leaves() -> None:
    rig = rig_of()
    full = settle(rig, rig.maximum.copy(), mixer(rig, master=0.5))
    up = dict(zip(rig.span, intensity_of(rig, full).tolist(), strict=True))
    half = pytest.approx(0.5, abs=0.01)
    assert up == {
        "spot": half, "work": 1.0, "aisle": half, "head": half, "wash": half, "fog": 0.0, "pump": 0.0,
        "batten": half,
    }  # fmt: skip
    assert intensity_of(rig_of(unit("a", "nothing")), np.zeros(0, np.int64)).tolist() == []


@pytest.mark.parametrize(
    ("kind", "raws", "light"),
    [
        ("dimmer", {"Dimmer": 51}, 0.2),
        ("head", {"Dimmer": 65535, "Shutter1": 100}, 1.0),
        ("head", {"Dimmer": 65535, "Shutter1": 63}, 0.0),
        ("head", {"Dimmer": 65535, "Shutter1": 64}, 1.0),
        ("head", {"Dimmer": 0, "Shutter1": 100}, 0.0),
        ("wash", {"Dimmer": 65535, "ColorAdd_R": 0, "ColorAdd_G": 51, "ColorAdd_B": 0}, 0.2),
        ("batten", {"Dimmer": 51, "Dimmer/A": 0, "Dimmer/B": 255}, 0.2),
    ],
)
def test_light_is_intensity_times_colour_times_shutter(
    kind: str, raws: dict[str, float], light: float
) -> None:
    rig = rig_of(unit("a", kind))
    assert light_of(rig, asked(rig, a=raws).astype(np.int64)).tolist() == [pytest.approx(light)]


def test_without_fixtures_there_is_no_light() -> None:
    rig = rig_of(unit("a", "nothing"))
    assert light_of(rig, np.zeros(0, np.int64)).tolist() == []


def test_off_limits_slots_stay_at_0_whatever_lies_on_them() -> None:
    limits = (OffLimits(1, 2, 3, "house lights"), OffLimits(2, 1, 512, "aisle lights"))
    dimmer = unit("a", address=2)
    rig = compile_rig((dimmer,), PROFILES, also=(2,), off_limits=limits)
    frame = slots_of(rig, np.full(len(rig.names), 255, np.int64), np.full((2, 512), 9, np.int16))
    assert frame[0, :4].tolist() == [9, 0, 0, 9]
    assert not frame[1].any()
