"""Every setting: its default, its limits and its sentence for --help."""

import ipaddress
import os
import re
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator
from pydantic.fields import FieldInfo

from server.rig.universe import SLOTS, UNIVERSE_LAST, OffLimits, Reserved

__all__ = ["Destination", "Option", "Settings", "default_data_folder", "options"]


_Port = Annotated[int, Field(ge=1, le=65535)]
_Universe = Annotated[int, Field(ge=1, le=UNIVERSE_LAST)]
_PORT = "a number from 1 to 65535"
_PIN = "four to eight digits"
_ROLES = ("lead", "crew", "house")
_RANGE = "universe (1 to 63999), first and last (slots 1 to 512, in this order) and why, nothing else"
_HOST = "a name or an IPv4 address, with or without :PORT"


@dataclass(frozen=True, slots=True)
class Option:
    """How a setting is given.

    right: what a usable value looks like, the end of "... cannot be used: give ...".
    flag: on the command line; None where it stands in settings.toml only.
    in_file: whether settings.toml may hold it.
    """

    right: str
    flag: str | None = None
    metavar: str | None = None
    in_file: bool = True


@dataclass(frozen=True, slots=True)
class Destination:
    """A machine that levels are sent to: a name or IPv4 address, and a UDP port 1-65535."""

    host: str
    port: int


def _range(kind: type[OffLimits] | type[Reserved]) -> BeforeValidator:
    def parse(given: object) -> object:
        if not isinstance(given, dict):
            return given
        table: dict[str, Any] = {"first": 1, "last": SLOTS} | given
        numbers = [table.get(key) for key in ("universe", "first", "last")]
        universe, first, last = (number if type(number) is int else 0 for number in numbers)
        fits = 1 <= universe <= UNIVERSE_LAST and 1 <= first <= last <= SLOTS
        right = fits and isinstance(table.get("why"), str)
        if not right or not table["why"].strip() or len(table) != 4:
            raise ValueError("not universe, first, last and why")
        return kind(universe, first, last, table["why"])

    return BeforeValidator(parse)


def _destination(port: int) -> BeforeValidator:
    def parse(given: object) -> object:
        if not isinstance(given, str):
            return given
        found = re.fullmatch(r"([A-Za-z0-9.-]+)(?::([0-9]{1,5}))?", given)
        if not found or not 1 <= int(found[2] or port) <= 65535:
            raise ValueError("not HOST or HOST:PORT")
        return Destination(found[1], int(found[2] or port))

    return BeforeValidator(parse)


def _ipv4(given: object) -> str:
    return str(ipaddress.IPv4Address(str(given)))


def _source_name(given: object) -> str:
    name = str(given)
    if not 1 <= len(name.encode()) <= 63 or "\0" in name:  # E1.31-2018, 6.2.2: 64 octets, zero-terminated
        raise ValueError("not 1 to 63 octets")
    return name


def _name(given: object) -> str:
    if not re.fullmatch(r"[A-Za-z0-9_-]+(\.[A-Za-z0-9_-]+)*", str(given)):
        raise ValueError("not a name")
    return str(given).lower()


_Pin = Annotated[str, Field(pattern=r"^[0-9]{4,8}$", coerce_numbers_to_str=True)]


