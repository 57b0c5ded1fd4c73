"""One running server for the tests of a file; each test joins with people of its own."""

from collections.abc import Iterator

import pytest

from tests.servers import Server, serving

__all__: list[str] = []


@pytest.fixture(scope="module")
def _serving(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(tmp_path_factory.mktemp("server") / "data") as server:
        yield server


@pytest.fixture
def server(_serving: Server) -> Iterator[Server]:
    """A server with the demo rig; clients and phones are closed after the test."""
    yield _serving
    _serving.hang_up()
