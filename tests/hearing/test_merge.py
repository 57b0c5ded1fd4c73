"""What a universe shows, against a second implementation that goes slot by slot."""

import uuid

from hypothesis import given
from hypothesis import strategies as st

from server.hearing.sources import Sources
from server.wire import artnet, e131
from tests.hearing.packets import DESK, OTHER, OURS, dmx, sacn
from tests.hearing.plain import Plain

__all__: list[str] = []


def shown(sources: Sources, now: float) -> list[int]:
    merged = sources.shown(1, now)
    return [] if merged is None else merged.levels[:4].tolist()


def heard(*packets: e131.Data) -> Sources:
    sources = Sources(OURS.bytes)
    sources.want([1])
    for packet in packets:
        sources.take_sacn(packet, "10.0.0.9", 0.0)
    return sources


def test_the_higher_priority_has_the_universe_whole_and_equals_are_merged_by_the_highest_level() -> None:
    # E1.31-2018, 6.2.3
    sources = heard(sacn(DESK, [10, 10]), sacn(OTHER, [5], priority=101))
    assert shown(sources, 0.1) == [5, 0, 0, 0]
    sources.take_sacn(sacn(DESK, [10, 10], sequence=1), "10.0.0.9", 2.4)
    assert shown(sources, 2.5) == [10, 10, 0, 0]
    assert shown(heard(sacn(DESK, [10, 9]), sacn(OTHER, [200, 1])), 0.1) == [200, 9, 0, 0]


def test_a_slot_of_priority_0_is_not_driven_and_lost_priorities_fall_back() -> None:
    each = sacn(DESK, [150, 0, 90], sequence=1, start_code=0xDD)
    sources = heard(sacn(DESK, [10, 20, 30]), each, sacn(OTHER, [1, 2, 3]))
    merged = sources.shown(1, 0.1)
    assert merged is not None
    assert merged.levels[:3].tolist() == [10, 2, 3]
    assert merged.priorities[:3].tolist() == [150, 100, 100]
    assert [merged.sources[at].id for at in merged.drivers[:3]] == [str(DESK), str(OTHER), str(OTHER)]
    desk, other = merged.sources
    assert (merged.slots_of(desk), merged.slots_of(other)) == (1, 511)
    alone = heard(sacn(DESK, [10, 20]), sacn(DESK, [150], sequence=1, start_code=0xDD)).shown(1, 0.1)
    assert alone is not None
    assert (alone.drivers[:2].tolist(), alone.priorities[:2].tolist()) == ([0, -1], [150, -1])
    for source in (DESK, OTHER):
        sources.take_sacn(sacn(source, [10, 20, 30], sequence=2), "10.0.0.9", 2.4)
    assert shown(sources, 2.5) == [10, 20, 30, 0]


def test_two_of_art_net_are_merged_and_a_third_is_ignored() -> None:
    # Art-Net 4, Data Merging
    sources = Sources(OURS.bytes)
    sources.want([1])
    for at, (host, levels) in enumerate((("10.0.0.8", [1, 9]), ("10.0.0.7", [5, 2]), ("10.0.0.6", [99, 99]))):
        sources.take_artnet(dmx(levels), 1, host, float(at))
    assert shown(sources, 3.0) == [5, 9, 0, 0]
    sources.take_artnet(dmx([99, 99]), 1, "10.0.0.6", 9.0)
    sources.take_artnet(dmx([5, 2]), 1, "10.0.0.7", 9.0)
    assert shown(sources, 10.5) == [99, 99, 0, 0]


SLOTS = (*range(1, 9), 512)  # the longest packet below has six
CIDS = {cid: uuid.UUID(int=10 + at) for at, cid in enumerate("abc")}
_OCTETS = st.lists(st.sampled_from([0, 1, 99, 100, 101, 200, 255]), min_size=0, max_size=6)
_STEPS = st.lists(
    st.one_of(
        st.tuples(st.just("wait"), st.sampled_from([0.25, 1.0, 2.25, 2.5, 5.0])),
        st.tuples(
            st.sampled_from(["levels", "levels", "preview", "each", "end"]),
            st.sampled_from("abc"),
            st.integers(0, 255) | st.integers(0, 4),
            st.sampled_from([0, 99, 100, 101, 200]),
            _OCTETS,
        ),
        st.tuples(
            st.just("artnet"),
            st.sampled_from(["10.0.0.1", "10.0.0.2", "10.0.0.3"]),
            st.integers(0, 4),
            _OCTETS,
        ),
    ),
    max_size=30,
)


@given(_STEPS)
def test_it_is_what_the_plain_rules_say_whatever_comes(steps: list[tuple[object, ...]]) -> None:
    sources, plain, now = Sources(OURS.bytes), Plain(), 0.0
    sources.want([1])
    for step in steps:
        match step:
            case ("wait", float(seconds)):
                now += seconds
                sources.look(now)
            case ("artnet", str(host), int(sequence), list(octets)):
                packet = artnet.Dmx(sequence, 0, 1, memoryview(bytes(octets)))
                sources.take_artnet(packet, 1, host, now)
                plain.hear_artnet(f"{host}/0", now, sequence, octets)
            case (str(kind), str(who), int(sequence), int(priority), list(octets)):
                cid = CIDS[who]
                flags = kind == "preview", kind == "end"
                code = 0xDD if kind == "each" else 0
                data = e131.Data(
                    *(cid.bytes, who, priority, priority, 0, sequence, *flags, False, 1, code),
                    memoryview(bytes(octets)),
                )
                sources.take_sacn(data, "10.0.0.9", now)
                plain.hear_sacn(str(cid), now, sequence, priority, octets, kind)
    merged, wanted = sources.shown(1, now), plain.shows(now, SLOTS)
    if merged is None:
        assert not wanted
        return
    told = merged.levels.tolist(), merged.priorities.tolist(), merged.drivers.tolist()
    found = {slot: tuple(each[slot - 1] for each in told) for slot in SLOTS}
    driven = {slot: one for slot, one in found.items() if one[2] >= 0}
    assert {slot: (*one[:2], merged.sources[one[2]].id) for slot, one in driven.items()} == wanted
    assert all(found[slot] == (0, -1, -1) for slot in found.keys() - driven.keys())
