"""What somebody joined with, as their browser tells it."""

import pytest

from server.api.phone_kind import phone_kind

__all__: list[str] = []

KIT = "AppleWebKit/605.1.15 (KHTML, like Gecko) Version/18.0"
BLINK = "AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0"


# As MDN's page on the User-Agent header and the browsers' own documentation give them.
@pytest.mark.parametrize(
    ("agent", "kind"),
    [
        (
            f"Mozilla/5.0 (iPhone; CPU iPhone OS 18_0 like Mac OS X) {KIT} Mobile/15E148 Safari/604.1",
            "iPhone",
        ),
        (f"Mozilla/5.0 (iPad; CPU OS 12_2 like Mac OS X) {KIT} Mobile/15E148 Safari/604.1", "iPad"),
        (f"Mozilla/5.0 (Linux; Android 10; K) {BLINK} Mobile Safari/537.36", "Android phone"),
        (f"Mozilla/5.0 (Linux; Android 10; K) {BLINK} Safari/537.36", "Android tablet"),
        ("Mozilla/5.0 (Android 15; Mobile; rv:143.0) Gecko/143.0 Firefox/143.0", "Android phone"),
        (f"Mozilla/5.0 (Windows NT 10.0; Win64; x64) {BLINK} Safari/537.36", "laptop"),
        (f"Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) {KIT} Safari/605.1.15", "laptop"),
        ("Mozilla/5.0 (X11; Linux x86_64; rv:143.0) Gecko/20100101 Firefox/143.0", "laptop"),
        ("python-httpx/0.28.1", ""),
        ("Mozilla/5.0 (Something else)", ""),
        ("", ""),
    ],
)
def test_it_is_told_in_a_word_or_two(agent: str, kind: str) -> None:
    assert phone_kind(agent) == kind
