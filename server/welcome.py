"""What the terminal shows at the start: where phones go, who may join, where levels leave, what to mind."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import segno

from server.rig.universe import OffLimits
from server.settings import Destination, Settings

__all__ = ["NAME", "Facts", "code_lines", "join_address", "lines", "moved_lines", "named_lines", "show"]

NAME = "focuscall.local"  # what is asked for; another server here may have it already

_NOBODY = "nobody: only the machines given at the start get levels"


@dataclass(frozen=True, slots=True)
class Facts:
    """What only this machine knows.

    version: of focuscall.
    addresses: this machine's IPv4 addresses that phones may reach, the likeliest first; never empty.
    interface: the network interface levels leave by, in words.
    warnings: sentences about a network choice that looks wrong.
    is_named: whether the page is announced by name.
    """

    version: str
    addresses: Sequence[str]
    interface: str
    warnings: Sequence[str] = ()
    is_named: bool = False


def lines(settings: Settings, facts: Facts, pins: Mapping[str, str | None], colour: bool) -> list[str]:
    """Return the lines to print.

    pins: those in force, by role; None: one that the lead has set on the page. colour: whether the terminal
    understands colours.
    """
    rows = [
        *_pages(settings, facts.addresses),
        *([("or by name", f"{_page(settings, NAME)} (in a moment)")] if facts.is_named else []),
        ("PINs", _pins(settings.open_house, pins)),
        ("Network", facts.interface),
        ("sACN goes to", _sacn(settings)),
        ("Art-Net goes to", _artnet(settings)),
        *(("Off limits", _off_limits(slots)) for slots in settings.off_limits),
        ("Data folder", str(settings.show_folder)),
        *(("Look at this", warning) for warning in facts.warnings),
    ]
    return [
        f"focuscall {facts.version}",
        "",
        *(_row(label, text) for label, text in rows),
        "",
        *_code(settings, facts.addresses[0], pins.get("crew"), colour),
        "",
        "  DMX512 has no error checking and is not for hazardous applications. Level 0 is not isolated.",
        "  Rules on site, local codes and licensed people come first. Ctrl-C ends the streams and stops.",
    ]


def moved_lines(settings: Settings, addresses: Sequence[str], name: str | None, colour: bool) -> list[str]:
    """Return the lines to print when phones find the page at other addresses than before; never empty.

    The code holds no PIN: only their hashes are known by then.
    """
    rows = [*_pages(settings, addresses), *([("or by name", _page(settings, name))] if name else [])]
    return [
        "",
        "  This laptop has a new address.",
        *(_row(label, text) for label, text in rows),
        "",
        *_code(settings, addresses[0], None, colour),
    ]


def named_lines(settings: Settings, name: str) -> list[str]:
    """Return the lines to print when the page got another name than the one in the welcome."""
    return ["", f"  {NAME} is taken on this network.", _row("By name", _page(settings, name))]


def show(printed: Sequence[str]) -> None:
    """Print the lines, except those that this terminal cannot write."""
    for line in printed:
        try:
            print(line, flush=True)
        except UnicodeEncodeError:  # an old console without block characters: the address above must do
            continue


def join_address(address: str, port: int, pin: str | None) -> str:
    """Return what the join code holds: capitals and digits only, which makes the smallest code."""
    return f"HTTP://{address}:{port}/" + (f"J/{pin}" if pin else "")


def code_lines(text: str, colour: bool) -> list[str]:
    """Return the text as a code a phone's camera reads: half blocks, two rows of modules a line.

    With colour it is dark on light whatever the terminal's own colours are; without, light modules are
    drawn, which is right on a dark terminal. The quiet zone is 4 modules wide.
    Source: ISO/IEC 18004, quiet zone of 4 modules (from memory).
    """
    rows = [list(row) for row in segno.make(text, error="m", micro=False).matrix_iter(border=4)]
    rows += [[0] * len(rows[0])] * (len(rows) % 2)
    glyphs = {(0, 0): "█", (0, 1): "▀", (1, 0): "▄", (1, 1): " "}
    drawn = (
        "".join(glyphs[pair] for pair in zip(upper, lower, strict=True))
        for upper, lower in zip(rows[::2], rows[1::2], strict=True)
    )
    before, after = ("\x1b[97;40m", "\x1b[0m") if colour else ("", "")
    return [f"  {before}{line}{after}" for line in drawn]


def _page(settings: Settings, host: str) -> str:
    return f"http://{host}:{settings.port}/"


def _pages(settings: Settings, addresses: Sequence[str]) -> list[tuple[str, str]]:
    return [("or" if at else "Phones open", _page(settings, each)) for at, each in enumerate(addresses)]


def _row(label: str, text: str) -> str:
    return f"  {label:<16}{text}"


def _code(settings: Settings, address: str, pin: str | None, colour: bool) -> list[str]:
    return [
        *code_lines(join_address(address, settings.port, pin), colour),
        "  Point a phone's camera at this to join the crew. Phone and laptop must be on the same network.",
    ]


def _pins(open_house: bool, pins: Mapping[str, str | None]) -> str:
    shown = ", ".join(f"{role} {pin or 'as the lead has set it on the page'}" for role, pin in pins.items())
    if open_house:
        return "none: everyone who opens the page is crew" + (f" ({shown})" if shown else "")
    return shown


def _sacn(settings: Settings) -> str:
    if settings.artnet_to and not settings.sacn_to:
        return _NOBODY
    return _machines(settings.sacn_to) or f"everyone listening (multicast), priority {settings.priority}"


def _artnet(settings: Settings) -> str:
    if settings.artnet_broadcast:
        return "the whole interface (broadcast)"
    if settings.sacn_to and not settings.artnet_to:
        return _NOBODY
    return _machines(settings.artnet_to) or "the nodes that answer a poll"


def _machines(destinations: Sequence[Destination]) -> str:
    return ", ".join(f"{to.host}:{to.port}" for to in destinations)


def _off_limits(slots: OffLimits) -> str:
    return f"universe {slots.universe}, slots {slots.first} to {slots.last}: {slots.why}"
