"""What holds for every test: no warning in the log and no thread left over unless the test is about it."""

import logging
import threading
from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, settings

__all__: list[str] = []

# A busy machine makes no test fail: nothing here is judged by how long an example took.
settings.register_profile("ours", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("ours")


LONGEST = ("test_every_profile.py", "test_openapi.py", "test_crowd.py")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Of files that run side by side the longest begin: no core is left alone with one at the end."""
    if hasattr(config, "workerinput"):
        items.sort(key=lambda item: item.path.name not in LONGEST)


class _Heard(logging.Handler):
    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.lines: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.lines.append(f"{record.name}: {record.getMessage()}")


@pytest.fixture(autouse=True)
def no_warning_is_logged(request: pytest.FixtureRequest) -> Iterator[None]:
    """Fail on a log line at warning or above, except in a test that asks for `caplog` and so reads them."""
    heard = _Heard()
    logging.getLogger().addHandler(heard)
    yield
    logging.getLogger().removeHandler(heard)
    if heard.lines and "caplog" not in request.fixturenames:
        pytest.fail("logged: " + "; ".join(heard.lines))


@pytest.fixture(autouse=True)
def no_thread_is_left_over() -> Iterator[None]:
    """Fail on a thread that outlives the test and would keep the process from ending."""
    before = set(threading.enumerate())
    yield
    left = [thread.name for thread in set(threading.enumerate()) - before if not thread.daemon]
    if left:
        pytest.fail("threads left over: " + ", ".join(left))
