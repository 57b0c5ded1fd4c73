"""The register of faults: read, taken away as a table, and the questions that lead to a cause."""

import time
from typing import Annotated, Any

from fastapi import APIRouter, Query, Response

from server.api.fault_view import case_view
from server.api.people import Asker, RoomOf
from server.api.problems import Problem
from server.api.room import Room
from server.api.view import said_view
from server.paperwork.fault_csv import write_faults
from server.rig.guide import CAUSES, FACTS, QUESTIONS, SYMPTOMS, filled, guide
from server.rig.patch import Fixture, spans
from server.rig.said import Said
from server.stage.cases import cases_of
from server.stage.found import Case
from server.stage.state import Person, State

__all__ = ["router"]

SILENT_S = 8.0  # a node that has missed two polls
NONE_HEARD = Said(
    "No other source is heard here; one that sends to the node alone would not be heard by this laptop."
)
NO_NODES = Said("No node answers this laptop, so nothing is known of nodes.")

router = APIRouter(prefix="/api/faults", tags=["faults"])


@router.get("")
async def faults(asker: Asker, room: RoomOf, fixture: str = "") -> list[dict[str, Any]]:
    """Every fault in the register, or those of one fixture and of its place; open ones first."""
    state = room.stage.state
    return [case_view(state, case) for case in _wanted(state, asker, fixture)]


@router.get("/table.csv")
async def table(asker: Asker, room: RoomOf) -> Response:
    """The same as a table, one row a fault."""
    text = write_faults(_wanted(room.stage.state, asker, ""))
    headers = {"Content-Disposition": 'attachment; filename="faults.csv"'}
    return Response(text.encode("utf-8-sig"), media_type="text/csv; charset=utf-8", headers=headers)


def _wanted(state: State, asker: Person, fixture: str) -> list[Case]:
    unit = state.fixtures.get(fixture)
    found = cases_of(state, unit) if unit else [] if fixture else list(state.cases.values())
    if asker.role == "house":
        found = [case for case in found if (one := state.fixtures.get(case.fixture)) and one.house]
    order = {"open": 0, "fixed": 1, "verified": 2}
    return sorted(found, key=lambda case: (order[case.status], -case.number))


@router.get("/guide")
async def guided(
    asker: Asker,
    room: RoomOf,
    fixture: str,
    symptom: str,
    answers: Annotated[str, Query(pattern="^[yn]*$", max_length=20)] = "",
) -> dict[str, Any]:
    """The next question or the cause, after these answers ("yn": yes, then no); and what the laptop knows."""
    state = room.stage.state
    unit = state.fixtures.get(fixture)
    if unit is None or symptom not in SYMPTOMS:
        raise Problem(404, Said("There is no such fixture any more."))
    facts = _facts(room, unit)
    at = guide(symptom, [each == "y" for each in answers], facts)
    gaps = {"universe": unit.universe or "-", "address": unit.address or "-", "mode": unit.mode}
    question, cause = QUESTIONS.get(at.question), CAUSES.get(at.cause)
    known = [said_view(FACTS[name][0 if facts[name] else 1]) for name in at.known]
    unknown = [
        *([] if "second_source" in facts else [NONE_HEARD]),
        *([] if "node_silent" in facts else [NO_NODES]),
    ]
    return {
        "question": said_view(filled(question.words, **gaps)) if question else None,
        "cause": said_view(filled(cause, **gaps)) if cause else None,
        "asked": at.asked,
        "known": known,
        "unknown": [said_view(each) for each in unknown],
    }


def _facts(room: Room, unit: Fixture) -> dict[str, bool]:
    """What the laptop knows of it, by names of rig.guide.FACTS; what is not there has to be asked."""
    state = room.stage.state
    mode = state.mode(unit.id)
    facts = {"patched": unit.address is not None and mode is not None}
    if not facts["patched"] or mode is None:
        return facts
    mine = spans(unit, mode)
    facts["sent"] = _level(room, unit.id) > 0
    facts["overlap"] = any(
        other.id != unit.id and span.first <= theirs.last and theirs.first <= span.last
        for span in mine
        for other, _, theirs in state.spans(span.universe)
    )
    beside = (f for f, other in state.fixtures.items() if other.universe == unit.universe and f != unit.id)
    if any(state.judged[f].works for f in beside if f in state.judged):
        facts["others_work"] = True
    if room.sources.live(unit.universe or 0, time.monotonic()):
        facts["second_source"] = True  # that none is heard proves nothing
    if (silent := _node_silent(room, unit)) is not None:
        facts["node_silent"] = silent
    return facts


def _level(room: Room, fixture: str) -> float:
    """Its intensity as it leaves, 0..1."""
    levels = zip(room.engine.rig.span, room.engine.intensities.tolist(), strict=True)
    return float(dict(levels).get(fixture, 0.0))


def _node_silent(room: Room, unit: Fixture) -> bool | None:
    """Whether all nodes that sent its universe out have gone silent; None: none was ever heard."""
    universe = unit.universe or 0
    ports = room.routing().port_addresses((universe,), room.stage.state.routes).keys()
    nodes = [node for node in (room.nodes.all() if room.nodes else ()) if ports & node.reply.outputs]
    if not nodes:
        return None
    return all(time.monotonic() - node.seen_s > SILENT_S for node in nodes)
