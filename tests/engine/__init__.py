"""Tests of server/engine."""

__all__: list[str] = []
