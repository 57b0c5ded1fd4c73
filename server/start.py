"""The start: settings, the checks that come before anything is touched, the welcome, then serving."""

import errno
import os
import socket
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from server import __version__, welcome
from server.command_line import SettingsError, read_settings
from server.memory import give_back
from server.net.interfaces import choose, reachable, read_interfaces
from server.settings import Destination, Settings

__all__ = ["by_address", "check_folder", "check_port", "run"]


def run(arguments: Sequence[str]) -> int:
    """Serve until Ctrl-C and return the exit code; 2, with nothing changed, when a setting cannot be used."""
    try:
        settings = by_address(read_settings(arguments))
        facts = _on_network(settings)
        if settings.rig and not settings.rig.is_file():
            raise SettingsError(f"--rig {settings.rig} is not a file: give the path of a rig file.")
        if settings.profiles and not settings.profiles.is_dir():
            raise SettingsError(f"--profiles {settings.profiles} is not a folder: give one of profile files.")
        check_port(settings.host, settings.port)
        check_folder(settings.show_folder)
    except SettingsError as why:
        print(f"focuscall: {why}", file=sys.stderr)
        return 2
    settings, given = settings.without_pins()
    colour = sys.stdout.isatty() and "NO_COLOR" not in os.environ
    give_back()
    from server.app import serve  # numpy and the rest are not loaded for a sentence

    return serve(settings, given, lambda pins: welcome.show(welcome.lines(settings, facts, pins, colour)))


def by_address(settings: Settings) -> Settings:
    """Return the settings with every machine that levels go to as an IPv4 address; names are looked up once.

    Raises SettingsError: a name nobody on this network knows.
    """
    return settings.model_copy(
        update={
            "sacn_to": tuple(_by_address("--sacn-to", to) for to in settings.sacn_to),
            "artnet_to": tuple(_by_address("--artnet-to", to) for to in settings.artnet_to),
        }
    )


def check_port(host: str, port: int) -> None:
    """Raise SettingsError when nothing can be served on this address and TCP port."""
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        if os.name != "nt":  # there, this option would let two programs share the port
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
            probe.listen()
        except socket.gaierror:
            raise SettingsError(f"--host {host} is not known: give an address of this machine.") from None
        except OSError as error:
            raise SettingsError(_why_no_port(host, port, error)) from None


def check_folder(folder: Path) -> None:
    """Make the data folder; raise SettingsError when it cannot be written."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            pass
    except OSError as error:
        raise SettingsError(
            f"The data folder {folder} cannot be written ({error.strerror}): give another with --data."
        ) from None


def _by_address(flag: str, to: Destination) -> Destination:
    try:
        return Destination(socket.gethostbyname(to.host), to.port)
    except (OSError, UnicodeError):
        raise SettingsError(
            f"{flag} {to.host} is not known on this network: give its IPv4 address."
        ) from None


def _why_no_port(host: str, port: int, error: OSError) -> str:
    if error.errno == errno.EADDRINUSE:
        return (
            f"Port {port} is in use, perhaps by a focuscall that is still running: stop that, or give "
            "another with --port."
        )
    if error.errno == errno.EADDRNOTAVAIL:
        return f"--host {host} is not an address of this machine: leave it out, or give one that is."
    if error.errno == errno.EACCES:
        return f"Port {port} needs rights this account does not have: give one from 1024 up with --port."
    return f"Port {port} of {host} cannot be served ({error.strerror}): give another with --port or --host."


def _on_network(settings: Settings) -> welcome.Facts:
    """Say which interface levels leave by, and what a person should know about it.

    Raises SettingsError: the one asked for is not here. While serving it is waited for; at the start it is
    more likely mistyped.
    """
    found = read_interfaces()
    choice = choose(found, settings.interface)
    if settings.interface and all(each.address != settings.interface for each in found):
        raise SettingsError(f"--interface: {choice.warnings[0]}")
    given = bool(settings.sacn_to or settings.artnet_to)
    wanted = settings.interface or (choice.interface.address if choice.interface and not given else None)
    shown = next((str(each) for each in found if each.address == wanted), None)
    interface = shown or "whichever leads to the machines given"
    phones = [each.address for each in reachable(found, settings.host)]
    served = [each.address for each in found if settings.host in ("0.0.0.0", each.address)]  # noqa: S104
    addresses = phones or served[:1] or ["127.0.0.1"]
    warnings = () if given else choice.warnings
    return welcome.Facts(__version__, addresses, interface, warnings, is_named=bool(phones))
