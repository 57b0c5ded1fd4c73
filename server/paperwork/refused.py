"""What this tool takes into no rig, whatever file it comes in, by the words that name it."""

import re

__all__ = ["refusal"]

# ANSI E1.11, 1.4 and 1.5: DMX512 is meant for lighting and related non-hazardous effects only.
HAZARDS = {
    r"flames?|flame\s?(bar|jet|projector)s?|fire\s?(jet|ball)s?": "flame",
    r"pyro\w*|firework\w*": "pyrotechnics",
    r"confetti|streamer\s?cannons?": "confetti and streamer cannons",
    r"gas\s?jets?|co2\s?jets?": "gas jets",
    r"hoists?|winch\w*|chain\s?motors?|fly\s?bars?|revolves?": "hoists and stage machinery",
    r"lasers?|laser\s?scanners?": "lasers",
}


def refusal(words: str) -> str | None:
    """Why a unit whose type is described so is refused, as a sentence; None when it is not."""
    for pattern, what in HAZARDS.items():
        if re.search(rf"(?<![a-z])({pattern})(?![a-z])", words.casefold().replace("_", " ")):
            return f'"{words}": this tool never drives {what}; DMX512 has no error checking (ANSI E1.11).'
    return None
