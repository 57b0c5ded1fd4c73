"""The page in a real browser. What drives it says what went wrong as a test does."""

import pytest

pytest.register_assert_rewrite("tests.web.drives", "tests.web.sheets")
