"""Rigs of any few units: 8 to 32 bit, turned, capped, guarded, strobing, with virtual intensities."""

from functools import cache

from hypothesis import strategies as st

from server.paperwork.library import read_folder
from server.places import profiles_folder
from server.rig.patch import Fixture
from server.rig.place import Start
from server.rig.profile import Control, Function, Mode, Profile

__all__ = ["UNITS", "UNIVERSES", "any_profiles", "any_rig"]

UNITS = ("a", "b", "c", "d", "e")
UNIVERSES = (1, 2, 3)


def _control(key: str, offsets: tuple[int, ...], start: int = 1) -> Control:
    functions = (Function(key, key, 0, (1 << 8 * (len(offsets) or 1)) - 1),)
    return Control(key, key, offsets, 0, 0, functions, mastered=key == "Dimmer", start=start)


# 8 to 32 bit, turned, and with slots at a second start address.
WIDE = Profile(
    "wide",
    "Wide",
    "Wide",
    "Generic",
    1,
    "light",
    (
        Mode(
            "9",
            8,
            (
                _control("Dimmer", (1,)),
                _control("Pan", (2, 3)),
                _control("Tilt", (4, 5, 6)),
                _control("Zoom", (3, 1, 4, 2), 2),
            ),
            further={2: 4},
        ),
    ),
)


@cache
def any_profiles() -> dict[str, Profile]:
    kept = ("dimmer", "rgb-wash", "moving-spot-cmy", "strobe", "hazer", "led-par")
    return {p.key: p for p in read_folder(profiles_folder()) if p.key in kept} | {"wide": WIDE}


@st.composite
def any_rig(draw: st.DrawFn) -> list[Fixture]:
    """Five units, none on the slots of another."""
    rig = []
    for at, name in enumerate(UNITS):
        profile = any_profiles()[draw(st.sampled_from(sorted(any_profiles())))]
        mode = draw(st.sampled_from(profile.modes))
        universe, address = draw(st.sampled_from(UNIVERSES)), 1 + 100 * at
        turned = draw(st.booleans())
        further = (Start(2, draw(st.sampled_from(UNIVERSES)), address + 60),) if profile.key == "wide" else ()
        rig.append(
            Fixture(
                name,
                at,
                name,
                draw(st.sampled_from(["Bar", "Boom"])),
                "",
                profile.key,
                mode.name,
                universe,
                address,
                work_light=draw(st.booleans()),
                cap=draw(st.sampled_from([1.0, 0.5])),
                inverted=("Pan", "Zoom") if turned else (),
                starts=further,
            )
        )
    return rig
