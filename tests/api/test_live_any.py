"""The live channel under any mix of messages, right, wrong and broken, from three people at once."""

import json
import re
from functools import partial
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from server.places import package_folder
from tests.phones import Message, Phone
from tests.servers import Server, serving

__all__: list[str] = []

ROLES = ("lead", "crew", "house")
# Each message with the names of its fields, as DEVELOPERS.md describes the channel.
TABLE = (package_folder().parent / "DEVELOPERS.md").read_text(encoding="utf-8")
KINDS = {kind: re.findall(r'"(\w+)"', rest) for kind, rest in re.findall(r'`\{"do":"(\w+)"([^`]*)\}`', TABLE)}
FIXTURES = st.sampled_from(
    ["demo-1", "demo-2", "demo-21", "demo-22", "demo-28", "demo-91", "demo-95", "*", ""]
)
KEYS = st.sampled_from(["Dimmer", "Pan", "Tilt", "Shutter1", "Zoom", "Color1", "Control1", "Nothing"])
NUMBERS = st.sampled_from([0, 1, 0.5, -1, 1.5, 255, 256, 65535, 1e308, 2**70, True, None])
VALUES = (
    NUMBERS
    | st.dictionaries(st.sampled_from(["raw", "physical", "range"]), NUMBERS | st.just("Open"), max_size=2)
    | st.text(max_size=3)
)
PLAIN = NUMBERS | FIXTURES | KEYS | st.booleans() | st.lists(NUMBERS, max_size=2)
FIELDS: dict[str, st.SearchStrategy[Any]] = {
    "fixture": FIXTURES,
    "control": KEYS,
    "position": st.sampled_from(["LX 1", "Bridge", "", "Nowhere", None]),
    "reason": st.sampled_from(["rehearsal", None]),
    "words": st.sampled_from(["stiff", "", None]),
    **dict.fromkeys(("on", "held", "over", "yes", "as_it_hangs"), st.booleans()),
    **dict.fromkeys(("universe", "slot", "press"), st.sampled_from([0, 1, 2, 3, 9, 512, 513, 63999, 64000])),
    **dict.fromkeys(("raw", "rtt_ms", "value", "seconds"), NUMBERS),
}


@st.composite
def messages(draw: st.DrawFn) -> dict[str, Any]:
    """One of ours, of which a field may be missing, wrong or unheard of."""
    kind = draw(st.sampled_from(sorted(KINDS)))
    controls = st.dictionaries(KEYS, VALUES, max_size=3)
    values = st.dictionaries(FIXTURES, controls, max_size=3) if kind == "set_many" else controls
    made = {name: draw(FIELDS.get(name, PLAIN)) for name in KINDS[kind] if name != "values"}
    made |= {"values": draw(values)} if "values" in KINDS[kind] else {}
    for name in draw(st.lists(st.sampled_from([*KINDS[kind], "surplus"]), max_size=1)):
        made.pop(name, None) if draw(st.booleans()) else made.update({name: draw(PLAIN)})
    return {"do": kind, **made}


BROKEN = st.text(max_size=40) | st.binary(max_size=20) | st.builds(json.dumps, PLAIN)


def test_the_table_is_read() -> None:
    assert KINDS["set"] == ["fixture", "values", "held"]
    assert len(KINDS) > 12


def test_each_message_has_one_answer_and_all_pages_know_the_same(tmp_path: Path) -> None:
    with serving(tmp_path / "data") as server:  # of its own: what is left of this is dark and full of faults
        phones = [server.phone(role) for role in ROLES]

        @settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
        @given(st.lists(st.tuples(st.sampled_from(range(len(ROLES))), messages() | BROKEN), max_size=20))
        def any_mix(said: list[tuple[int, dict[str, Any] | str | bytes]]) -> None:
            starts = [len(phone.heard) for phone in phones]
            sent = [
                [_send(phones[who], message) for who, message in said if who == at]
                for at in range(len(ROLES))
            ]
            for phone, start, numbers in zip(phones, starts, sent, strict=True):
                _all_answered(phone, start, numbers)
            _all_know_the_same(server, phones)

        any_mix()
        assert "Traceback" not in server.log()


def _send(phone: Phone, message: dict[str, Any] | str | bytes) -> int:
    """Its number; 0 for what has none that can be read."""
    if isinstance(message, dict):
        fields = {name: value for name, value in message.items() if name != "do"}
        return phone.send(message["do"], **fields)
    phone.socket.send(message)
    return 0


def _all_answered(phone: Phone, start: int, numbers: list[int]) -> None:
    def answers() -> list[Message]:
        return [m for m in phone.heard[start:] if m["is"] in ("ok", "refused")]

    phone.until(lambda: len(answers()) >= len(numbers), f"answers to {numbers}")
    assert sorted(m["n"] for m in answers()) == sorted(numbers)
    assert all(m["is"] == "refused" for m in answers() if not m["n"])
    assert all(m["why"].endswith((".", "?")) for m in answers() if m["is"] == "refused")


def _all_know_the_same(server: Server, phones: list[Phone]) -> None:
    """As somebody who comes now is told.

    Levels apart, which may still be on their way, and times that each phone counts down by itself.
    """
    fresh = server.phone_with(phones[1].token)

    def alike(phone: Phone) -> bool:
        fresh.listen(0.001)  # time goes on there, too
        return _known(phone.rig) == _known(fresh.rig)

    for phone in phones:
        phone.until(partial(alike, phone), "the same as a new page")
    fresh.close()


def _known(rig: Message) -> Message:
    known = {name: part for name, part in rig.items() if name not in ("is", "rev", "you")}
    fixtures = known["fixtures"].items()
    apart = ("level", "busy", "cools")
    known["fixtures"] = {f: {n: v for n, v in one.items() if n not in apart} for f, one in fixtures}
    return known
