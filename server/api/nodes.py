"""The Art-Net nodes that answer, over HTTP, and what is to be said of them."""

import time
from dataclasses import asdict
from typing import Any

from fastapi import APIRouter

from server.api.people import Asker, RoomOf
from server.api.problems import Problem
from server.api.view import said_view
from server.net.devices import Device, Port, devices
from server.rig.said import Said

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["nodes"])


@router.get("/nodes")
async def nodes(asker: Asker, room: RoomOf) -> dict[str, Any]:
    """Every node that answers polls, or did today, and what is to be said of them."""
    ours = room.routing().port_addresses(room.engine.rig.universes, room.stage.state.routes)
    now = time.monotonic()
    return {
        "asked": bool(room.nodes and room.nodes.targets),
        "interface": room.laptop.interface,
        "nodes": [_shown(one, ours, now) for one in devices(room.nodes.all() if room.nodes else ())],
        "findings": [
            {"hosts": list(one.hosts), "alert": one.is_alert, **said_view(one.said)}
            for one in room.about_nodes()
        ],
    }


@router.delete("/nodes/{host}", status_code=204)
async def forget(host: str, asker: Asker, room: RoomOf) -> None:
    """Take a node that is lost off the list; one that answers stays."""
    if asker.role != "lead":
        raise Problem(403, Said("Only the lead can do that."))
    if room.nodes is None or not room.nodes.forget(host):
        raise Problem(404, Said("No node at {address} is lost.", address=host[:40]))


def _shown(device: Device, ours: dict[int, int], now: float) -> dict[str, Any]:
    """As `NodeAnswer` says."""
    return {
        "host": device.host,
        "mac": device.mac,
        "name": device.name,
        "long_name": device.long_name,
        "says_ip": device.says_ip,
        "firmware": device.firmware,
        "report": device.report,
        "failsafe": device.failsafe,
        "seen_s": round(now - device.seen_s, 1),
        "lost": device.lost,
        "ports": [_port(port, ours) for port in device.ports],
    }


def _port(port: Port, ours: dict[int, int]) -> dict[str, Any]:
    return {**asdict(port), "universe": ours.get(port.port_address)}
