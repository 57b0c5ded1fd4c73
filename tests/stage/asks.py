"""What anybody may ask while a fixture is taught, and about how universes are shared and where they go."""

from hypothesis import strategies as st

from server.stage import commands_teach as ask
from server.stage.commands_outputs import SetRoute, SetSync
from server.stage.commands_shared import ClearUniverse, GiveBack, Share
from server.stage.commands_teach import TEACH
from server.stage.outputs import TO, Output, Route, Sync
from server.stage.shared import JOINS, Shared

__all__ = ["ROUTING", "SHARING", "TEACH", "TEACHING"]

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
UNIVERSES = st.integers(0, 3)
SHARING = st.one_of(
    st.builds(Share, WHO, UNIVERSES, SHARED, st.booleans()),
    st.builds(ClearUniverse, WHO, UNIVERSES, st.booleans()),
    st.builds(GiveBack, WHO, UNIVERSES, st.just("Front desk"), st.just(4), st.just(4), st.just(0)),
)
OUTPUT = st.builds(
    Output,
    st.sampled_from(["sacn", "artnet"]),
    st.sampled_from([to for each in TO.values() for to in each]),
    st.sampled_from(["10.0.0.21", "10.0.0.22", ""]),
    number=st.none() | st.integers(0, 3),
)
ROUTE = st.none() | st.builds(
    Route, st.lists(OUTPUT, max_size=2).map(tuple), st.sampled_from([None, True, False])
)
ROUTING = st.builds(SetRoute, WHO, st.integers(0, 3), ROUTE) | st.builds(
    SetSync, WHO, st.builds(Sync, st.integers(0, 2), st.booleans())
)
