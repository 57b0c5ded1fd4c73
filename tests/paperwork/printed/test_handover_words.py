"""The words of the hand-over: the same gaps in every language, and no promise nobody can keep."""

import re
from dataclasses import asdict
from string import Formatter

from server.paperwork.printed.handover_words import HANDOVER, HandoverWords
from server.paperwork.printed.letters import Letters
from server.stage.focus import MARKS
from server.stage.state import ROLES

__all__: list[str] = []


def _texts(words: HandoverWords) -> dict[str, str]:
    told = asdict(words)
    flat = {name: text for name, text in told.items() if isinstance(text, str)}
    tables = {name: table for name, table in told.items() if isinstance(table, dict)}
    return flat | {f"{name} {key}": text for name, table in tables.items() for key, text in table.items()}


def _gaps(text: str) -> list[str]:
    return sorted(name for _, name, _, _ in Formatter().parse(text) if name)


def test_each_language_says_the_same_things_with_the_same_gaps() -> None:
    english = {name: _gaps(text) for name, text in _texts(HANDOVER["en"]).items()}
    for words in HANDOVER.values():
        told = _texts(words)
        assert {name: _gaps(text) for name, text in told.items()} == english
        assert all(told.values())
        assert words.roles.keys() == set(ROLES)
        assert words.marks.keys() == set(MARKS)


def test_the_words_can_be_printed_and_promise_nothing() -> None:
    never = re.compile(r"\b(safe|isolated|dead|compliant|sicher|spannungsfrei)\b", re.IGNORECASE)
    letters = Letters()
    for words in HANDOVER.values():
        for text in _texts(words).values():
            letters.clean(text)
            assert not never.search(text), text
    assert not letters.lacked
