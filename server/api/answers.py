"""What each call answers, as `described.py` writes it down: the tests hold every real answer against it."""

from typing import Any

from pydantic import BaseModel, ConfigDict, Field

from server.api.beside_answers import BesideAnswer, GivenBackAnswer
from server.api.focus_answers import CallAnswer, FocusOfOne, FocusRow, HandChange
from server.api.found_answers import CheckRound, CheckVerdict, FaultCase, FaultGuide, PhotoAnswer
from server.api.handover_answers import HandedBefore, HandoverCompared
from server.api.heard_answers import HeardAnswer, SourcesAnswer
from server.api.output_answers import NodesAnswer, OutputsAnswer, OutputsCheck, UniverseOutputs
from server.api.patch_answers import Answer as _Answer
from server.api.patch_answers import ExplanationAnswer, FixtureAnswer, PatchFinding, PatchPlan, RigReport
from server.api.profile_answers import (
    CheckAnswer,
    DraftAnswer,
    FileProblem,
    LibraryAnswer,
    ProfileAdded,
    ProfileFound,
    ProfilesAdded,
    StarAnswer,
    TriedAnswer,
)
from server.paperwork.profile_file import ProfileFile

__all__ = [
    "ANSWERS",
    "EXAMPLES",
    "FILE_BODY",
    "FOR_THE_LEAD",
    "GIVE_FILES",
    "OPEN_TO_ALL",
    "TAKE_FILES",
    "ProblemDetails",
]


class LookAnswer(_Answer):
    """A look, and how many fixtures are in it."""

    id: str
    name: str
    fixtures: int


class LookListed(LookAnswer):
    """The same in the list of all."""

    baseline: bool


class ConsoleShows(_Answer):
    """A universe that consoles drive: what these are called, and which fixtures a look would hold."""

    universe: int
    names: list[str]
    fixtures: list[str]


class BaselineAnswer(_Answer):
    """The look everything falls back to; null for home."""

    look: str | None


class RecallAnswer(_Answer):
    """The state that it led to, as the live channel counts."""

    rev: int


class OrderAnswer(_Answer):
    """Fixture ids in the order they are focused."""

    order: list[str]


class SettingsAnswer(_Answer):
    """The lead's settings: seconds, and a share of full."""

    light_up_s: float
    light_up_level: float
    let_go_s: float


class _ShowContents(_Answer):
    name: str
    venue: str
    fixtures: int
    profiles: int
    looks: int
    faults: int
    photos: int


class _ShowHolds(_ShowContents):
    people: int


class _SaidProblem(FileProblem):
    said: list[Any]


class ShowReport(_Answer):
    """What a show file holds, what it replaces, and why it may not come in.

    left_out: values of looks that would strobe or set something off.
    """

    holds: _ShowHolds
    replaces: _ShowContents
    left_out: int
    problems: list[_SaidProblem]


class _UniverseHealth(_Answer):
    universe: int = Field(ge=1, le=63999)
    frames_per_s: float
    slots_in_use: int


class HealthAnswer(_Answer):
    """Whether it runs, where the page is found, and how fast each universe leaves."""

    status: str = Field(pattern="^(ok|troubled)$")
    version: str
    uptime_s: float
    phones: int
    interface: str | None
    interface_is_there: bool
    pages: list[str]
    name: str | None
    universes: list[_UniverseHealth]


class _Owner(_Answer):
    fixture: str
    channel: int | None
    first: int
    last: int


class _Person(_Answer):
    id: str
    name: str
    role: str = Field(pattern="^(lead|crew|house)$")


class SessionAnswer(BaseModel):
    """Who a phone is."""

    person: _Person


class JoinAnswer(SessionAnswer):
    """The same, with the token for all further calls."""

    token: str


class _PortAddress(_Answer):
    port_address: int = Field(ge=0, le=32767)
    why: str
    said: list[Any]


class UniverseAnswer(_Answer):
    """512 levels as they leave, what set each, and which slots belong to which fixture.

    artnet: the Port-Address it is sent to, in numbers and in words; null where Art-Net has none. heard: who
    else sends on it now.
    """

    universe: int = Field(ge=1, le=63999)
    frames_per_s: float
    artnet: _PortAddress | None
    heard: list[HeardAnswer]
    slots: list[int] = Field(min_length=512, max_length=512)
    set_by: list[str] = Field(min_length=512, max_length=512)
    owners: list[_Owner]


class PinAnswer(_Answer):
    """Whose PIN it is; given: whether the settings name another, for the next start."""

    role: str
    given: bool


