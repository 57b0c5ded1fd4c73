"""tshark reads what announces the page's name: an independent decoder of multicast DNS."""

import asyncio
from pathlib import Path

from server.net.name import Name
from tests import mdns
from tests.outside.capture import capture_file, fields

__all__: list[str] = []

HERE = "127.0.0.1"


def test_the_name_is_asked_for_announced_and_taken_back_as_the_standard_says(tmp_path: Path) -> None:
    async def run() -> None:
        name = Name(8010, "fc-read")
        await name.tell([HERE])
        await name.take_back()

    with mdns.listening(HERE) as heard:
        asyncio.run(run())
    path = capture_file(tmp_path / "name.pcap", [(packet, mdns.PORT) for packet in heard])
    read = fields(
        ("-r", str(path)),
        *("dns.flags.response", "dns.qry.name", "dns.resp.name", "dns.a", "dns.srv.port"),
        *("dns.srv.target", "dns.resp.ttl", "_ws.malformed"),
    )
    ours = [each for each in read if "fc-read" in each[1] + each[2]]
    assert not [each for each in ours if each[7]], "nothing is malformed"
    asked = [each for each in ours if each[0] == "0"]
    told = [each for each in ours if each[0] == "1"]
    # RFC 6762, 8.1: first asked whether the name is somebody's. 8.3: then told at least twice.
    assert asked[0][1] == "fc-read.local,fc-read.local"
    announced = [each for each in told if set(each[6].split(",")) != {"0"}]
    assert len(announced) >= 2
    for _, _, names, address, port, target, *_ in announced:
        assert {"fc-read.local", "fc-read._http._tcp.local", "_http._tcp.local"} <= set(names.split(","))
        assert (address, port, target) == (HERE, "8010", "fc-read.local")
    # RFC 6762, 10.1: what is told with a time to live of 0 is taken back.
    assert announced[-1] != told[-1]
    assert set(told[-1][6].split(",")) == {"0"}
    assert "fc-read.local" in told[-1][2]
