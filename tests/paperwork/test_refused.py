"""What this tool never drives is known by its words; what only looks like it is not."""

import pytest

from server.paperwork.refused import refusal

__all__: list[str] = []


# The list is trade practice (no source); the ground for it is ANSI E1.11, 1.4 and 1.5.
@pytest.mark.parametrize(
    "words",
    [
        "Flame",
        "flame bar x2",
        "PYRO_box",
        "Confetti cannon",
        "CO2 jet",
        "hoist 500",
        "Winch1",
        "Laser scanner RGB",
    ],
)
def test_a_hazard_is_refused_in_a_sentence_that_names_it(words: str) -> None:
    why = refusal(words)
    assert why is not None
    assert words in why
    assert "never drives" in why


@pytest.mark.parametrize(
    "words", ["Trailblazer", "Inflamed red wash", "Hazer", "Fresnel", "Flare", "Dimmer", ""]
)
def test_anything_else_is_not(words: str) -> None:
    assert refusal(words) is None
