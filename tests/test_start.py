"""server/start.py: what is refused before anything is touched."""

import os
import signal
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from server.command_line import SettingsError
from server.places import package_folder
from server.settings import Destination, Settings
from server.start import by_address, check_folder, check_port, run
from tests.ports import free_port
from tests.servers import ENOUGH_S, START_S

__all__: list[str] = []


def test_a_port_in_use_is_refused_and_nothing_is_made(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = str(taken.getsockname()[1])
        code = run(["--host", "127.0.0.1", "--port", port, "--data", str(tmp_path / "data")])
    assert code == 2
    assert f"Port {port} is in use" in capsys.readouterr().err
    assert not (tmp_path / "data").exists()


def test_an_interface_that_is_not_here_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # 203.0.113.0/24 is kept for documentation (RFC 5737): no machine has it.
    assert run(["--interface", "203.0.113.9", "--data", str(tmp_path / "data")]) == 2
    assert "127.0.0.1" in capsys.readouterr().err
    assert not (tmp_path / "data").exists()


def test_a_rig_file_that_is_not_there_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--rig", str(tmp_path / "rig.csv"), "--data", str(tmp_path / "data")]) == 2
    assert "rig.csv is not a file" in capsys.readouterr().err


def test_a_folder_of_profiles_that_is_not_there_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["--profiles", str(tmp_path / "files"), "--data", str(tmp_path / "data")]) == 2
    assert "files is not a folder" in capsys.readouterr().err
    assert not (tmp_path / "data").exists()


def test_an_address_of_another_machine_cannot_be_served() -> None:
    with pytest.raises(SettingsError, match="not an address of this machine"):
        check_port("203.0.113.9", 8010)


def test_a_free_port_is_free_again_after_the_check() -> None:
    port = free_port(socket.SOCK_STREAM)
    check_port("127.0.0.1", port)
    check_port("127.0.0.1", port)


def test_a_data_folder_that_is_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "data").write_text("")
    with pytest.raises(SettingsError, match="give another with --data"):
        check_folder(tmp_path / "data")


def test_a_data_folder_is_made_with_the_folders_above_it(tmp_path: Path) -> None:
    check_folder(tmp_path / "a" / "b")
    assert list((tmp_path / "a" / "b").iterdir()) == []


def test_a_machine_that_levels_go_to_is_looked_up_once() -> None:
    settings = by_address(
        Settings.model_validate({"sacn_to": ["localhost:5570"], "artnet_to": ["127.0.0.9"]})
    )
    assert settings.sacn_to == (Destination("127.0.0.1", 5570),)
    assert settings.artnet_to == (Destination("127.0.0.9", 6454),)


def test_a_machine_nobody_knows_is_refused() -> None:
    # An empty label is no name (RFC 1035, 2.3.1), so no server is asked.
    with pytest.raises(SettingsError, match="is not known on this network"):
        by_address(Settings.model_validate({"sacn_to": ["node..local"]}))


@pytest.mark.skipif(os.name == "nt", reason="a test cannot press Ctrl-C for another program there")
def test_ctrl_c_ends_the_streams_and_the_exit_code_is_0(tmp_path: Path) -> None:
    port, sacn_in, artnet_in = free_port(socket.SOCK_STREAM), free_port(), free_port()
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as receiver:
        receiver.bind(("127.0.0.1", 0))
        receiver.settimeout(START_S)
        command = [sys.executable, "-m", "server", "--demo", "--data", str(tmp_path), "--host", "127.0.0.1"]
        command += ["--port", str(port), "--interface", "127.0.0.1", "--listen", "0"]
        command += ["--sacn-to", f"127.0.0.1:{receiver.getsockname()[1]}"]
        command += ["--sacn-in-port", str(sacn_in), "--artnet-in-port", str(artnet_in)]
        server = subprocess.Popen(
            command, cwd=package_folder().parent, stdout=subprocess.PIPE, encoding="utf-8"
        )
        try:
            receiver.recv(1024)
            server.send_signal(signal.SIGINT)
            said = server.communicate(timeout=ENOUGH_S)[0]
        finally:
            server.kill()
        assert server.returncode == 0
        assert f"http://127.0.0.1:{port}/" in said
        # E1.31-2018, 6.2.6: bit 6 of Options (octet 112) ends a stream, in three packets.
        receiver.settimeout(0)
        ended: dict[int, int] = {}
        while True:
            try:
                packet = receiver.recv(1024)
            except BlockingIOError:
                break
            if packet[18:22] == b"\0\0\0\4" and packet[112] & 0x40:
                universe = int.from_bytes(packet[113:115])
                ended[universe] = ended.get(universe, 0) + 1
        assert ended
        assert set(ended.values()) == {3}
