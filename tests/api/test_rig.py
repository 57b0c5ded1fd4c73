"""The rig as a file over HTTP: a report first, then all of it or nothing, and out again."""

from collections.abc import Iterator

import httpx
import pytest

from tests.api.answers import given, problem
from tests.servers import Server, serving

__all__: list[str] = []


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """One of its own: fixtures that go out and come in again have other ids."""
    with serving(tmp_path_factory.mktemp("rig") / "data") as server:
        yield server


def _send(client: httpx.Client, data: bytes, check: bool = False) -> httpx.Response:
    query = {"check": "true"} if check else {}
    return client.post("/api/rig/import", params=query, files={"file": ("rig.csv", data)})


def test_what_is_taken_out_comes_back_as_nothing_new(server: Server) -> None:
    lead = server.client()
    out = server.client("house").get("/api/rig/export.csv")
    assert out.headers["content-type"].startswith("text/csv")
    report = given(_send(lead, out.content, check=True))
    assert report == {"added": [], "changed": [], "removed": [], "problems": []}
    assert given(_send(lead, out.content)) == report


def test_the_report_says_what_would_change_and_changes_nothing(server: Server) -> None:
    lead = server.client()
    before = given(lead.get("/api/fixtures"))
    lines = lead.get("/api/rig/export.csv").text.splitlines()
    report = given(_send(lead, "\n".join(lines[:-1]).encode(), check=True))
    assert (report["added"], report["changed"], len(report["removed"])) == ([], [], 1)
    assert given(lead.get("/api/fixtures")) == before


def test_a_rig_goes_in_whole_and_phones_hear_of_it(server: Server) -> None:
    lead, phone = server.client(), server.phone("crew")
    whole = lead.get("/api/rig/export.csv").content
    lines = whole.decode("utf-8-sig").splitlines()
    given(_send(lead, "\n".join(lines[:11]).encode()))
    phone.until(lambda: len(phone.rig["fixtures"]) == 10)
    given(_send(lead, whole))
    phone.until(lambda: len(phone.rig["fixtures"]) == len(lines) - 1)


def test_of_a_file_with_one_wrong_line_nothing_goes_in(server: Server) -> None:
    lead = server.client()
    before = given(lead.get("/api/fixtures"))
    lines = lead.get("/api/rig/export.csv").text.splitlines()
    wrong = "\n".join([*lines[:5], lines[5].replace(",", ",nonsense ", 9)]).encode()
    answer = _send(lead, wrong)
    assert "Nothing was changed" in problem(answer, 422)
    assert answer.json()["problems"]
    assert given(_send(lead, wrong, check=True))["problems"]
    assert given(lead.get("/api/fixtures")) == before


def test_a_file_that_is_no_rig_is_refused(server: Server) -> None:
    lead = server.client()
    before = given(lead.get("/api/fixtures"))
    for data in (b"\0" * 1000, b"\xff\xfe\xfa", b"Dear all,\nthe get-in is at nine.\n", b"PK\x03\x04"):
        problem(_send(lead, data), 422)
    assert given(lead.get("/api/fixtures")) == before


def test_crew_bring_no_rig_in(server: Server) -> None:
    problem(_send(server.client("crew"), b"Channel\n1\n", check=True), 403)
