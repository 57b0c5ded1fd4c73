"""One running server for all these tests; each joins with people of its own."""

from collections.abc import Iterator

import pytest

from tests.servers import QUICK_PINS, Server, serving

__all__: list[str] = []


@pytest.fixture(scope="session")
def _serving(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(tmp_path_factory.mktemp("server") / "data", first=QUICK_PINS) as server:
        yield server


@pytest.fixture(scope="module")
def _free(_serving: Server) -> Iterator[Server]:
    """Nothing is in anybody's hand when the tests of the next file begin."""
    yield _serving
    phone = _serving.phone("lead")
    for fixture, known in phone.rig["fixtures"].items():
        if known["holder"] is not None:
            phone.ask("let_go", fixture=fixture)
    _serving.hang_up()


@pytest.fixture
def server(_free: Server) -> Iterator[Server]:
    """A server with the demo rig; clients and phones are closed after the test."""
    yield _free
    _free.hang_up()
