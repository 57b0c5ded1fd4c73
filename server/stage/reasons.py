"""What is wrong with a unit, as a short list that every phone says in its own language."""

from server.rig.said import Said

__all__ = ["REASONS", "reason_words"]

# By what is kept; the order is that of the buttons.
REASONS: dict[str, Said] = {
    "no_light": Said("No light"),
    "no_answer": Said("Does not respond"),
    "flickers": Said("Flickers"),
    "weak": Said("Weak light"),
    "wrong_control": Said("Wrong control"),
    "wrong_colour": Said("Wrong colour"),
    "wrong_unit": Said("Wrong unit lights"),
    "stays_put": Said("Does not move"),
    "moves": Said("Moves by itself"),
    "damaged": Said("Damaged"),
    "noisy": Said("Noisy"),
}


def reason_words(reason: str, note: str) -> str:
    """The two in one line; "" when neither says anything."""
    return ": ".join(part for part in (REASONS.get(reason, ""), note) if part)
