"""What the calls about where levels go answer."""

from typing import Any

from pydantic import Field

from server.api.patch_answers import Answer

__all__ = ["NodesAnswer", "OutputsAnswer", "OutputsCheck", "UniverseOutputs"]


class _ToldInWords(Answer):
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


class _NodeFinding(_ToldInWords):
    hosts: list[str]
    alert: bool


class NodesAnswer(Answer):
    """The nodes that answer, or have today. asked: whether they are polled. alert: the lead is told of it."""

    asked: bool
    interface: str | None
    nodes: list[_Node]
    findings: list[_NodeFinding]


class _Output(Answer):
    """See stage.outputs.Output."""

    by: str = Field(pattern="^(sacn|artnet)$")
    to: str = Field(pattern="^(multicast6?|host|nodes|broadcast)$")
    host: str
    port: int | None
    name: str
    priority: int | None
    number: int | None
    interface: str
    most_hz: float


class _OutputTold(_Output):
    """The same in words. on_wire: what the universe is called there; null: Art-Net has no number for it."""

    on_wire: int | None
    why: str
    said: list[Any]


class UniverseOutputs(Answer):
    """Where a universe goes. own: it has outputs of its own; own_steady: or null, where it is as usual."""

    universe: int = Field(ge=1, le=63999)
    own: bool
    steady: bool
    own_steady: bool | None
    frames_per_s: float
    outputs: list[_OutputTold]
    findings: list[_ToldInWords]


class _Interface(Answer):
    address: str
    name: str
    main: bool


class _Sync(Answer):
    """pause_ms: before synchronisation, where the lead has set it."""

    sacn: int
    artnet: bool
    pause_ms: float | None


class OutputsAnswer(Answer):
    """Where every universe goes. usual: those without outputs of their own.

    offset: universe less Port-Address. usual_pause_ms: before synchronisation, as the settings say.
    """

    interfaces: list[_Interface]
    priority: int
    offset: int
    usual: list[_Output]
    sync: _Sync
    usual_pause_ms: float
    findings: list[_ToldInWords]
    universes: list[UniverseOutputs]


class OutputsCheck(Answer):
    """What a change would do. changes: whether it is any. listens: what is listened to before it is done."""

    changes: bool
    listens: _ToldInWords | None
    begins: list[_OutputTold]
    ends: list[_OutputTold]
    stays: list[_OutputTold]
