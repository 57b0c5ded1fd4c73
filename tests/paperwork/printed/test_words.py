"""The words of papers: the same gaps in every language, and none left over."""

import re
from dataclasses import fields
from string import Formatter

from server.paperwork.printed.letters import Letters
from server.paperwork.printed.papers import PAPERS
from server.paperwork.printed.words import LANGUAGES, Words

__all__: list[str] = []


def _texts(words: Words) -> dict[str, str]:
    found: dict[str, str] = {}
    for each in fields(words):
        value = getattr(words, each.name)
        found |= (
            {f"{each.name} {key}": text for key, text in value.items()}
            if isinstance(value, dict)
            else {each.name: value}
        )
    return found


def _gaps(text: str) -> list[str]:
    return sorted(name for _, name, _, _ in Formatter().parse(text) if name)


def test_each_language_says_the_same_things_with_the_same_gaps() -> None:
    english = _texts(LANGUAGES["en"])
    for words in LANGUAGES.values():
        told = _texts(words)
        assert told.keys() == english.keys()
        assert {name: _gaps(text) for name, text in told.items()} == {n: _gaps(t) for n, t in english.items()}
        assert all(told.values())


def test_every_paper_has_a_title_in_each_language() -> None:
    for words in LANGUAGES.values():
        assert words.titles.keys() == {*PAPERS, "labels", "handover"}


def test_the_words_can_be_printed() -> None:
    for words in LANGUAGES.values():
        letters = Letters()
        for text in _texts(words).values():
            letters.clean(text)
        assert not letters.lacked


def test_no_paper_claims_what_nobody_can_promise() -> None:
    never = re.compile(
        r"\b(safe|isolated|dead|compliant|emergency stop|sicher|spannungsfrei)\b", re.IGNORECASE
    )
    for words in LANGUAGES.values():
        for text in _texts(words).values():
            assert not never.search(text.replace("is not isolated", "")), text
