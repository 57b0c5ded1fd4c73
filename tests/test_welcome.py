"""server/welcome.py: what the terminal shows."""

from dataclasses import replace

import pytest

from server.settings import Settings
from server.welcome import Facts, code_lines, join_address, lines, moved_lines, named_lines, show

__all__: list[str] = []

HERE = Facts("0.0.0", ["192.168.1.20", "10.0.0.5"], "Ethernet, 192.168.1.20", ["That is a guest network."])


PINS: dict[str, str | None] = {"lead": "4821", "crew": "1793", "house": "5206"}


def shown(pins: dict[str, str | None] = PINS, **settings: object) -> str:
    return "\n".join(lines(Settings.model_validate(settings), HERE, pins, colour=False))


def test_it_says_where_phones_go_and_who_may_join() -> None:
    text = shown(port=8020)
    assert "http://192.168.1.20:8020/" in text
    assert "http://10.0.0.5:8020/" in text
    assert "lead 4821, crew 1793, house 5206" in text
    assert "That is a guest network." in text


def test_it_says_where_levels_go() -> None:
    assert "multicast" in shown()
    assert "10.0.0.9:5568" in shown(sacn_to=["10.0.0.9"])
    assert "broadcast" in shown(artnet_broadcast=True)
    # A machine given by hand is where levels go, and nowhere else.
    assert "multicast" not in shown(artnet_to=["10.0.0.9"])
    assert "answer a poll" not in shown(sacn_to=["10.0.0.9"])
    slots = {"universe": 3, "first": 1, "last": 24, "why": "house lights"}
    assert "universe 3, slots 1 to 24: house lights" in shown(off_limits=[slots])


def test_it_cautions_and_promises_nothing() -> None:
    text = shown()
    assert "not for hazardous applications" in text
    assert "not isolated" in text
    assert "local codes" in text


def test_an_open_house_shows_no_pin() -> None:
    assert "none: everyone" in shown({}, open_house=True)


def test_a_pin_the_lead_has_set_on_the_page_is_not_known_here_and_not_in_the_code() -> None:
    text = shown({**PINS, "crew": None})
    assert "lead 4821, crew as the lead has set it on the page, house 5206" in text
    plain = code_lines(join_address("192.168.1.20", 8010, None), colour=False)
    assert "\n".join(plain) in text


def test_the_join_code_is_as_small_as_a_code_can_be() -> None:
    # ISO/IEC 18004 (from memory): version 2 is 25 modules wide, 33 with the quiet ones; two rows a line.
    code = code_lines(join_address("192.168.1.20", 8010, "1793"), colour=False)
    assert len(code) == 17
    assert {len(line.strip()) for line in code} == {33}


@pytest.mark.parametrize("colour", [True, False])
def test_the_code_is_light_around_and_dark_inside(colour: bool) -> None:
    first, *_ = code_lines("HTTP://192.168.1.20:8010/J/1793", colour)
    assert "█" * 33 in first
    assert ("\x1b[97;40m" in first) == colour


def test_a_page_with_a_name_shows_it_beside_the_address() -> None:
    named = replace(HERE, is_named=True)
    text = "\n".join(lines(Settings(port=8020), named, PINS, colour=False))
    assert "http://focuscall.local:8020/" in text
    assert "focuscall.local" not in shown(port=8020)


def test_a_new_address_is_shown_with_a_code_that_holds_it() -> None:
    settings = Settings(port=8020)
    new = moved_lines(settings, ["10.0.0.77", "192.168.1.20"], "focuscall-2.local", colour=False)
    text = "\n".join(new)
    assert "http://10.0.0.77:8020/" in text
    assert "http://192.168.1.20:8020/" in text
    assert "http://focuscall-2.local:8020/" in text
    code = code_lines(join_address("10.0.0.77", 8020, None), colour=False)
    assert [line for line in new if line in code] == code
    assert ".local" not in "\n".join(moved_lines(settings, ["10.0.0.77"], None, colour=False))


def test_another_name_than_the_one_in_the_welcome_is_said() -> None:
    text = "\n".join(named_lines(Settings(port=8020), "focuscall-2.local"))
    assert "http://focuscall-2.local:8020/" in text
    assert "focuscall.local is taken" in text


def test_a_terminal_without_blocks_gets_the_rest(
    capfdbinary: pytest.CaptureFixture[bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdout", open(1, "w", encoding="ascii", closefd=False))  # noqa: SIM115
    show(["Phones open", "█▀", "Ctrl-C"])
    assert capfdbinary.readouterr().out == b"Phones open\nCtrl-C\n"
