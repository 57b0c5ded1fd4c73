"""Every event is known by its name and says who did it."""

from server.stage import events
from server.stage.events import EVENTS, Event

__all__: list[str] = []


def test_every_event_is_found_by_its_name() -> None:
    assert {kind.__name__ for kind in Event.__subclasses__()} == set(EVENTS)
    assert all(getattr(events, name) is kind for name, kind in EVENTS.items())
    assert set(EVENTS) | {"EVENTS", "Event"} == set(events.__all__)


def test_every_event_names_who_did_it_first() -> None:
    assert all(next(iter(kind.__dataclass_fields__)) == "person" for kind in EVENTS.values())
