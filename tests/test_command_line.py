"""server/command_line.py: the command line and settings.toml, joined."""

from pathlib import Path

import pytest

from server.command_line import SettingsError, read_settings
from server.rig.universe import OffLimits

__all__: list[str] = []


def test_the_command_line_wins_over_the_file(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text('port = 8020\ncrew_pin = "1793"\n')
    settings = read_settings(["--data", str(tmp_path), "--port", "8030"])
    assert (settings.port, settings.crew_pin) == (8030, "1793")


def test_an_option_can_be_repeated(tmp_path: Path) -> None:
    settings = read_settings(["--data", str(tmp_path), "--sacn-to", "10.0.0.5", "--sacn-to", "10.0.0.6:5570"])
    assert [(to.host, to.port) for to in settings.sacn_to] == [("10.0.0.5", 5568), ("10.0.0.6", 5570)]


def test_off_limits_come_from_the_file_of_the_data_folder_also_in_the_demo(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text(
        '[[off_limits]]\nuniverse = 3\nfirst = 1\nlast = 24\nwhy = "house lights"\n'
    )
    settings = read_settings(["--data", str(tmp_path), "--demo"])
    assert settings.off_limits == (OffLimits(universe=3, first=1, last=24, why="house lights"),)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("prot = 8020", "'prot'"),
        ("demo = true", "on the command line"),
        ("port = ", "cannot be read"),
        ("priority = 300", "priority 300 cannot be used: give a number from 0 to 200."),
        ("steady = [1, 0]", "steady 0 cannot be used"),
        ('[[off_limits]]\nuniverse = 3\nfirts = 1\nwhy = "x"', "firts = 1"),
        ('names = ["http://rig"]', "names http://rig cannot be used: give a list of names"),
    ],
)
def test_a_wrong_line_of_the_file_is_refused_in_words(tmp_path: Path, text: str, words: str) -> None:
    (tmp_path / "settings.toml").write_text(text)
    with pytest.raises(SettingsError) as refusal:
        read_settings(["--data", str(tmp_path)])
    assert words in str(refusal.value)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--port", "70000"], "--port 70000 cannot be used: give a number from 1 to 65535."),
        (["--sacn-to", "ok", "--sacn-to", "[::1]"], "--sacn-to [::1] cannot be used"),
        (["--interface", "eth0"], "--interface eth0 cannot be used: give an IPv4 address of this machine."),
        (["--crew-pin", "12"], "--crew-pin 12 cannot be used: give four to eight digits."),
        (["--crew-pin", "1793", "--lead-pin", "1793"], "Two roles have the same PIN"),
    ],
)
def test_a_wrong_value_is_refused_in_words(tmp_path: Path, arguments: list[str], words: str) -> None:
    with pytest.raises(SettingsError) as refusal:
        read_settings(["--data", str(tmp_path), *arguments])
    assert words in str(refusal.value)


def test_a_misspelt_option_ends_with_2(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as end:
        read_settings(["--sacn", "10.0.0.5"])
    assert end.value.code == 2
    assert "--sacn" in capsys.readouterr().err


def test_a_pin_that_is_not_given_is_nothing_here(tmp_path: Path) -> None:
    settings = read_settings(["--data", str(tmp_path), "--crew-pin", "1793"])
    assert (settings.lead_pin, settings.crew_pin, settings.house_pin) == (None, "1793", None)
    bare, given = settings.without_pins()
    assert given == {"crew": "1793"}
    assert "1793" not in repr(bare)
