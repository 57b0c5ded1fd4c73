"""Which names are ours, and which site is."""

import socket

import pytest

from server.api.origin import is_loopback, is_ours, names_here, same_site

__all__: list[str] = []

NAMES = names_here(["rig.example.org", "Focuscall.Test"])


@pytest.mark.parametrize(
    "host",
    [
        "192.168.1.20:8010",
        "10.0.0.5",
        "127.0.0.1:8010",
        "[2001:db8::1]:8010",  # RFC 3849: addresses for documents
        "[::1]",
        "localhost:8010",
        "LOCALHOST",
        "stage.localhost:8010",  # RFC 6761, 6.3
        "stage-laptop.local:8010",  # RFC 6762, 3: only the own network gives such names
        "rig.example.org:8010",
        "RIG.example.org.",
        "focuscall.test:8010",
    ],
)
def test_an_address_and_our_own_names_are_ours(host: str) -> None:
    assert is_ours(host, NAMES)


def test_this_machines_own_name_is_ours() -> None:
    assert is_ours(f"{socket.gethostname()}:8010", NAMES)


@pytest.mark.parametrize(
    "host",
    [
        "",
        ":8010",
        "example.org",
        "evil.rig.example.org",
        "rig.example.org.evil.org",
        "local",
        "notlocal",
        "10.0.0.5.evil.org",
        "127.0.0.1.nip.example",
        "evil.org:@10.0.0.5",
        "[evil.org]:8010",
        "[",
        "::1",
    ],
)
def test_any_other_name_is_not(host: str) -> None:
    assert not is_ours(host, NAMES)


def test_only_this_machine_itself_is_on_loopback() -> None:
    assert all(is_loopback(host) for host in ("127.0.0.1:8010", "[::1]:8010", "localhost", "a.localhost:80"))
    assert not any(is_loopback(host) for host in ("10.0.0.5:8010", "stage.local", "rig.example.org", ""))


def test_a_site_is_its_scheme_name_and_port() -> None:
    # RFC 6454, 4 and 7: scheme, host and port; "null" is a page without an origin.
    assert same_site("http://10.0.0.5:8010", "10.0.0.5:8010")
    assert same_site("https://Rig.example.org", "rig.example.org")
    for origin in (
        "null",
        "",
        "http://10.0.0.5",
        "http://10.0.0.5:8011",
        "ftp://10.0.0.5:8010",
        "http://[",
        "10.0.0.5:8010",
    ):
        assert not same_site(origin, "10.0.0.5:8010"), origin
    assert not same_site("http://", "")
