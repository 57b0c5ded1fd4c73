"""The Art-Net nodes that answer, over HTTP."""

import time
from typing import Any

from fastapi import APIRouter

from server.api.people import Asker, RoomOf
from server.net.nodes import Node

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["nodes"])


@router.get("/nodes")
async def nodes(asker: Asker, room: RoomOf) -> list[dict[str, Any]]:
    """Every page of every node that answers polls; empty where none is looked for."""
    found = room.nodes.all() if room.nodes else []
    return [_shown(node, time.monotonic()) for node in found]


def _shown(node: Node, now: float) -> dict[str, Any]:
    """seen_s: seconds since its last answer. outputs, inputs, merging: Port-Addresses."""
    reply = node.reply
    return {
        "host": node.host,
        "bind_index": node.bind_index,
        "name": reply.port_name or reply.long_name,
        "outputs": list(reply.outputs),
        "inputs": list(reply.inputs),
        "merging": list(reply.merging),
        "seen_s": round(now - node.seen_s, 1),
    }
