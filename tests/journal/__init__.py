"""Tests of server/journal."""

__all__: list[str] = []
