"""Questions that lead from what a unit does wrong to what to look at next: tables, and nothing else.

What the laptop knows itself it does not ask. One thing is looked at, noted and put back before the next.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.rig.said import Said

__all__ = ["CAUSES", "FACTS", "QUESTIONS", "SYMPTOMS", "Guided", "filled", "guide"]


@dataclass(frozen=True, slots=True)
class Question:
    """yes, no: the next question or a cause, by name. fact: what the laptop may know instead of asking."""

    words: Said
    yes: str
    no: str
    fact: str = ""


@dataclass(frozen=True, slots=True)
class Guided:
    """Where the answers have led, as the name of a question or of a cause; the other is "".

    asked: how many answers were taken. known: names of facts that answered instead of a person.
    """

    question: str
    cause: str
    asked: int
    known: tuple[str, ...]


PLACE = {"universe": "", "address": ""}  # what `filled` puts there
# By reason (stage.reasons) or as one is asked for: the first question.
SYMPTOMS: dict[str, str] = {
    "no_answer": "patched",
    "flickers": "low_only",
    "wrong_control": "overlap",
    "moves": "by_somebody",
    "half_rig": "node_silent_all",
}
# What the laptop may know; what of these it does not know is asked.
FACTS: dict[str, tuple[Said, Said]] = {
    "patched": (Said("It is patched."), Said("It is not patched.")),
    "sent": (Said("Light is sent to it now."), Said("Nothing but level 0 is sent to it now.")),
    "overlap": (
        Said("Another unit of the patch listens on the same slots."),
        Said("No other unit of the patch listens on its slots."),
    ),
    "node_silent": (
        Said("The node that sends out its universe has stopped answering."),
        Said("A node that sends out its universe answers."),
    ),
    "others_work": (
        Said("Other units of its universe were seen to work in this rig check."),
        Said("No other unit of its universe was seen to work in this rig check."),
    ),
    "second_source": (
        Said("Another source sends to its universe."),
        Said("No other source sends to its universe."),
    ),
}
QUESTIONS: dict[str, Question] = {
    # Does not respond.
    "patched": Question(Said("Has it an address in the patch?"), "sent", "unpatched", "patched"),
    "sent": Question(Said("Is it lit up on the page now?"), "overlap_silent", "not_sent", "sent"),
    "overlap_silent": Question(
        Said("Has another unit of the patch the same address?"), "overlapping", "node_silent", "overlap"
    ),
    "node_silent": Question(
        Said("Has the node of its universe gone dark or silent?"), "node", "power", "node_silent"
    ),
    "power": Question(
        Said("Is there any life in it: a display, a small light, a fan?"), "others_work", "no_power"
    ),
    "others_work": Question(
        Said("Do other units on the same cable respond?"), "menu_address", "other_universe", "others_work"
    ),
    "other_universe": Question(Said("Do units of other universes respond?"), "ports", "network"),
    "menu_address": Question(
        Said("Does its display show universe {universe} and address {address}?", **PLACE),
        "menu_mode",
        "address",
    ),
    "menu_mode": Question(Said("Does its display show the mode {mode}?", mode=""), "good_cable", "mode"),
    "good_cable": Question(
        Said("Does it respond with a data cable that is known to be good?"), "cable", "unit"
    ),
    # Flickers.
    "low_only": Question(Said("Does it flicker at low levels only?"), "dimming", "neighbours"),
    "neighbours": Question(Said("Do others on the same cable flicker too?"), "terminated", "second"),
    "terminated": Question(
        Said("Is there a terminator on the last unit of that cable?"), "second_line", "terminator"
    ),
    "second_line": Question(
        Said("Does a console or another laptop send there too?"),
        "source",
        "line_halves",
        "second_source",
    ),
    "line_halves": Question(
        Said("Does it stop when the second half of the cable is unplugged?"), "line_end", "line_start"
    ),
    "second": Question(
        Said("Does a console or another laptop send there too?"),
        "source",
        "steady",
        "second_source",
    ),
    "steady": Question(Said("Is it steady with a data cable that is known to be good?"), "cable", "unit"),
    # Responds to the wrong control.
    "overlap": Question(
        Said("Has another unit of the patch the same address?"), "overlapping", "own_control", "overlap"
    ),
    "own_control": Question(
        Said("Does it do something, but another thing than was asked?"), "wrong_mode", "another"
    ),
    "wrong_mode": Question(Said("Does its display show the mode {mode}?", mode=""), "wrong_address", "mode"),
    "wrong_address": Question(
        Said("Does its display show the address {address}?", **PLACE), "foreign", "off_by"
    ),
    "foreign": Question(
        Said("Does a console or another laptop send there too?"),
        "source",
        "profile",
        "second_source",
    ),
    "another": Question(Said("Does another unit do what this one was asked?"), "both", "foreign"),
    "both": Question(Said("Does this one do it as well?"), "same_address", "each_other"),
    "each_other": Question(Said("Does this one do it when the other is asked?"), "swapped", "whole_universe"),
    "whole_universe": Question(Said("Is it so with all units of that universe?"), "ports", "address"),
    # Moves by itself.
    "by_somebody": Question(
        Said("Keep clear of it. Has somebody else it in hand, or is a look fading?"), "somebody", "start_up"
    ),
    "start_up": Question(
        Said("Was it only after its power came on, or after recalibrating?"), "calibration", "moving_too"
    ),
    "moving_too": Question(Said("Do others on the same cable do it too?"), "terminated", "moves_second"),
    "moves_second": Question(
        Said("Does a console or another laptop send there too?"),
        "source",
        "data_out",
        "second_source",
    ),
    "data_out": Question(Said("Does it stand still with its data cable out?"), "cable", "unit"),
    # Half the rig.
    "node_silent_all": Question(
        Said("Has the node of that universe gone dark or silent?"), "node", "one_universe", "node_silent"
    ),
    "one_universe": Question(Said("Is all that fails on one universe?"), "first_of_line", "one_supply"),
    "first_of_line": Question(
        Said("Does the first unit on that cable respond?"), "after_last", "port_swapped"
    ),
    "port_swapped": Question(
        Said("Does anything respond with the two node ports changed over?"), "ports", "splitter"
    ),
    "one_supply": Question(Said("Is all that fails on one supply or phase?"), "supply", "same_type"),
    "same_type": Question(Said("Is all that fails of one type or mode?"), "mode", "network"),
}
# What it comes to, and what to look at next.
CAUSES: dict[str, Said] = {
    "unpatched": Said("It has no address in the patch. Give it one."),
    "not_sent": Said("Nothing is sent to it. Light it up; look for blackout, master, a cap or a tag."),
    "overlapping": Said("Two units of the patch share slots. Give one of them another address."),
    "node": Said("The node is gone. Look at its power and its network cable."),
    "no_power": Said("It has no power. Look at plug, breaker and fuse, and that no dimmer feeds it."),
    "ports": Said("The wrong universe leaves that port. Compare the node's ports with the plan."),
    "network": Said("Nothing gets out. Look at the laptop's network, the switch, and the node's universe."),
    "address": Said("Its own address or universe is another. Set it to {universe}, {address}.", **PLACE),
    "off_by": Said("Its own address is off by some slots. Set it to {address}.", **PLACE),
    "mode": Said("Its own mode is another. Set it to {mode}, or change the patch.", mode=""),
    "cable": Said("The data cable to it is bad. Replace it and mark it."),
    "unit": Said("The unit itself. Swap it, and write its serial number down."),
    "dimming": Said("It dims badly low down. Look for a dimmer that feeds it, its curve, and its load."),
    "terminator": Said("No terminator. Put one on the last unit (120 ohms across the pair)."),
    "line_end": Said("Something in the second half of that cable. Halve it again."),
    "line_start": Said("Something in the first half of that cable, or a lead split without a splitter."),
    "source": Said("Two sources on one universe. Agree on who sends it, and with what priority."),
    "same_address": Said("Two units have the same address in their menus. Set each to its own."),
    "swapped": Said("The two are changed over, on the bar or in the patch. Swap their addresses."),
    "profile": Said("The profile does not fit it. Compare its manual with the mode, slot by slot."),
    "somebody": Said("Somebody or a look drives it. See what happened to it."),
    "calibration": Said("It finds its ends when power comes on. Say so before, and keep clear."),
    "after_last": Said("The cable after the last unit that responds, or that unit's output."),
    "splitter": Said("The way from the node to the first unit: splitter output, cable, port."),
    "supply": Said("That supply. Look at the breaker and the phase; isolate before you open anything."),
}


def guide(symptom: str, answers: Sequence[bool], facts: Mapping[str, bool]) -> Guided:
    """Follow the answers, one for each question that the laptop could not answer itself.

    facts: what it knows, by names of FACTS. Answers beyond the end count for nothing. Raises KeyError:
    no such symptom.
    """
    at, asked, known = SYMPTOMS[symptom], 0, list[str]()
    while at in QUESTIONS:
        question = QUESTIONS[at]
        if question.fact in facts:
            known.append(question.fact)
            at = question.yes if facts[question.fact] else question.no
        elif asked < len(answers):
            at = question.yes if answers[asked] else question.no
            asked += 1
        else:
            return Guided(at, "", asked, tuple(dict.fromkeys(known)))
    return Guided("", at, asked, tuple(dict.fromkeys(known)))


def filled(words: Said, **facts: str | int) -> Said:
    """A question or cause with what the patch says of the unit in its gaps."""
    gaps = {name: facts.get(name, there) for name, there in words.facts.items()}
    return Said.of([words.template, gaps])
