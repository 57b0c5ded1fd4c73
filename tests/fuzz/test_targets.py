"""Each target for a moment, on damaged copies of what it begins from."""

import importlib
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

__all__: list[str] = []

NOT_TARGETS = ("__", "test_")
TARGETS = sorted(
    path.stem for path in Path(__file__).parent.glob("*.py") if not path.stem.startswith(NOT_TARGETS)
)


@st.composite
def damaged(draw: st.DrawFn, seeds: tuple[bytes, ...], words: tuple[bytes, ...]) -> bytes:
    """A seed, cut and pasted together with others, with octets changed and words put in."""
    data = bytearray(draw(st.sampled_from(seeds)))
    for _ in range(draw(st.integers(0, 6))):
        at = draw(st.integers(0, len(data)))
        upto = draw(st.integers(at, min(len(data), at + 40)))
        other = draw(st.sampled_from(seeds))[at:upto]
        data[at:upto] = draw(st.binary(max_size=4) | st.sampled_from((*words, b"", other)))
    return bytes(data)


@pytest.mark.parametrize("name", TARGETS)
def test_it_is_accepted_or_refused_as_documented(name: str) -> None:
    target = importlib.import_module(f"tests.fuzz.{name}")
    one: Callable[[bytes], None] = target.one
    for seed in target.SEEDS:
        one(seed)

    # What takes seconds would keep the server from everybody; half of one is for a busy machine.
    @settings(max_examples=200, deadline=timedelta(seconds=5), suppress_health_check=list(HealthCheck))
    @given(st.binary(max_size=200) | damaged(target.SEEDS, getattr(target, "WORDS", ())))
    def keeps_its_promise(data: bytes) -> None:
        one(data)

    keeps_its_promise()
