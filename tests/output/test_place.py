"""Where packets go, and the way that leads there."""

from server.output.place import ART_NET, By, Place, groups_and_hosts, places_of, plain_sacn
from server.output.plan import ArtNet, Plan, Sacn, UniversePlan

__all__: list[str] = []

CID = "ef07c8dd-0064-4401-a3a2-459ef8e6143e"


def test_each_output_has_its_way_and_its_number_on_the_wire() -> None:
    outputs = (
        *(Sacn(), Sacn(universe=7962), Sacn(interface="10.0.0.9"), Sacn(ipv6=3)),
        *(Sacn("10.0.0.1", 6000), Sacn("10.0.0.2", interface="10.0.0.9")),
        *(ArtNet("10.0.0.3", port_address=4660), ArtNet("10.0.0.4", interface="10.0.0.9")),
    )
    plan, nine = plain_sacn("10.0.0.8"), By("sacn", "10.0.0.9", bound=True)
    # E1.31-2018, 9.3.1 and Appendix B: 7962 is 239.255.31.26; Table 9-12 for IPv6.
    assert places_of(UniversePlan(1, outputs), "10.0.0.8") == [
        Place(plan, ("239.255.0.1", 5568), 1, multicast=True),
        Place(plan, ("239.255.31.26", 5568), 7962, multicast=True),
        Place(nine, ("239.255.0.1", 5568), 1, multicast=True),
        Place(By("sacn", ipv6=3), ("ff18::8300:1", 5568), 1, multicast=True),
        Place(plan, ("10.0.0.1", 6000), 1),
        Place(nine, ("10.0.0.2", 5568), 1),
        Place(ART_NET, ("10.0.0.3", 6454), 4660),
        Place(By("artnet", "10.0.0.9", bound=True), ("10.0.0.4", 6454), 0),
    ]


def test_what_is_told_to_all_goes_to_its_group_by_each_way_and_to_hosts_by_theirs() -> None:
    first = UniversePlan(1, (Sacn(), Sacn(ipv6=0), Sacn("10.0.0.1"), ArtNet("10.0.0.3")))
    second = UniversePlan(2, (Sacn(universe=9), Sacn("10.0.0.1"), Sacn("10.0.0.2", interface="10.0.0.9")))
    groups, hosts = groups_and_hosts(Plan(CID, "Test", None, (first, second)), 64214)
    # E1.31-2018, Appendix A: discovery is universe 64214.
    plain = plain_sacn(None)
    assert groups == {
        (plain, ("239.255.250.214", 5568)),
        (By("sacn", ipv6=0), ("ff18::8300:fad6", 5568)),
    }
    assert hosts == {
        (plain, ("10.0.0.1", 5568)),
        (By("sacn", "10.0.0.9", bound=True), ("10.0.0.2", 5568)),
    }
