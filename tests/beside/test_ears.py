"""Which universes of ours a packet of somebody else's is about."""

from server.beside.ears import Ears
from server.engine.routing import Ear

__all__: list[str] = []

SIDE = "2.0.0.5"


def network_of(host: str) -> str:
    return SIDE if host.startswith("2.") else ""


def test_a_packet_is_about_all_universes_that_go_by_its_number() -> None:
    ears = Ears()
    assert ears.universes("sacn", 7, "10.0.0.9") == ()
    ears.follow({Ear("sacn", 7, ""): (1, 2), Ear("artnet", 7, ""): (3,)}, network_of)
    assert ears.universes("sacn", 7, "10.0.0.9") == (1, 2)
    assert ears.universes("artnet", 7, "10.0.0.9") == (3,)
    assert ears.universes("artnet", 8, "10.0.0.9") == ()
    assert ears.groups() == {"": {7}}


def test_one_number_on_two_networks_is_told_apart_by_where_the_sender_is() -> None:
    ears = Ears()
    ears.follow(
        {Ear("sacn", 7, ""): (1,), Ear("sacn", 7, SIDE): (2,), Ear("sacn", 8, SIDE): (2,)}, network_of
    )
    assert ears.universes("sacn", 7, "10.0.0.9") == (1,)
    assert ears.universes("sacn", 7, "2.0.0.9") == (2,)
    assert ears.universes("sacn", 8, "10.0.0.9") == (2,)  # by an unlikely way, and heard all the same
    assert ears.groups() == {"": {7}, SIDE: {7, 8}}
    ears.follow({Ear("sacn", 7, ""): (1,), Ear("sacn", 7, SIDE): (2,)}, lambda _: "")
    assert ears.universes("sacn", 7, "2.0.0.9") == (1,)
