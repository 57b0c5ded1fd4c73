"""What is said of nodes: each fact put in, and nothing where nothing is wrong."""

from dataclasses import replace

from server.net.devices import Device, Port
from server.net.findings import Finding, alerts, findings
from server.net.interfaces import Interface

__all__: list[str] = []

RIG = Interface("eth0", "10.0.0.5", 24)
BAR = Device(
    *("10.0.0.20", "02:00:00:00:00:2a", "Bar 3", "Node on bar 3", "10.0.0.20", "1.2", "", None),
    seen_s=0.0,
    lost=False,
    pages=frozenset({1}),
    ports=(Port(1, 1, True, 1), Port(1, 2, True, 2)),
)
OTHER = replace(
    BAR,
    host="10.0.0.21",
    says_ip="10.0.0.21",
    mac="02:00:00:00:00:2b",
    name="Floor",
    ports=(Port(1, 1, True, 3),),
)
WANTED = {1: 1, 2: 2, 3: 3}


def told(
    *found: Device, wanted: dict[int, int] | None = None, network: Interface | None = RIG
) -> list[Finding]:
    ports = WANTED if wanted is None else wanted
    networks = [network] if network else []
    return findings(found, networks, ports, ports, {"10.0.0.20": "14:03"})


def test_nothing_is_said_while_all_is_well() -> None:
    assert told(BAR, OTHER) == []
    assert told() == [], "nobody serves anything: receivers of sACN do not answer"


def test_two_nodes_with_one_address_are_told_apart_by_mac() -> None:
    twin = replace(BAR, mac="02:00:00:00:00:99", name="", ports=())
    (one,) = told(BAR, OTHER, twin)
    assert one.is_alert
    assert (
        "Two nodes have the address 10.0.0.20: Bar 3 (02:00:00:00:00:2a) and 02:00:00:00:00:99." in one.said
    )
    assert told(BAR, OTHER, replace(twin, mac="")) == [], "it does not say which it is"
    # Pages of a device that counts a MAC for each.
    assert told(BAR, OTHER, replace(twin, pages=frozenset({2}))) == []
    assert [f.said for f in told(BAR, OTHER, replace(twin, lost=True))] == [
        "10.0.0.20 has not answered since 14:03: look at its power and its cable."
    ]


def test_a_lost_node_is_an_alert_where_it_had_ports() -> None:
    gone = replace(BAR, lost=True)
    lost, unserved = told(gone, OTHER)
    assert lost.is_alert
    assert lost.said == "Bar 3 (10.0.0.20) has not answered since 14:03: look at its power and its cable."
    assert "universe 1, 2," in unserved.said
    assert not told(replace(gone, ports=()), BAR, OTHER)[0].is_alert


def test_a_node_of_another_network_and_one_that_says_another_address() -> None:
    far = replace(BAR, host="192.168.1.9", says_ip="192.168.1.9")
    (one,) = told(far, OTHER)
    assert (one.is_alert, one.hosts) == (True, ("192.168.1.9",))
    assert "another network than ours, 10.0.0.0/24" in one.said
    assert told(far, OTHER, network=None) == []
    (two,) = told(replace(BAR, says_ip="2.0.0.7"), OTHER)
    assert "says that its address is 2.0.0.7, and answers from 10.0.0.20." in two.said
    # A node without an address of its own yet.
    assert told(replace(BAR, says_ip="0.0.0.0"), OTHER) == []


def test_a_node_that_merges_on_a_universe_of_ours_is_an_alert() -> None:
    ports = (Port(1, 1, True, 1, merges=True), Port(1, 2, True, 2, merges=True, latest=True))
    one, two = told(replace(BAR, ports=ports), OTHER)
    assert one.is_alert
    assert two.is_alert
    assert "somebody else on universe 1 as well, and shows the higher level" in one.said
    assert "somebody else on universe 2 as well, and shows whichever" in two.said
    assert told(replace(BAR, ports=(Port(1, 1, True, 77, merges=True),)), OTHER, wanted={3: 3}) == []


def test_a_port_address_that_two_serve_is_a_fact_and_no_alert() -> None:
    (one,) = told(BAR, replace(OTHER, ports=(Port(1, 1, True, 2), Port(1, 2, True, 3))))
    assert not one.is_alert
    assert "Port-Address 2 comes out of more than one node: Bar 3 (10.0.0.20), Floor (10.0.0.21)." in one.said


def test_a_universe_nobody_serves_is_told_where_others_are_served() -> None:
    (one,) = told(BAR)
    assert not one.is_alert
    assert "sends out universe 3," in one.said
    assert told(BAR, wanted={1: 1, 2: 2, 3: 2}) == [], "universe 2 goes by two numbers, one of them served"
    by_sacn = replace(OTHER, ports=(Port(1, 1, True, 3, by_sacn=True),))
    assert "universe 3" in told(BAR, by_sacn)[0].said


def test_alerts_are_few() -> None:
    many = [
        replace(BAR, host=f"10.0.0.{n}", says_ip=f"10.0.0.{n}", lost=True, ports=BAR.ports)
        for n in range(30, 40)
    ]
    few = alerts(told(*many, wanted={}))
    assert len(few) == 6
    assert few[-1] == "5 more things are to be said of nodes."