class Settings(BaseModel):
    """All that can be configured. Without a PIN for a role, api/pins.py finds one."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    port: Annotated[_Port, Option(_PORT, "--port", "PORT")] = Field(
        8010, description="Port of the page that phones open."
    )
    host: Annotated[str, Option("an address of this machine", "--host", "ADDR")] = Field(
        "0.0.0.0",  # noqa: S104
        description="Address that the page is served on; 0.0.0.0 is every network of this machine.",
    )
    data: Annotated[Path, Option("a folder", "--data", "DIR", in_file=False)] = Field(
        default_factory=lambda: default_data_folder(),
        description="Data folder: shows, backups and settings.toml.",
    )
    demo: Annotated[bool, Option("true or false", "--demo", in_file=False)] = Field(
        False, description="Serve the invented demo rig, kept in the folder 'demo' inside the data folder."
    )
    rig: Annotated[Path | None, Option("a file", "--rig", "FILE", in_file=False)] = Field(
        None, description="Rig file (a table, .json or .mvr) that the rig is made from at the start."
    )
    profiles: Annotated[Path | None, Option("a folder", "--profiles", "DIR", in_file=True)] = Field(
        None,
        description="One more folder of profile files (.gdtf, .json) that the library is kept in step with.",
    )
    interface: Annotated[
        Annotated[str, BeforeValidator(_ipv4)] | None,
        Option("an IPv4 address of this machine", "--interface", "ADDR"),
    ] = Field(None, description="IPv4 address of the network interface that levels leave by and arrive on.")
    sacn_to: Annotated[
        tuple[Annotated[Destination, _destination(5568)], ...],
        Option(_HOST, "--sacn-to", "HOST[:PORT]"),
    ] = Field((), description="Send sACN to this machine, and nothing elsewhere; can be given several times.")
    artnet_to: Annotated[
        tuple[Annotated[Destination, _destination(6454)], ...],
        Option(_HOST, "--artnet-to", "HOST[:PORT]"),
    ] = Field(
        (), description="Send Art-Net to this machine, and nothing elsewhere; can be given several times."
    )
    sacn_in_port: Annotated[_Port, Option(_PORT, "--sacn-in-port", "PORT")] = Field(
        5568, description="UDP port on which consoles are heard by sACN."
    )
    artnet_in_port: Annotated[_Port, Option(_PORT, "--artnet-in-port", "PORT")] = Field(
        6454, description="UDP port on which consoles are heard by Art-Net, and nodes found."
    )
    listen_s: Annotated[float, Field(ge=0, le=10), Option("a number from 0 to 10", "--listen", "SECONDS")] = (
        Field(3.0, description="Seconds to listen for consoles before a universe is first sent; 0: none.")
    )
    sync_pause_ms: Annotated[float, Field(ge=0, le=10), Option("a number from 0 to 10")] = Field(
        1.0, description="Milliseconds between the levels of a frame and what synchronises them."
    )
    lead_pin: Annotated[_Pin | None, Option(_PIN, "--lead-pin", "PIN")] = Field(
        None, description="PIN that makes a phone the lead's; drawn at each start until the lead sets one."
    )
    crew_pin: Annotated[_Pin | None, Option(_PIN, "--crew-pin", "PIN")] = Field(
        None, description="PIN for crew; drawn at each start until the lead sets one."
    )
    house_pin: Annotated[_Pin | None, Option(_PIN, "--house-pin", "PIN")] = Field(
        None,
        description="PIN for venue staff, who reach house fixtures only; drawn at each start "
        "until the lead sets one.",
    )
    open_house: Annotated[bool, Option("true or false", "--open")] = Field(
        False, description="Ask for no PIN: everyone is crew, and this machine itself is the lead."
    )
    source_name: Annotated[str, BeforeValidator(_source_name), Option("one to 63 octets of text")] = Field(
        "focuscall", description="Name that sACN receivers show for this source."
    )
    priority: Annotated[int, Field(ge=0, le=200), Option("a number from 0 to 200")] = Field(
        100, description="sACN priority, 0 to 200; a console usually sends with 100."
    )
    artnet_broadcast: Annotated[bool, Option("true or false")] = Field(
        False, description="Broadcast Art-Net to the whole interface, for nodes that answer no poll."
    )
    artnet_offset: Annotated[int, Field(ge=0, le=1), Option("0 or 1")] = Field(
        0, description="Universe less Port-Address: 0 sends universe 1 to Art-Net 1, 1 sends it to Art-Net 0."
    )
    steady: Annotated[tuple[_Universe, ...], Option("a list of universes, 1 to 63999")] = Field(
        (), description="Universes sent 44 times a second even when nothing changes."
    )
    names: Annotated[
        tuple[Annotated[str, BeforeValidator(_name)], ...], Option("a list of names, such as rig.example.org")
    ] = Field(
        (), description="Further names that the page may be opened by; addresses and NAME.local always work."
    )
    off_limits: Annotated[tuple[Annotated[OffLimits, _range(OffLimits)], ...], Option(_RANGE)] = Field(
        (), description="Slots that are never driven, with the reason; one [[off_limits]] table each."
    )
    reserved: Annotated[tuple[Annotated[Reserved, _range(Reserved)], ...], Option(_RANGE)] = Field(
        (), description="Slots kept free for something; patching there warns. One [[reserved]] table each."
    )

    @model_validator(mode="after")
    def _pins_differ(self) -> Self:
        given = [pin for pin in (self.lead_pin, self.crew_pin, self.house_pin) if pin]
        if len(set(given)) < len(given):
            raise ValueError("Two roles have the same PIN: give each role a PIN of its own.")
        return self

    def without_pins(self) -> tuple["Settings", dict[str, str]]:
        """The same without any PIN, and the PINs that were given, by role."""
        given = {role: pin for role in _ROLES if (pin := getattr(self, f"{role}_pin"))}
        return self.model_copy(update={f"{role}_pin": None for role in _ROLES}), given

    @property
    def show_folder(self) -> Path:
        """Where the show is kept: the data folder, or the folder of the demo inside it."""
        return self.data / "demo" if self.demo else self.data


def options() -> dict[str, tuple[FieldInfo, Option]]:
    """Return each setting's field and how it is given, by name, in the order of --help."""
    found = {}
    for name, field in Settings.model_fields.items():
        found[name] = (field, next(mark for mark in field.metadata if isinstance(mark, Option)))
    return found


def default_data_folder() -> Path:
    """Return where this system keeps a person's program data."""
    if sys.platform == "win32":
        home = os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local"
    elif sys.platform == "darwin":
        home = Path.home() / "Library" / "Application Support"
    else:
        home = os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share"
    return Path(home) / "focuscall"
