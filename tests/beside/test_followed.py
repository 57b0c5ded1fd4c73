"""What the lead is told about universes that follow a console."""

from server.beside.followed import followed
from server.engine.following import Followed, Standing
from server.stage.shared import Shared

__all__: list[str] = []

NOW = 1000.0
SHARED = Shared("slots", follow=True)


def _one(universe: int, standing: Standing, **more: object) -> Followed:
    return Followed(universe, SHARED, standing, NOW - 5, ("Front desk",), **more)  # type: ignore[arg-type]


def _told(*all_: Followed) -> list[str]:
    return list(followed(all_, NOW, lambda at: f"{NOW - at:g} s ago").values())


def test_nothing_is_said_of_a_console_that_is_there_or_may_be() -> None:
    assert _told(_one(1, "live"), _one(2, "unheard", listens=NOW + 1)) == []


def test_who_has_gone_and_what_became_of_it_is_one_sentence_for_all_universes_of_a_kind() -> None:
    assert _told(_one(1, "held"), _one(3, "held"), _one(2, "baseline")) == [
        "Front desk has not been heard on universe 1, 3 since 5 s ago: its last levels are held.",
        "Front desk has not been heard on universe 2 since 5 s ago: all there goes to the baseline.",
    ]


def test_who_is_back_is_said_for_a_quarter_of_a_minute() -> None:
    assert _told(_one(1, "live", returned=NOW - 14)) == ["Front desk is back on universe 1 since 14 s ago."]
    assert _told(_one(1, "live", returned=NOW - 16)) == []


def test_that_nobody_was_heard_yet_is_said_with_what_is_sent_meanwhile() -> None:
    told = _told(Followed(3, SHARED, "unheard", NOW - 5), _one(4, "unheard", levels=b""))
    assert told == [
        "Nothing is heard on universe 3 yet: it shows the baseline until a console is.",
        "Nothing is heard on universe 4 yet: what left before the start is held.",
    ]
