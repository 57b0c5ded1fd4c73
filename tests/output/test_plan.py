"""Plans: what cannot be sent is refused, and JSON brings everything back."""

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.output.plan import ArtNet, ArtSyncTo, Plan, Sacn, UniversePlan, from_json, to_json

__all__: list[str] = []

CID = "ef07c8dd-0064-4401-a3a2-459ef8e6143e"
HOSTS = st.sampled_from(["127.0.0.1", "127.0.0.2", "10.1.2.3"])
PORTS = st.integers(1, 65535)
OURS = st.sampled_from([None, "127.0.0.1"])
HZ = st.sampled_from([44.0, 30, 1])
SACN = st.builds(Sacn, HOSTS, PORTS, st.integers(0, 200), st.none() | st.integers(1, 63999), OURS, most_hz=HZ)
GROUPS = st.sampled_from([(), (Sacn(),), (Sacn(ipv6=0), Sacn(None, universe=9, interface="127.0.0.1"))])
ARTNET = st.builds(ArtNet, HOSTS, PORTS, st.integers(0, 32767), OURS, HZ)


def plan(*universes: UniversePlan) -> Plan:
    return Plan(CID, "Test", None, universes)


TWO_TOLD = (ArtSyncTo("127.0.0.1", 7000), ArtSyncTo("10.255.255.255", interface="10.0.0.5"))


@given(
    st.lists(SACN, max_size=3, unique_by=lambda out: (out.host, out.port)),
    GROUPS,
    st.lists(ARTNET, max_size=3, unique_by=lambda out: (out.host, out.port, out.port_address)),
    st.booleans(),
    st.sampled_from([(), ((1, 1),), ((5, 9), (512, 512))]),
    OURS,
    st.booleans(),
    st.sampled_from(
        [
            (0, (), 0.0),
            (7962, (ArtSyncTo("127.0.0.1", 7000), ArtSyncTo("10.255.255.255", interface="10.0.0.5")), 0.004),
        ]
    ),
)
def test_a_plan_comes_back_from_json_as_it_was(
    sacn: list[Sacn],
    groups: tuple[Sacn, ...],
    artnet: list[ArtNet],
    steady: bool,
    off_limits: tuple[tuple[int, int], ...],
    interface: str | None,
    per_slot: bool,
    sync: tuple[int, tuple[ArtSyncTo, ...], float],
) -> None:
    outputs: tuple[Sacn | ArtNet, ...] = (*sacn, *groups, *artnet)
    made = Plan(
        CID, "Nüme", interface, (UniversePlan(7, outputs, steady, off_limits, per_slot),), "end", *sync
    )
    assert from_json(to_json(made)) == made


@pytest.mark.parametrize(
    "make",
    [
        lambda: Sacn("console.local"),
        lambda: Sacn("0.0.0.0"),
        lambda: Sacn(None, 0),
        lambda: Sacn(None, 65536),
        lambda: Sacn(None, 5568, 201),
        lambda: Sacn(None, 5568, -1),
        lambda: Sacn(universe=64000),
        lambda: Sacn(interface="eth0"),
        lambda: Sacn("10.0.0.1", ipv6=0),
        lambda: Sacn(interface="10.0.0.1", ipv6=0),
        lambda: Sacn(ipv6=-1),
        lambda: Sacn(most_hz=44.1),
        lambda: Sacn(most_hz=0.9),
        lambda: ArtNet("10.0.0.3", most_hz=0),
        lambda: ArtNet("10.0.0.3", interface="0.0.0.0"),
        lambda: ArtNet("10.0.0.300"),
        lambda: ArtNet("10.0.0.3", 6454, 32768),
        lambda: UniversePlan(0, ()),
        lambda: UniversePlan(64000, ()),
        lambda: UniversePlan(1, (), off_limits=((0, 5),)),
        lambda: UniversePlan(1, (), off_limits=((5, 513),)),
        lambda: UniversePlan(1, (), off_limits=((6, 5),)),
        lambda: UniversePlan(1, (Sacn(None, priority=1), Sacn(None, priority=2))),
        lambda: UniversePlan(1, tuple(Sacn(f"10.0.0.{n}", most_hz=n) for n in (10, 11, 12, 13))),
        lambda: plan(UniversePlan(1, ()), UniversePlan(1, ())),
        lambda: plan(UniversePlan(1, (Sacn(),)), UniversePlan(2, (Sacn(universe=1),))),
        lambda: plan(UniversePlan(1, (Sacn(ipv6=2),)), UniversePlan(2, (Sacn(ipv6=2, universe=1),))),
        lambda: plan(
            UniversePlan(1, (Sacn("10.0.0.1"),)),
            UniversePlan(2, (Sacn("10.0.0.1", universe=1, interface="10.0.0.9"),)),
        ),
        lambda: Plan(
            CID,
            "Test",
            "10.0.0.9",
            (UniversePlan(1, (Sacn(),)), UniversePlan(2, (Sacn(universe=1, interface="10.0.0.9"),))),
        ),
        lambda: Plan(CID, "Test", "10.0.0.9", (UniversePlan(1, (Sacn(), Sacn(interface="10.0.0.9"))),)),
        lambda: Plan(CID, "Test", None, (), sync=64000),
        lambda: Plan(CID, "Test", None, (), artnet_sync=(ArtSyncTo("10.0.0.9"), ArtSyncTo("10.0.0.9"))),
        lambda: Plan(CID, "Test", None, (), sync_pause_s=0.011),
        lambda: ArtSyncTo("nodes.local"),
        lambda: ArtSyncTo("10.0.0.255", 0),
        lambda: plan(UniversePlan(1, (ArtNet("10.0.0.3"),)), UniversePlan(2, (ArtNet("10.0.0.3"),))),
        lambda: plan(*(UniversePlan(n, ()) for n in range(1, 1026))),
        lambda: Plan("no uuid", "Test", None, ()),
        lambda: Plan(CID, "x" * 64, None, ()),
        lambda: Plan(CID, "a\0b", None, ()),
        lambda: Plan(CID, "Test", "eth0", ()),
        lambda: Plan(CID, "Test", None, (), "stop"),  # type: ignore[arg-type]
    ],
)
def test_what_cannot_be_sent_cannot_be_planned(make: Callable[[], object]) -> None:
    with pytest.raises(ValueError, match=r"."):
        make()


def test_one_number_on_the_wire_may_be_used_in_several_places() -> None:
    plan(
        UniversePlan(1, (Sacn(), Sacn(ipv6=0), Sacn("10.0.0.1"), Sacn("10.0.0.1", universe=9))),
        UniversePlan(2, (Sacn("10.0.0.2", universe=1), Sacn(universe=1, interface="10.0.0.9"), Sacn())),
    )


def test_a_plan_of_256_universes_fits_the_map_many_times() -> None:
    outputs = tuple(Sacn(f"10.0.0.{n}") for n in range(1, 5))
    assert len(to_json(plan(*(UniversePlan(n, outputs) for n in range(1, 257))))) < (1 << 20) / 4
