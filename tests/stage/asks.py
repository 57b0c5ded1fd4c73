"""What anybody may ask while a fixture is taught, and about universes that are shared."""

from hypothesis import strategies as st

from server.stage import commands_teach as ask
from server.stage.commands_shared import Share
from server.stage.commands_teach import TEACH
from server.stage.shared import JOINS, Shared

__all__ = ["SHARING", "TEACH", "TEACHING"]

WHO = st.sampled_from(["ann", "mo", "kit", "hal", "eve"])
SAID = st.sampled_from(["red", "nothing", "smoke", "flame", "on", None])
TEACHING = st.one_of(
    st.builds(ask.BeginTeach, WHO, st.sampled_from([1, 2, 8]), st.integers(1, 512), st.integers(0, 5)),
    st.builds(ask.HoldTeach, WHO, st.integers(1, 2), st.integers(0, 1), st.booleans()),
    st.builds(ask.AnswerTeach, WHO, SAID),
    st.builds(ask.TakeTeach, WHO),
    st.builds(ask.EndTeach, WHO),
)
SHARED = st.none() | st.builds(Shared, st.sampled_from(JOINS), st.booleans())
SHARING = st.builds(Share, WHO, st.integers(0, 3), SHARED)
