"""The start: settings, the checks that come before anything is touched, the welcome, then serving."""

import errno
import os
import socket
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

import ifaddr

from server import __version__, welcome
from server.command_line import SettingsError, read_settings
from server.settings import Destination, Settings

__all__ = ["by_address", "check_folder", "check_port", "run"]


def run(arguments: Sequence[str]) -> int:
    """Serve until Ctrl-C and return the exit code; 2, with nothing changed, when a setting cannot be used."""
    try:
        settings = by_address(read_settings(arguments))
        facts = _facts(settings)
        if settings.rig and not settings.rig.is_file():
            raise SettingsError(f"--rig {settings.rig} is not a file: give the path of a rig file.")
        check_port(settings.host, settings.port)
        check_folder(settings.show_folder)
    except SettingsError as why:
        print(f"focuscall: {why}", file=sys.stderr)
        return 2
    _show(welcome.lines(settings, facts, colour=sys.stdout.isatty() and "NO_COLOR" not in os.environ))
    from server.app import serve  # numpy and the rest load while the welcome is read

    return serve(settings)


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


def _facts(settings: Settings) -> welcome.Facts:
    here = {
        str(ip.ip): adapter.nice_name for adapter in ifaddr.get_adapters() for ip in adapter.ips if ip.is_IPv4
    }
    chosen = settings.interface
    if chosen and chosen not in here:
        raise SettingsError(
            f"--interface {chosen} is not on this machine: give one of {', '.join(sorted(here))}."
        )
    served = [settings.host] if settings.host in here else sorted(here, key=lambda ip: ip.startswith("127."))
    reachable = [ip for ip in served if not ip.startswith("127.")] or served
    interface = f"{here[chosen]}, {chosen}" if chosen else "the system's choice; --interface picks one"
    return welcome.Facts(__version__, reachable, interface)


def _show(lines: Sequence[str]) -> None:
    for line in lines:
        try:
            print(line, flush=True)
        except UnicodeEncodeError:  # an old console without block characters: the address above must do
            continue
