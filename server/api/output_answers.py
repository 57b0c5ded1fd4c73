"""What the calls about where levels go answer."""

from typing import Any

from pydantic import Field

from server.api.patch_answers import Answer

__all__ = ["NodesAnswer"]


class _Sentence(Answer):
    why: str
    said: list[Any]


class _Port(Answer):
    """A socket of a node; net.devices.Port has what the marks mean.

    universe: the one of ours that is sent there, or null.
    """

    bind_index: int
    number: int
    is_output: bool
    port_address: int = Field(ge=0, le=32767)
    has_data: bool
    merges: bool
    latest: bool
    has_fault: bool
    by_sacn: bool
    universe: int | None


class _Node(Answer):
    """An Art-Net node. says_ip: the address that is in its reply. seen_s: seconds since its last answer."""

    host: str
    mac: str
    name: str
    long_name: str
    says_ip: str
    firmware: str
    report: str
    failsafe: str | None = Field(pattern="^(hold|zero|full|scene)$")
    seen_s: float
    lost: bool
    ports: list[_Port]


class _NodeFinding(_Sentence):
    hosts: list[str]
    alert: bool


class NodesAnswer(Answer):
    """The nodes that answer, or have today. asked: whether they are polled. alert: the lead is told of it."""

    asked: bool
    interface: str | None
    nodes: list[_Node]
    findings: list[_NodeFinding]
