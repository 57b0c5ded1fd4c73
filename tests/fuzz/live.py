"""What phones send to the demo's rig, line by line: done, refused in words, or not understood, in words."""

from collections.abc import Callable, Sequence
from typing import Any

from server.api.messages import MessageError, Signal, read
from server.demo import demo_events
from server.journal.words import event_from_text, event_to_text
from server.paperwork.library import Library, read_folder
from server.places import profiles_folder
from server.rig.universe import OffLimits
from server.stage.decide import Rules
from server.stage.events import Event
from server.stage.holds import Refused
from server.stage.stage import Stage
from server.stage.state import Person, State

__all__ = ["SEEDS", "WORDS", "one"]

_PEOPLE = (Person("a", "Ada", "lead", ""), Person("m", "Mo", "crew", ""), Person("h", "Hal", "house", ""))
_RULES = Rules((OffLimits(3, 1, 24, "house lights"),))
_DEMO = Stage(_RULES)
_DEMO.happen(demo_events(Library(read_folder(profiles_folder()))))
_DEMO.state.people.update({person.id: person for person in _PEOPLE})

SEEDS = (
    b'{"do":"take","n":1,"fixture":"demo-21"}\n'
    b'{"do":"set","n":2,"fixture":"demo-21","values":{"Pan":0.5,"Tilt":{"raw":9},"Dimmer":{"physical":1}}}\n'
    b'{"do":"let_go","n":3,"fixture":"*"}',
    b'{"do":"light_up","n":1,"fixture":"demo-21","as_it_hangs":true}\n{"do":"take","n":1,"fixture":"demo-21","over":true}',
    b'{"do":"set_many","n":1,"values":{"demo-21":{"Shutter1":{"range":"Open"}},"demo-2":{"Dimmer":1}},"held":true}',
    b'{"do":"slot","n":1,"universe":1,"slot":512,"raw":255}\n{"do":"slot","n":2,"universe":1,"slot":512,"raw":null}',
    b'{"do":"blackout","n":1,"on":true}\n{"do":"master","n":2,"value":0.25}',
    b'{"do":"hands_on","n":1,"fixture":"demo-21","on":true}\n{"do":"fault","n":2,"fixture":"demo-21","words":"stiff"}',
    b'{"do":"aloft","n":1,"position":"LX 1"}\n{"do":"going_dark","n":2}',
    b'{"do":"going_dark","n":2}\n{"do":"dark_answer","n":3,"yes":false}',
    b'{"do":"arm","n":1,"fixture":"demo-75","reason":"rehearsal","seconds":60}\n\n\n'
    b'{"do":"run","n":2,"fixture":"demo-75","values":{"Haze1":0.5},"press":1,"on":true}\n\n\n'
    b'{"do":"lift_flashes","n":3,"fixture":"demo-28"}',
    b'{"do":"teach_begin","n":1,"universe":9,"first":1,"slots":3}\n{"do":"teach_hold","n":2,"press":1,"look":0,"on":true}\n'
    b'{"do":"teach_answer","n":3,"answer":"red"}\n{"do":"teach_take","n":4}\n{"do":"teach_end","n":5}',
    b'{"do":"seek","n":1}\n{"do":"seek_answer","n":2,"mine":null}\n{"do":"seek_end","n":3,"found":true}',
    b'{"do":"act","n":1,"fixture":"demo-21","control":"Control1","function":"Recalibrate","held":true}',
    b'{"do":"signal","n":1,"rtt_ms":18}\n\n{"do":"fault","n":2,"fixture":"demo-21","words":null}',
)
WORDS = (
    *(b'"demo-1"', b'"demo-31"', b'"demo-95"', b'"Dimmer"', b'"Pan"', b'"Shutter1"', b'"Zoom"', b'"raw":'),
    *(
        b'"physical":',
        b'"range":',
        b'"fixture":',
        b'"values":',
        b'"held":true',
        b"null",
        b"1e309",
        b"-0",
        b"\n",
    ),
)


def one(data: bytes) -> None:
    """Each line comes from the next of three people; what happens can be kept, and read again."""
    stage = Stage(_RULES, _again(_DEMO.state))
    for at, line in enumerate(data.decode("utf-8", "replace").split("\n")):
        person = _PEOPLE[at % len(_PEOPLE)].id
        answer = _answer(stage, line, person, float(at))
        if isinstance(answer, str):
            assert answer.endswith((".", "?")), answer
            continue
        for event in answer:
            assert event_from_text(*event_to_text(event)) == event


def _answer(stage: Stage, line: str, person: str, now: float) -> Sequence[Event] | str:
    try:
        asked = read(line, person)
    except MessageError as wrong:
        return wrong.why
    if isinstance(asked.command, Signal):
        return ()
    answer = stage.ask(asked.command, now)
    return answer.why if isinstance(answer, Refused) else answer


def _again(state: State) -> State:
    """The state once more, to be changed: only its tables are, and what is in them."""
    return State(**{name: _copied(getattr(state, name)) for name in state.__slots__})


def _copied(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _copied(inner) for key, inner in value.items()}
    alike: Callable[[Any], Any] = set if isinstance(value, set) else lambda same: same
    return alike(value)
