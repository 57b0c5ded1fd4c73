"""Wrong PINs: ten in a minute from one address, then a pause that grows."""

from server.api.attempts import FORGIVEN_S, LONGEST_PAUSE_S, MOST, MOST_ADDRESSES, Attempts

__all__: list[str] = []

HERE = "10.0.0.5"


def guess(attempts: Attempts, address: str, now: float, right: bool = False) -> int:
    """One try, through at once; how long it has to wait."""
    wait = attempts.begin(address, now)
    if not wait:
        attempts.end(address, right, now)
    return wait


def pause(attempts: Attempts, address: str, now: float) -> int:
    """As many wrong ones as are let through, and what comes after."""
    for _ in range(MOST):
        assert guess(attempts, address, now) == 0
    return guess(attempts, address, now)


def test_ten_wrong_pins_in_a_minute_are_followed_by_a_minutes_pause() -> None:
    attempts = Attempts()
    for n in range(MOST):
        assert guess(attempts, HERE, float(n)) == 0
    assert guess(attempts, HERE, 9.0) == 60
    assert guess(attempts, HERE, 68.5, right=True) == 1
    assert guess(attempts, HERE, 69.0) == 0


def test_nine_a_minute_never_have_to_wait() -> None:
    attempts = Attempts()
    assert not [n for n in range(100) if guess(attempts, HERE, n * 60.1 / 9)]


def test_each_pause_is_twice_as_long_up_to_an_hour() -> None:
    attempts, now, waits = Attempts(), 0.0, []
    for _ in range(9):
        waits.append(pause(attempts, HERE, now))
        now += waits[-1]
    assert waits == [60, 120, 240, 480, 960, 1920, 3600, 3600, 3600]
    assert waits[-1] == LONGEST_PAUSE_S
    assert pause(attempts, HERE, now + FORGIVEN_S) == 60


def test_others_do_not_wait() -> None:
    attempts = Attempts()
    pause(attempts, HERE, 0.0)
    assert guess(attempts, "10.0.0.6", 0.0) == 0


def test_right_pins_cost_nothing_and_forgive_nothing() -> None:
    attempts = Attempts()
    assert not any(guess(attempts, HERE, 0.0, right=True) for _ in range(100))
    for n in range(MOST):
        guess(attempts, HERE, float(n))
        guess(attempts, HERE, float(n), right=True)
    assert guess(attempts, HERE, 10.0, right=True) > 0


def test_tries_that_come_all_at_once_are_counted_before_they_are_answered() -> None:
    attempts = Attempts()
    assert [attempts.begin(HERE, 0.0) for _ in range(MOST + 5)] == [0] * MOST + [1] * 5
    for _ in range(MOST):
        attempts.end(HERE, False, 0.1)
    assert attempts.begin(HERE, 0.2) == 60


def test_one_machine_with_a_whole_ipv6_network_is_one_address() -> None:
    # RFC 4291, 2.5.4: the last 64 bits are the machine's own. 2001:db8::/32 is for documents (RFC 3849).
    attempts = Attempts()
    for n in range(MOST):
        assert guess(attempts, f"2001:db8:1:2::{n:x}", 0.0) == 0
    assert guess(attempts, "2001:db8:1:2:ffff::1", 0.0) > 0
    assert guess(attempts, "2001:db8:1:3::1", 0.0) == 0


def test_an_ipv4_address_is_the_same_in_ipv6_clothes() -> None:
    attempts = Attempts()
    pause(attempts, "10.0.0.5", 0.0)
    assert guess(attempts, "::ffff:10.0.0.5", 0.0) > 0
    assert guess(attempts, "::ffff:10.0.0.6", 0.0) == 0


def test_what_is_no_address_is_a_party_too() -> None:
    attempts = Attempts()
    assert pause(attempts, "", 0.0) == 60
    assert guess(attempts, "fe80::1%eth0", 0.0) == 0


def test_addresses_are_not_remembered_without_end() -> None:
    attempts = Attempts()
    pause(attempts, "first", 0.0)
    for n in range(MOST_ADDRESSES):
        guess(attempts, f"other {n}", 10.0)
    assert guess(attempts, "first", 10.0) == 0
