"""Seeded faults, each answered truthfully: the right cause in five questions. And the tables hold."""

import pytest

from server.rig.guide import CAUSES, FACTS, QUESTIONS, SYMPTOMS, guide

__all__: list[str] = []

MOST = 5

# What a person would see in a rig that has that one thing wrong, by question; what is not named is no. And
# what the laptop knows there. Common practice says what each fault looks like, no source.
WELL = {"power", "menu_address", "menu_mode", "wrong_mode", "wrong_address", "terminated", "other_universe"}
HERE = {"patched": True, "sent": True, "overlap": False, "node_silent": False}
SEEDED: list[tuple[str, str, set[str], set[str], dict[str, bool]]] = [
    # symptom, cause, what is seen besides, what is not so although it is well, what the laptop knows
    ("wrong_control", "off_by", {"own_control"}, {"wrong_address"}, HERE),
    ("wrong_control", "mode", {"own_control"}, {"wrong_mode"}, HERE),
    ("wrong_control", "same_address", {"another", "both"}, set(), HERE),
    ("no_answer", "ports", set(), set(), HERE),
    ("flickers", "terminator", {"neighbours"}, {"terminated"}, {}),
    ("flickers", "source", {"second", "second_line"}, set(), {}),
    ("no_answer", "no_power", set(), {"power"}, HERE),
    ("no_answer", "cable", {"others_work", "good_cable"}, set(), HERE),
    ("wrong_control", "swapped", {"another", "each_other"}, set(), HERE),
    ("half_rig", "node", set(), set(), {"node_silent": True}),
    ("moves", "source", {"moves_second"}, set(), {}),
    ("no_answer", "address", {"others_work"}, {"menu_address"}, HERE),
]


@pytest.mark.parametrize(("symptom", "cause", "seen", "amiss", "facts"), SEEDED)
def test_truthful_answers_lead_to_what_is_wrong(
    symptom: str, cause: str, seen: set[str], amiss: set[str], facts: dict[str, bool]
) -> None:
    answers: list[bool] = []
    while (now := guide(symptom, answers, facts)).question:
        answers.append(now.question in (WELL | seen) - amiss)
    assert now.cause == cause
    assert now.asked <= MOST


def test_what_the_laptop_knows_is_not_asked_and_is_told() -> None:
    assert guide("no_answer", [], {"patched": False}).cause == "unpatched"
    assert guide("no_answer", [], {"patched": True, "sent": False}).cause == "not_sent"
    asked = guide("no_answer", [], {})
    assert (asked.question, asked.known) == ("patched", ())
    assert guide("no_answer", [], HERE).question == "power"
    assert set(guide("no_answer", [], HERE).known) == set(HERE)
    with pytest.raises(KeyError):
        guide("smells", [], {})


def test_every_question_leads_somewhere_and_nothing_goes_round() -> None:
    ends = QUESTIONS.keys() | CAUSES.keys()
    assert not QUESTIONS.keys() & CAUSES.keys()
    assert all({q.yes, q.no} <= ends and q.fact in ("", *FACTS) for q in QUESTIONS.values())

    def longest(at: str, met: tuple[str, ...]) -> int:
        assert at not in met, met
        if at in CAUSES:
            return 0
        found = QUESTIONS[at]
        return bool(not found.fact) + max(longest(each, (*met, at)) for each in (found.yes, found.no))

    assert max(longest(first, ()) for first in SYMPTOMS.values()) <= 6  # without what the laptop may know
    reached = set(SYMPTOMS.values()) | {end for q in QUESTIONS.values() for end in (q.yes, q.no)}
    assert reached == ends
