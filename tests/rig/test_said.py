"""Sentences that remember what they were made from."""

import pytest

from server.rig.said import Said


def test_a_sentence_is_its_text() -> None:
    assert Said("{who} has {unit}.", who="Mo", unit=21) == "Mo has 21."
    assert Said("Half is {share}.", share=0.5) == "Half is 0.5."


def test_what_it_was_made_from_travels_with_it_sentences_inside_too() -> None:
    place = Said("{position} unit {unit}", position="Bridge", unit="3")
    said = Said("{who} has {where}.", who="Mo", where=place)
    assert said == "Mo has Bridge unit 3."
    assert said.parts() == [
        "{who} has {where}.",
        {"who": "Mo", "where": ["{position} unit {unit}", {"position": "Bridge", "unit": "3"}]},
    ]
    assert Said("Nothing.").parts() == ["Nothing."]


def test_names_may_hold_braces() -> None:
    assert Said("{name} is here.", name="{who}") == "{who} is here."


def test_a_fact_that_is_missing_is_a_mistake_of_ours() -> None:
    with pytest.raises(KeyError):
        Said("{who} is here.")


def test_a_sentence_comes_back_from_its_parts() -> None:
    place = Said("{position} unit {unit}", position="{Bridge}", unit=3)
    said = Said("{who} has {where}, {share}.", who="Mo", where=place, share=0.5)
    again = Said.of(said.parts())
    assert (again, again.parts()) == (said, said.parts())
    assert Said.of(["Nothing."]) == "Nothing."


@pytest.mark.parametrize("parts", [[], [1], ["{a}", {"a": None}], ["a", "b"], ["{a}", {"a": [1]}]])
def test_what_is_no_sentence_is_refused(parts: list[object]) -> None:
    with pytest.raises(ValueError, match="no "):
        Said.of(parts)
