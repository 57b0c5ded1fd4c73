"""The command line and settings.toml: read, joined, checked, and refused in one sentence."""

import argparse
import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from pydantic.fields import FieldInfo

from server.settings import Settings, default_data_folder, options

__all__ = ["SETTINGS_FILE", "SettingsError", "read_settings"]

SETTINGS_FILE = "settings.toml"


class SettingsError(Exception):
    """A setting cannot be used; the text is one sentence that says what to do."""


def read_settings(arguments: Sequence[str]) -> Settings:
    """Read settings.toml of the data folder and lay the command line over it.

    Raises SettingsError: the first value that cannot be used, in one sentence. Nothing is written.
    `--help` and a misspelt option end the process, as argparse does.
    """
    given = {
        name: value for name, value in vars(_parser().parse_args(arguments)).items() if value is not None
    }
    data = Path(given.get("data") or default_data_folder())
    return _settings(_read_file(data / SETTINGS_FILE) | given)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="focuscall",
        allow_abbrev=False,
        description="Serve the rig to every phone in the room.",
        epilog="settings.toml in the data folder may hold the same settings, and a few more: see README.md.",
    )
    for name, (field, option) in options().items():
        if option.flag is None:
            continue
        kind: dict[str, Any] = {"action": "store_true"}
        if option.metavar:
            kind = {"metavar": option.metavar, "action": "append" if _is_list(field) else "store"}
        default = "" if field.default in (None, False, ()) or field.default_factory else f" [{field.default}]"
        help_line = f"{field.description}{default}".replace("%", "%%")
        parser.add_argument(option.flag, dest=name, default=None, help=help_line, **kind)
    return parser


def _is_list(field: FieldInfo) -> bool:
    return bool(field.default == ())


def _read_file(path: Path) -> dict[str, Any]:
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return {}
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise SettingsError(f"{path} cannot be read ({error}): correct the file or move it away.") from None
    known = {name for name, (_, option) in options().items() if option.in_file}
    for key in table:
        if key in options() and key not in known:
            raise SettingsError(f"{path} says '{key}': give it on the command line and remove it there.")
        if key not in known:
            raise SettingsError(
                f"{path} has a setting '{key}' that is not known: remove it, or use one of "
                f"{', '.join(sorted(known))}."
            )
    return table


def _settings(values: dict[str, Any]) -> Settings:
    try:
        return Settings(**values)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
    if not first["loc"]:
        raise SettingsError(str(first["msg"]).removeprefix("Value error, "))
    name, *inside = first["loc"]
    option = options()[str(name)][1]
    value = values[str(name)]
    if inside and isinstance(value, list):
        value = value[int(inside[0])]
    raise SettingsError(f"{option.flag or name} {_shown(value)} cannot be used: give {option.right}.")


def _shown(value: object) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{key} = {inner}" for key, inner in value.items())
    return str(value)
