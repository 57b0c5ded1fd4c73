"""What a change is about, as people call it."""

import pytest

from server.stage.state import Look
from server.stage.subject import called_unit, fixtures_in, named
from tests.rigs import RIG, state_with

__all__: list[str] = []


@pytest.mark.parametrize(
    ("subject", "words"),
    [
        ("fixture head", "21"),
        ("patch head", "21"),
        ("fixture gone", "that"),
        ("look one", 'the look "One"'),
        ("slot 3.7", "universe 3 slot 7"),
        ("master", "the master"),
        ("recalled", "the looks that are up"),
        ("profile x", "that"),
    ],
)
def test_a_subject_has_a_name(subject: str, words: str) -> None:
    state = state_with()
    state.looks["one"] = Look("one", "One", {})
    assert str(named(state, subject)) == words


def test_a_unit_without_a_channel_is_called_after_its_place() -> None:
    assert called_unit(RIG["work"]) == "a fixture without a channel"
    assert fixtures_in(("fixture a", "patch a", "master")) == ["a"]
