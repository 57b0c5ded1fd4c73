"""The tests. One file per module of the server, under the same path; tests/outside/ checks against others' work."""

__all__: list[str] = []
