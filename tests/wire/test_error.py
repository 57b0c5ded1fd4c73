"""Bytes that are refused say where, why and by which clause."""

from server.wire.error import WireError

__all__: list[str] = []


def test_a_wire_error_says_where_why_and_by_which_clause() -> None:
    error = WireError(18, "unknown root vector", "E1.31-2018, 5.5")
    assert (error.octet, error.why, error.clause) == (18, "unknown root vector", "E1.31-2018, 5.5")
    assert str(error) == "octet 18: unknown root vector (E1.31-2018, 5.5)"
    assert isinstance(error, ValueError)
