"""Wrong PINs: ten in a minute from one address, then a pause."""

from server.api.attempts import MOST, MOST_ADDRESSES, Attempts

__all__: list[str] = []


def test_ten_wrong_pins_in_a_minute_are_too_many_until_the_first_is_a_minute_ago() -> None:
    attempts = Attempts()
    for n in range(MOST):
        assert not attempts.too_many("10.0.0.5", float(n))
        attempts.wrong("10.0.0.5", float(n))
    assert attempts.too_many("10.0.0.5", 10.0)
    assert attempts.too_many("10.0.0.5", 59.9)
    assert not attempts.too_many("10.0.0.5", 60.0)


def test_others_do_not_wait() -> None:
    attempts = Attempts()
    for _ in range(MOST):
        attempts.wrong("10.0.0.5", 0.0)
    assert not attempts.too_many("10.0.0.6", 0.0)


def test_addresses_are_not_remembered_without_end() -> None:
    attempts = Attempts()
    for n in range(MOST):
        attempts.wrong("first", float(n))
    for n in range(MOST_ADDRESSES):
        attempts.wrong(f"other {n}", 10.0)
    assert not attempts.too_many("first", 10.0)
