"""Programs that some tests need: without one a test is skipped, or fails where everything is required."""

import os
import shutil

import pytest

__all__ = ["program"]


def program(*names: str) -> str:
    """Return the path of the first of these programs that is installed.

    Skips the test when there is none. With FOCUSCALL_REQUIRE_ALL=1 it fails instead, so that the build
    cannot turn green by skipping what it is there to check.
    """
    for name in names:
        if path := shutil.which(name):
            return path
    lacking = f"{' or '.join(names)} is not installed"
    if os.environ.get("FOCUSCALL_REQUIRE_ALL") == "1":
        pytest.fail(lacking)
    pytest.skip(lacking)