class ProblemDetails(BaseModel):
    """RFC 9457. detail: a sentence a technician understands. More members where they help."""

    model_config = ConfigDict(extra="allow")

    type: str
    title: str
    status: int
    detail: str
    fixture: str | None = None
    holder: str | None = None
    ask: str | None = None


class _Sentence(_Answer):
    text: str
    said: list[Any]


class _Somebody(_Answer):
    id: str
    name: str


class ChangeAnswer(_Answer):
    """Something that somebody changed at `at` (wall-clock seconds of the laptop).

    final: it is never undone. undone: by whom, where it is. can: whether undoing it, or doing it again while
    it is undone, is possible as it is; will: what that would do; why, ask: the refusal, and what helps.
    """

    change: int
    at: float
    by: _Somebody
    fixtures: list[str]
    what: str
    said: list[Any]
    final: bool
    undone: str | None
    can: bool
    will: _Sentence | None
    why: _Sentence | None
    ask: str | None


class RecordEntry(_Answer):
    """One change with one fixture, or with none: names and places as they were then."""

    number: int
    at: float
    person: str
    name: str
    role: str
    phone: str
    fixture: str
    channel: int | None
    position: str
    unit: str
    house: bool
    what: str
    said: list[Any]


# A request that is done where the demo runs, for who reads the description, and for what tries it.
EXAMPLES: dict[tuple[str, str], Any] = {
    ("post", "/api/join"): {"name": "Mo", "pin": "2749"},
    ("patch", "/api/people/{person}"): {"name": "Mo 2"},
    ("put", "/api/pins/{role}"): {"pin": "2749"},
    ("post", "/api/fixtures"): {
        "channel": 901,
        "position": "Floor",
        "profile": "dimmer",
        "mode": "1-slot",
        "universe": 9,
        "address": 1,
    },
    ("patch", "/api/fixtures/{fixture}"): {
        "purpose": "Window",
        "cap": 0.8,
        "universe": None,
        "address": None,
    },
    ("patch", "/api/fixtures"): {"fixtures": {"demo-21": {"address": 480}}, "add": [], "remove": []},
    ("post", "/api/patch/check"): {"put": [{"id": "demo-21", "universe": 1, "address": 1}], "remove": []},
    ("post", "/api/patch/plan"): {"fixtures": None, "from": "4.1", "rules": {"gap": 0, "together": True}},
    ("post", "/api/looks"): {"name": "Preset", "fixtures": None},
    ("patch", "/api/looks/{look}"): {"name": "Preset", "replace": True},
    ("put", "/api/looks/baseline"): {"look": None},
    ("post", "/api/looks/{look}/recall"): {"fade_s": 2.5},
    ("put", "/api/order"): {"order": ["demo-21", "demo-1"]},
    ("post", "/api/explain"): {"answers": [{"asked": "demo-21", "lit": ["demo-22"]}]},
    ("patch", "/api/settings"): {"light_up_s": 1.0, "light_up_level": 0.8},
    ("put", "/api/outputs/sync"): {"sacn": 0, "artnet": False},
    ("put", "/api/outputs/{universe}"): {"outputs": [], "steady": None},
    ("post", "/api/outputs/{universe}/check"): {
        "outputs": [{"by": "sacn", "to": "host", "host": "127.0.0.1"}]
    },
    ("patch", "/api/focus"): {"level": 0.4, "fade_s": 3.0, "beside": "position", "beside_level": 0.1},
}
# Every call that answers with JSON, by its way and address as FastAPI knows them.
ANSWERS: dict[tuple[str, str], Any] = {
    ("get", "/api/health"): HealthAnswer,
    ("post", "/api/join"): JoinAnswer,
    ("get", "/api/session"): SessionAnswer,
    ("patch", "/api/people/{person}"): SessionAnswer,
    ("put", "/api/pins/{role}"): PinAnswer,
    ("get", "/api/fixtures"): list[FixtureAnswer],
    ("post", "/api/fixtures"): FixtureAnswer,
    ("patch", "/api/fixtures"): list[FixtureAnswer],
    ("patch", "/api/fixtures/{fixture}"): FixtureAnswer,
    ("get", "/api/patch/problems"): list[PatchFinding],
    ("post", "/api/patch/check"): list[PatchFinding],
    ("post", "/api/patch/plan"): PatchPlan,
    ("get", "/api/changes"): list[ChangeAnswer],
    ("post", "/api/explain"): list[ExplanationAnswer],
    ("get", "/api/record"): list[RecordEntry],
    ("get", "/api/check/rounds"): list[CheckRound],
    ("get", "/api/check/rounds/{number}"): list[CheckVerdict],
    ("get", "/api/faults"): list[FaultCase],
    ("get", "/api/faults/guide"): FaultGuide,
    ("get", "/api/handover/last"): HandedBefore,
    ("post", "/api/handover/compare"): HandoverCompared,
    ("get", "/api/photos"): list[PhotoAnswer],
    ("post", "/api/photos"): PhotoAnswer,
    ("get", "/api/looks"): list[LookListed],
    ("post", "/api/looks"): LookAnswer,
    ("get", "/api/looks/console"): list[ConsoleShows],
    ("put", "/api/looks/baseline"): BaselineAnswer | LookAnswer,
    ("patch", "/api/looks/{look}"): LookAnswer,
    ("post", "/api/looks/{look}/recall"): RecallAnswer,
    ("get", "/api/looks/{look}/hand"): list[HandChange],
    ("post", "/api/looks/{look}/hand"): LookAnswer,
    ("put", "/api/order"): OrderAnswer,
    ("patch", "/api/settings"): SettingsAnswer,
    ("get", "/api/profiles"): list[ProfileFound],
    ("put", "/api/profiles/{key}/star"): StarAnswer,
    ("get", "/api/focus"): list[FocusRow],
    ("get", "/api/focus/{fixture}"): FocusOfOne,
    ("patch", "/api/focus"): CallAnswer,
    ("post", "/api/profiles/draft"): DraftAnswer,
    ("post", "/api/profiles/check"): CheckAnswer,
    ("post", "/api/profiles/try"): TriedAnswer,
    ("get", "/api/profiles/{key}"): ProfileFile,
    ("post", "/api/profiles"): ProfileAdded | ProfilesAdded,
    ("get", "/api/teach/draft"): ProfileFile,
    ("get", "/api/library"): LibraryAnswer,
    ("post", "/api/rig/import"): RigReport,
    ("post", "/api/show/import"): ShowReport,
    ("get", "/api/universes/{universe}"): UniverseAnswer,
    ("get", "/api/nodes"): NodesAnswer,
    ("get", "/api/outputs"): OutputsAnswer,
    ("put", "/api/outputs/sync"): OutputsAnswer,
    ("put", "/api/outputs/{universe}"): UniverseOutputs,
    ("post", "/api/outputs/{universe}/check"): OutputsCheck,
    ("get", "/api/sources"): SourcesAnswer,
    ("get", "/api/beside"): BesideAnswer,
    ("post", "/api/beside/{universe}/leave"): GivenBackAnswer,
}
OPEN_TO_ALL = {("get", "/api/health"), ("post", "/api/join")}  # no token is asked for
TAKE_FILES = {
    *(
        ("post", f"/api/{place}")
        for place in ("rig/import", "show/import", "photos", "library", "handover/compare")
    ),
    *(("post", f"/api/{place}") for place in ("profiles", "profiles/check", "profiles/try")),
}
# Every call that answers with a file, and of what kind it is.
GIVE_FILES: dict[tuple[str, str], tuple[str, dict[str, str]]] = {
    ("get", "/api/rig/export.mvr"): ("application/octet-stream", {"type": "string", "format": "binary"}),
    ("get", "/api/rig/export.csv"): ("text/csv", {"type": "string"}),
    ("get", "/api/record.csv"): ("text/csv", {"type": "string"}),
    ("get", "/api/rig/export.json"): ("application/json", {"type": "object"}),
    ("post", "/api/library"): ("application/x-ndjson", {"type": "string"}),
    ("get", "/api/show/export"): ("application/octet-stream", {"type": "string", "format": "binary"}),
    ("get", "/api/check/rounds/{number}/table.csv"): ("text/csv", {"type": "string"}),
    ("get", "/api/faults/table.csv"): ("text/csv", {"type": "string"}),
    ("get", "/api/photos/{photo}"): ("image/jpeg", {"type": "string", "format": "binary"}),
    ("get", "/api/handover.zip"): ("application/zip", {"type": "string", "format": "binary"}),
    ("get", "/api/papers/{name}.pdf"): ("application/pdf", {"type": "string", "format": "binary"}),
    ("get", "/api/papers/labels.pdf"): ("application/pdf", {"type": "string", "format": "binary"}),
}
# Asked for with GET, and still not for everybody.
FOR_THE_LEAD = {
    ("get", f"/api/{place}") for place in ("show/export", "handover.zip", "handover/last", "beside")
}
FILE_BODY = {
    "required": True,
    "content": {
        "multipart/form-data": {
            "schema": {
                "type": "object",
                "properties": {"file": {"type": "string", "format": "binary"}},
                "required": ["file"],
            }
        },
        "application/octet-stream": {"schema": {"type": "string", "format": "binary"}},
    },
}
