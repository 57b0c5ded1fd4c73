"""Messages from a phone: understood, or refused with a sentence and the right number."""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.api.messages import LONGEST, MessageError, Signal, read
from server.stage import commands
from server.stage.commands import Command

__all__: list[str] = []


@pytest.mark.parametrize(
    ("message", "command"),
    [
        (
            {"do": "set", "fixture": "f", "values": {"Pan": 0.5, "Tilt": {"raw": 3}}},
            commands.SetValues("p", "f", {"Pan": 0.5, "Tilt": {"raw": 3}}),
        ),
        (
            {"do": "set", "fixture": "f", "values": {"Shutter1": 0.2}, "held": True},
            commands.SetValues("p", "f", {"Shutter1": 0.2}, held=True),
        ),
        (
            {"do": "set_many", "values": {"f": {"Pan": 0.5}, "g": {"Pan": 1}}},
            commands.SetMany("p", {"f": {"Pan": 0.5}, "g": {"Pan": 1}}),
        ),
        ({"do": "fault", "fixture": "f", "words": None}, commands.MarkFault("p", "f", None)),
        ({"do": "light_up", "fixture": "f"}, commands.LightUp("p", "f")),
        (
            {"do": "light_up", "fixture": "f", "as_it_hangs": True},
            commands.LightUp("p", "f", as_it_hangs=True),
        ),
        ({"do": "take", "fixture": "f", "over": True}, commands.Take("p", "f", over=True)),
        ({"do": "let_go", "fixture": "*"}, commands.LetGo("p", "*")),
        ({"do": "slot", "universe": 1, "slot": 512, "raw": None}, commands.SetSlot("p", 1, 512, None)),
        ({"do": "blackout", "on": True}, commands.SetBlackout("p", on=True)),
        ({"do": "master", "value": 1}, commands.SetMaster("p", 1.0)),
        (
            {"do": "act", "fixture": "f", "control": "Control1", "function": "Recalibrate", "held": True},
            commands.Act("p", "f", "Control1", "Recalibrate", held=True),
        ),
        ({"do": "hands_on", "fixture": "f", "on": False}, commands.HandsOn("p", "f", on=False)),
        ({"do": "focus_next"}, commands.FocusNext("p")),
        (
            {"do": "focus_next", "of": "q", "after": "f", "mark": "done", "over": True},
            commands.FocusNext("p", "q", "f", "done", over=True),
        ),
        ({"do": "focus_at", "fixture": None, "of": "q"}, commands.FocusAt("p", None, "q")),
        ({"do": "focus_mark", "fixture": "f", "mark": "back"}, commands.MarkFocus("p", "f", "back")),
        ({"do": "focus_give", "fixtures": ["f", "g"], "to": None}, commands.GiveFocus("p", ("f", "g"), None)),
        (
            {"do": "focus_note", "fixture": "f", "note": {"edge": "soft"}},
            commands.WriteNote("p", "f", {"edge": "soft"}),
        ),
        ({"do": "signal", "rtt_ms": 18}, Signal(18)),
        ({"do": "signal", "rtt_ms": None}, Signal(None)),
    ],
)
def test_each_message_becomes_its_command(message: dict[str, Any], command: Command | Signal) -> None:
    asked = read(json.dumps({**message, "n": 7}), "p")
    assert (asked.n, asked.command) == (7, command)


@pytest.mark.parametrize(
    ("text", "n"),
    [
        ("", 0),
        ("nonsense", 0),
        ("{", 0),
        ("[]", 0),
        ("null", 0),
        ("7", 0),
        ('{"n":7}', 7),
        ('{"do":"explode","n":7}', 7),
        ('{"do":"__class__","n":7}', 7),
        ('{"do":"take","n":7}', 7),
        ('{"do":"take","fixture":"f"}', 0),
        ('{"do":"signal","rtt_ms":-1,"n":7}', 7),
        ('{"do":"signal","rtt_ms":60001,"n":7}', 7),
        ('{"do":"signal","rtt_ms":1.5,"n":7}', 7),
        ('{"do":"signal","n":7}', 7),
        ('{"do":"take","fixture":"f","n":"7"}', 0),
        ('{"do":"take","fixture":"f","n":true}', 0),
        ('{"do":"take","fixture":"f","n":7.5}', 0),
        ('{"do":"take","fixture":"f","n":null}', 0),
        ('{"do":"take","fixture":"","n":7}', 7),
        ('{"do":"take","fixture":9,"n":7}', 7),
        ('{"do":"take","fixture":"f","over":1,"n":7}', 7),
        ('{"do":"take","fixture":"f","more":1,"n":7}', 7),
        ('{"do":"take","fixture":"' + "x" * 65 + '","n":7}', 7),
        ('{"do":"set","fixture":"f","values":[0.5],"n":7}', 7),
        ('{"do":"set","fixture":"f","n":7}', 7),
        ('{"do":"set","fixture":"f","values":' + '{"a":' * 500 + "1" + "}" * 500 + ',"n":7}', 0),
        ('{"do":"master","value":"1","n":7}', 7),
        ('{"do":"master","value":true,"n":7}', 7),
        ('{"do":"master","value":NaN,"n":7}', 7),
        ('{"do":"master","value":Infinity,"n":7}', 7),
        ('{"do":"master","value":1e999,"n":7}', 7),
        ('{"do":"blackout","on":1,"n":7}', 7),
        ('{"do":"blackout","on":null,"n":7}', 7),
        ('{"do":"slot","universe":1,"slot":1,"n":7}', 7),
        ('{"do":"slot","universe":1,"slot":1,"raw":1.5,"n":7}', 7),
        ('{"do":"slot","universe":"1","slot":1,"raw":1,"n":7}', 7),
        ('{"do":"set","fixture":"f","values":{"\\ud800":1},"n":7}', 0),
    ],
)
def test_what_is_no_message_is_refused_with_its_number_where_it_has_one(text: str, n: int) -> None:
    with pytest.raises(MessageError) as wrong:
        read(text, "p")
    assert wrong.value.n == n
    assert wrong.value.why[-1] == "."
    assert len(wrong.value.why) < 400


def test_a_message_that_is_too_long_is_not_even_read() -> None:
    with pytest.raises(MessageError, match="at most 65536 characters"):
        read(" " * (LONGEST + 1), "p")


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=10),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=10,
)
DO = st.sampled_from(
    [
        "set",
        "set_many",
        "fault",
        "light_up",
        "take",
        "let_go",
        "slot",
        "blackout",
        "master",
        "act",
        "hands_on",
    ]
)
NAMES = st.sampled_from(["n", "fixture", "values", "universe", "slot", "raw", "on", "value", "held"])


@given(
    st.text(max_size=200)
    | st.builds(lambda do, rest: json.dumps({**rest, "do": do}), DO, st.dictionaries(NAMES, JSON))
)
def test_any_text_is_a_command_or_a_sentence(text: str) -> None:
    try:
        assert isinstance(read(text, "p").command, Command)
    except MessageError as wrong:
        assert wrong.why.endswith(".")  # noqa: PT017 (either is right)
