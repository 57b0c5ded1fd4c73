"""PINs: hashed, drawn, given or set by the lead."""

import asyncio
import threading

import pytest
from argon2 import PasswordHasher, extract_parameters
from argon2.low_level import Type

from server.api import pins as module
from server.api.pins import Pins, draw, hashed, pins_at_start

__all__: list[str] = []

GIVEN = {"lead": "4821", "crew": "1793", "house": "5206"}


def role_of(pins: Pins, pin: str) -> str | None:
    return asyncio.run(pins.role_of(pin))


def test_a_hash_holds_no_pin_and_is_read_by_the_library_alone() -> None:
    kept = hashed("4821")
    assert "4821" not in kept
    assert hashed("4821") != kept  # salted
    assert PasswordHasher().verify(kept, "4821")
    # OWASP, Password Storage Cheat Sheet (from memory): Argon2id with 9 MiB, 4 passes, 1 lane at least.
    strength = extract_parameters(kept)
    assert strength.type is Type.ID
    assert (strength.memory_cost, strength.time_cost, strength.parallelism) >= (9216, 4, 1)


def test_given_pins_are_shown_and_in_force() -> None:
    shown, pins = pins_at_start(GIVEN, {}, draws=True)
    assert shown == GIVEN
    assert [role_of(pins, pin) for pin in (*GIVEN.values(), "0000", "", "4821 ")] == [
        *GIVEN,
        *(None, None, None),
    ]
    assert set(pins.given) == set(GIVEN)


def test_no_plain_pin_stays_behind() -> None:
    _, pins = pins_at_start(GIVEN, {}, draws=True)
    assert not any(pin in repr(vars(pins)) for pin in GIVEN.values())


def test_what_is_missing_is_drawn_unless_the_lead_has_set_it() -> None:
    shown, pins = pins_at_start({"lead": "4821"}, {"crew": hashed("1793")}, draws=True)
    assert set(shown) == {"lead", "house"}
    assert role_of(pins, "1793") == "crew"
    assert role_of(pins, shown["house"]) == "house"


def test_a_given_pin_wins_over_one_that_the_lead_has_set() -> None:
    _, pins = pins_at_start({"crew": "1793"}, {"crew": hashed("6152")}, draws=False)
    assert (role_of(pins, "1793"), role_of(pins, "6152")) == ("crew", None)


def test_a_pin_given_to_another_role_is_no_longer_the_leads() -> None:
    shown, pins = pins_at_start({"crew": "4821"}, {"lead": hashed("4821")}, draws=True)
    assert role_of(pins, "4821") == "crew"
    assert role_of(pins, shown["lead"]) == "lead"


def test_of_two_roles_with_one_pin_it_makes_the_one_that_may_do_less() -> None:
    assert role_of(Pins({"lead": hashed("4821"), "crew": hashed("4821")}), "4821") == "crew"


def test_an_open_house_draws_none() -> None:
    shown, pins = pins_at_start({}, {}, draws=False)
    assert (shown, list(pins.roles), role_of(pins, "")) == ({}, [], None)


def test_a_hash_that_is_none_lets_nobody_in() -> None:
    assert role_of(Pins({"lead": "4821", "crew": ""}), "4821") is None


def test_a_new_pin_is_in_force_at_once() -> None:
    pins = Pins({"crew": hashed("1793")})
    pins.put("crew", asyncio.run(pins.hash("6152")))
    assert (role_of(pins, "1793"), role_of(pins, "6152")) == (None, "crew")


def test_tries_are_made_one_at_a_time_away_from_the_loop_all_roles_each(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    tried: list[str] = []
    at_once, most = [0], [0]
    real = module._is

    def watched(pin_hash: str, pin: str) -> bool:
        assert threading.current_thread() is not threading.main_thread()
        at_once[0] += 1
        most[0] = max(most[0], at_once[0])
        tried.append(pin)
        answer = real(pin_hash, pin)
        at_once[0] -= 1
        return answer

    _, pins = pins_at_start(GIVEN, {}, draws=False)
    monkeypatch.setattr(module, "_is", watched)

    async def all_of_them() -> None:
        await asyncio.gather(*(pins.role_of(pin) for pin in ("4821", "1793", "5206", "0000")))

    asyncio.run(all_of_them())
    assert most == [1]
    assert {pin: tried.count(pin) for pin in tried} == {"4821": 3, "1793": 3, "5206": 3, "0000": 3}


def test_a_drawn_pin_is_none_that_is_guessed_first() -> None:
    for _ in range(2000):
        pin = draw({"1793"})
        assert len(pin) == 4
        assert pin.isdecimal()
        assert pin != "1793"
        assert len(set(pin)) >= 3
        assert pin not in "012345678901234567890 98765432109876543210"
