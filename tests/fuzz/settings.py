"""The file settings.toml: settings, or SettingsError with a sentence."""

import atexit
import tempfile
from pathlib import Path

from server.command_line import SETTINGS_FILE, SettingsError, read_settings

__all__ = ["SEEDS", "WORDS", "one"]

_FOLDER = tempfile.TemporaryDirectory()
_FILE = (Path(_FOLDER.name) / SETTINGS_FILE).open("wb", buffering=0)  # opened once: that is what takes long
atexit.register(_FILE.close)
SEEDS = (
    b'crew_pin = "2749"\npriority = 90\nsteady = [4]\n'
    b'[[off_limits]]\nuniverse = 3\nfirst = 1\nlast = 24\nwhy = "house lights"\n',
    b'port = 8020\nhost = "127.0.0.1"\ninterface = "10.0.0.5"\nsacn_to = ["10.0.0.5", "node.example:5569"]\n',
    b'open_house = true\nsource_name = "House"\nartnet_broadcast = true\nartnet_offset = 1\nartnet_to = []\n',
)
WORDS = (
    b"= true",
    b"= [",
    b"= {",
    b"[[off_limits]]",
    b"why = ",
    b"lead_pin = ",
    b"nan",
    b"inf",
    b"1979-05-27",
)


def one(data: bytes) -> None:
    """Nothing else is raised."""
    _FILE.seek(0)
    _FILE.truncate()
    _FILE.write(data)
    refused = _refused()
    assert refused is None or refused.endswith("."), refused


def _refused() -> str | None:
    try:
        read_settings(["--data", _FOLDER.name])
    except SettingsError as wrong:
        return str(wrong)
    return None
