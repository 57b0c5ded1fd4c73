"""From a phone's message to somebody else's receiver: a running server, and the sacn package 1.11.0."""

import time
from collections.abc import Iterator

import pytest
from sacn import DataPacket, sACNreceiver

from tests.ports import free_port
from tests.servers import ENOUGH_S, Server, serving

__all__: list[str] = []


class Receiver:
    """The package's receiver on a port of its own, with the newest levels of each universe."""

    def __init__(self) -> None:
        self.port = free_port()
        self.levels: dict[int, tuple[int, ...]] = {}
        self._receiver = sACNreceiver(bind_address="127.0.0.1", bind_port=self.port)
        for universe in (1, 2, 3):
            self._receiver.register_listener("universe", self._take, universe=universe)
        self._receiver.start()

    def _take(self, packet: DataPacket) -> None:
        self.levels[packet.universe] = packet.dmxData

    def until(self, universe: int, wanted: dict[int, int]) -> None:
        """Wait until these slots have these levels."""
        deadline = time.monotonic() + ENOUGH_S
        while {slot: self.levels.get(universe, (0,) * 512)[slot - 1] for slot in wanted} != wanted:
            assert time.monotonic() < deadline, wanted
            time.sleep(0.005)

    def stop(self) -> None:
        """Stop it."""
        self._receiver.stop()


@pytest.fixture(scope="module")
def receiver() -> Iterator[Receiver]:
    receiver = Receiver()
    yield receiver
    receiver.stop()


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory, receiver: Receiver) -> Iterator[Server]:
    folder = tmp_path_factory.mktemp("whole") / "data"
    with serving(folder, f"--sacn-to=127.0.0.1:{receiver.port}") as server:
        yield server


def _slots(fraction_of_100: int, first: int) -> dict[int, int]:
    """The coarse and fine slot from `first` at so many hundredths, in whole numbers: halves up."""
    raw = (2 * 65535 * fraction_of_100 + 100) // 200
    return {first: raw // 256, first + 1: raw % 256}


def test_a_fraction_on_the_live_channel_is_exactly_its_coarse_and_fine_slot(
    server: Server, receiver: Receiver
) -> None:
    phone = server.phone("crew")
    spot = phone.rig["fixtures"]["demo-21"]
    mode = next(m for m in phone.rig["profiles"][spot["profile"]]["modes"] if m["name"] == spot["mode"])
    offsets = {c["key"]: c["offset"] for c in mode["controls"]}
    assert (offsets["Pan"], len(offsets["Tilt"])) == ([1, 2], 2)
    for pan, tilt in ((0, 100), (1, 99), (25, 75), (33, 66), (50, 50), (100, 0)):
        values = {"Pan": pan / 100, "Tilt": tilt / 100}
        assert phone.ask("set", fixture="demo-21", values=values)["is"] == "ok"
        at = {key: spot["address"] + offsets[key][0] - 1 for key in values}
        receiver.until(spot["universe"], _slots(pan, at["Pan"]) | _slots(tilt, at["Tilt"]))
    assert phone.ask("let_go", fixture="*")["is"] == "ok"


def test_every_slot_of_a_universe_arrives_where_it_was_set(server: Server, receiver: Receiver) -> None:
    phone = server.phone("lead")
    free = [
        slot for slot in range(1, 513) if slot not in _owned(phone.rig["fixtures"], phone.rig["profiles"])
    ]
    wanted = {slot: slot % 255 + 1 for slot in (*free[:40], 511, 512)}
    for slot, raw in wanted.items():
        phone.send("slot", universe=1, slot=slot, raw=raw)
    receiver.until(1, wanted)
    for slot in wanted:
        phone.send("slot", universe=1, slot=slot, raw=None)
    receiver.until(1, dict.fromkeys(wanted, 0))


def _owned(fixtures: dict[str, dict[str, object]], profiles: dict[str, dict[str, object]]) -> set[int]:
    owned: set[int] = set()
    for fixture in fixtures.values():
        modes: object = profiles[str(fixture["profile"])]["modes"]
        assert isinstance(modes, list)
        footprint = next(m["footprint"] for m in modes if m["name"] == fixture["mode"])
        if fixture["universe"] == 1 and isinstance(fixture["address"], int):
            owned |= set(range(fixture["address"], fixture["address"] + footprint))
    return owned


def test_lighting_up_is_gradual_on_the_wire(server: Server, receiver: Receiver) -> None:
    phone = server.phone("crew")
    light = phone.rig["fixtures"]["demo-92"]
    slot = light["address"]

    def lit_up() -> int:
        """How many levels it took."""
        assert phone.ask("set", fixture="demo-92", values={"Dimmer": 0})["is"] == "ok"
        server.sacn.until_slot(1, slot, 0)
        began = time.monotonic()
        assert phone.ask("light_up", fixture="demo-92")["is"] == "ok"
        receiver.until(1, {slot: 255})
        server.sacn.until_slot(1, slot, 255)
        came = [(at, packet[125 + slot]) for at, packet in server.sacn.sacn(1, began)]
        levels = [level for _, level in came]
        assert levels == sorted(levels)
        assert next(at for at, level in came if level == 255) - began > 0.65  # it never comes sooner
        return len(set(levels))

    # light_up_s is 0.7: 31 frames at 44 Hz. A machine that stands still makes fewer, but not each time.
    assert any(lit_up() > 8 for _ in range(10))
    assert phone.ask("let_go", fixture="*")["is"] == "ok"


def test_blackout_spares_the_work_light_and_guarded_units_are_safe_in_every_packet(
    server: Server, receiver: Receiver
) -> None:
    phone = server.phone("lead")
    rig = phone.rig["fixtures"]
    work, lit = rig["demo-95"]["address"], rig["demo-1"]["address"]
    began = time.monotonic()
    assert phone.ask("blackout", on=True)["is"] == "ok"
    receiver.until(1, {lit: 0, work: 51})
    assert phone.ask("master", value=0)["is"] == "ok"
    for channel in (75, 76):
        assert phone.ask("light_up", fixture=f"demo-{channel}")["is"] == "refused"
        assert (
            phone.ask("slot", universe=3, slot=rig[f"demo-{channel}"]["address"], raw=255)["is"] == "refused"
        )
    assert phone.ask("blackout", on=False)["is"] == "ok"
    assert phone.ask("master", value=1)["is"] == "ok"
    receiver.until(1, {lit: 89, work: 51})
    # 0.35 and 0.2 of 255, halves up: the demo's baseline.
    assert {picture[work - 1] for picture in server.sacn.pictures(1, began)} == {51}
    hazer, lantern = rig["demo-75"]["address"], rig["demo-76"]["address"]
    guarded = {(p[hazer - 1], p[hazer], p[lantern - 1]) for p in server.sacn.pictures(3)}
    assert guarded == {(0, 0, 0)}
