"""server/settings.py: what each setting may be."""

import pytest
from pydantic import ValidationError

from server.rig.universe import OffLimits, Reserved
from server.settings import Destination, Settings, options

__all__: list[str] = []


def test_a_destination_without_a_port_takes_the_standard_one() -> None:
    # E1.31-2018, 9.2: UDP port 5568. Art-Net 4, "Protocol Operation": 6454.
    settings = Settings.model_validate(
        {"sacn_to": ["10.0.0.5"], "artnet_to": ["node-1.local", "10.0.0.6:7000"]}
    )
    assert settings.sacn_to == (Destination("10.0.0.5", 5568),)
    assert settings.artnet_to == (Destination("node-1.local", 6454), Destination("10.0.0.6", 7000))


@pytest.mark.parametrize(
    "given", ["", ":5568", "node:", "node:0", "node:65536", "[::1]:5568", "a b", "a:1:2"]
)
def test_a_destination_that_is_not_one_is_refused(given: str) -> None:
    with pytest.raises(ValidationError):
        Settings.model_validate({"sacn_to": [given]})


def test_priority_0_is_0() -> None:
    # E1.31-2018, 6.2.3: 0 to 200, and 0 is a priority like any other.
    assert Settings(priority=0).priority == 0
    with pytest.raises(ValidationError):
        Settings(priority=201)


def test_a_source_name_fills_64_octets_at_most_with_its_zero() -> None:
    # E1.31-2018, 6.2.2: 64 octets of UTF-8, zero-terminated. "ü" is two octets.
    assert Settings(source_name="ü" * 31 + "x").source_name.endswith("x")
    with pytest.raises(ValidationError):
        Settings(source_name="ü" * 32)


def test_off_limits_without_slots_is_the_whole_universe() -> None:
    slots = Settings.model_validate({"off_limits": [{"universe": 3, "why": "house lights"}]}).off_limits
    assert slots == (OffLimits(universe=3, why="house lights", first=1, last=512),)


@pytest.mark.parametrize(
    "table",
    [
        {"universe": 3},
        {"universe": 0, "why": "x"},
        {"universe": 3, "why": ""},
        {"universe": 3, "why": "x", "first": 0},
        {"universe": 3, "why": "x", "last": 513},
        {"universe": 3, "why": "x", "first": 25, "last": 24},
        {"universe": 3, "why": "x", "frist": 25},
    ],
)
def test_off_limits_that_cannot_be_meant_is_refused(table: dict[str, object]) -> None:
    for setting in ("off_limits", "reserved"):
        with pytest.raises(ValidationError):
            Settings.model_validate({setting: [table]})


def test_what_is_reserved_is_written_as_what_is_off_limits() -> None:
    slots = Settings.model_validate({"reserved": [{"universe": 3, "first": 100, "why": "visitors"}]}).reserved
    assert slots == (Reserved(universe=3, why="visitors", first=100, last=512),)


def test_two_roles_cannot_share_a_pin() -> None:
    with pytest.raises(ValidationError):
        Settings(lead_pin="1379", crew_pin="1379")


def test_the_demo_has_a_folder_of_its_own(tmp_path: object) -> None:
    settings = Settings.model_validate({"data": tmp_path, "demo": True})
    assert settings.show_folder == settings.data / "demo"


def test_every_setting_says_what_it_is_and_what_is_right() -> None:
    for field, option in options().values():
        assert field.description
        assert field.description.endswith(".")
        assert option.right
