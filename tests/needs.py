"""Programs that some tests need: without one a test is skipped, or fails where everything is required."""

import os
import shutil
from pathlib import Path
from typing import NoReturn

import pytest

__all__ = ["lacking", "node_package", "program"]


def program(*names: str) -> str:
    """Return the path of the first of these programs that is installed.

    Skips the test when there is none. With FOCUSCALL_REQUIRE_ALL=1 it fails instead, so that the build
    cannot turn green by skipping what it is there to check.
    """
    path = next((path for name in names if (path := shutil.which(name))), None)
    return path or lacking(f"{' or '.join(names)} is not installed")


def node_package(name: str) -> str:
    """Return the path of Node, which will find this npm package along NODE_PATH; skips or fails as above."""
    node = program("node")
    if not any(
        Path(each, name).is_dir() for each in os.environ.get("NODE_PATH", "").split(os.pathsep) if each
    ):
        lacking(f"the npm package {name} is in no folder of NODE_PATH")
    return node


def lacking(what: str) -> NoReturn:
    """Skip the test for want of that, or fail it where everything is required."""
    if os.environ.get("FOCUSCALL_REQUIRE_ALL") == "1":
        pytest.fail(what)
    pytest.skip(what)
